//! One row of `deviceSizes.txt`.

use super::believed::{Figure, Unit, diameter, length};
use super::free::{self, Said};

/// What one row says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Typed {
    Diameter(f64),
    Length(f64),
    /// Both or one, in words.
    Size(Option<f64>, Option<f64>),
    /// Nothing that makes a size, and why.
    Unused(&'static str),
    /// This row is not certain, though others may be.
    Doubtful(&'static str),
    /// A text that may be read in more than one way: no size is taken for this device.
    Torn(&'static str),
}

pub(super) fn read(size_type: &str, unit: &str, value: &str, text: &str) -> Typed {
    let kind: String =
        size_type.chars().filter(char::is_ascii_alphabetic).map(|c| c.to_ascii_lowercase()).collect();
    if kind.starts_with("devicesizetext") || kind.is_empty() {
        return in_words(text);
    }
    let wide = matches!(kind.as_str(), "outerdiameter" | "lumeninnerdiameter" | "diameter");
    if !wide && kind != "length" {
        return Typed::Unused("a measure that makes no size");
    }
    if value.is_empty() && unit.is_empty() {
        return in_words(text);
    }
    let Some(figure) = Figure::read(value) else { return Typed::Doubtful("the value is not a number") };
    let Some(unit) = Unit::from_word(unit) else { return Typed::Doubtful("the unit is not known") };
    let Some(mm) = figure.millimetres(unit) else {
        return Typed::Doubtful("a French gauge is a catheter's");
    };
    if wide {
        let kept = diameter(mm).map(Typed::Diameter);
        kept.unwrap_or(Typed::Doubtful("no labelled diameter is believed to be that"))
    } else {
        let kept = length(mm).map(Typed::Length);
        kept.unwrap_or(Typed::Doubtful("no labelled length is believed to be that"))
    }
}

fn in_words(text: &str) -> Typed {
    match free::read(text) {
        Said::Size { diameter, length } => Typed::Size(diameter, length),
        Said::Nothing => Typed::Unused("no size is read in the text"),
        Said::Doubtful(why) => Typed::Torn(why),
    }
}
