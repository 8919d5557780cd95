//! What is believed of a number that was typed in, and which slip a refused one looks like. A slip is only ever
//! asked back as a question: nothing is put right by itself.
//!
//! Bounds: the policy's. That slips are worth a question: design choice, no source.

use super::{BadInput, Reading};
use crate::policy::Believed;
use crate::units::{Area, Diameter, Figure, Inches, Length, at_least, at_most, plain};
use std::fmt::Display;

/// Also false for what is not a number.
pub(crate) fn within(value: f64, range: [f64; 2]) -> bool {
    at_least(value, range[0]) && at_most(value, range[1])
}

/// Refuses a diameter (in any of its three forms) outside what is believed.
pub(crate) fn reading(field: &str, reading: Reading, believed: &Believed) -> Option<BadInput> {
    let range = believed.diameter_mm;
    match reading {
        Reading::One(d) => refuse(field, reading, d.mm(), range, "mm", diameter_slip(d.mm(), range)),
        Reading::Two(a, b) => {
            let odd = if within(a.mm(), range) { b.mm() } else { a.mm() };
            refuse(field, reading, odd, range, "mm each", diameter_slip(odd, range))
        }
        Reading::Area(a) => {
            let range = believed.area_mm2;
            refuse(field, reading, a.mm2(), range, "mm2", tenth(a.mm2(), range))
        }
    }
}

/// Refuses one labelled or measured diameter outside what is believed, in mm.
pub(crate) fn diameter(field: &str, value: Diameter, believed: &Believed) -> Option<BadInput> {
    reading(field, Reading::One(value), believed)
}

/// Refuses an area outside what is believed, in mm².
pub(crate) fn area(field: &str, value: Area, believed: &Believed) -> Option<BadInput> {
    let range = believed.area_mm2;
    refuse(field, Figure(value.mm2()), value.mm2(), range, "mm2", tenth(value.mm2(), range))
}

/// Refuses a length outside what is believed, in mm. A length is typed in whole millimetres or in centimetres by
/// mistake; no other slip of it can be told from a true length.
pub(crate) fn length(field: &str, value: Length, believed: &Believed) -> Option<BadInput> {
    let range = believed.length_mm;
    refuse(field, Figure(value.mm()), value.mm(), range, "mm", tenth(value.mm(), range))
}

fn refuse(
    field: &str,
    shown: impl Display,
    value: f64,
    range: [f64; 2],
    unit: &str,
    slip: Option<String>,
) -> Option<BadInput> {
    if within(value, range) {
        return None;
    }
    let [least, most] = range.map(Figure);
    let question = slip.map(|slip| format!(". {slip}")).unwrap_or_default();
    let message = format!(
        "{field} {shown} is not believed: {least} to {most} {unit}; measure or type it again{question}"
    );
    Some(BadInput::new(field, shown, message))
}

/// The question that a slipped decimal point asks: `Was 3.7 meant?`
fn tenth(value: f64, range: [f64; 2]) -> Option<String> {
    let meant =
        [10.0, 100.0].map(|by| value / by).into_iter().find(|v| value > range[1] && within(*v, range))?;
    Some(format!("Was {} meant?", plain(meant)))
}

/// The question that a diameter outside what is believed asks; none where it looks like nothing in particular.
fn diameter_slip(value: f64, range: [f64; 2]) -> Option<String> {
    if let Some(question) = tenth(value, range) {
        return Some(question);
    }
    if value > range[1] {
        let circle = Diameter::of_area(Area::from_mm2(value)).mm();
        let text = plain(value);
        return within(circle, range).then(|| format!("Is it an area? Then type {text}mm2"));
    }
    if value.is_nan() || value <= 0.0 {
        return None;
    }
    let inches = Some(Inches::new(value).diameter().mm()).filter(|mm| within(*mm, range));
    let centimetres = Some(10.0 * value).filter(|mm| within(*mm, range));
    match (inches, centimetres) {
        (Some(mm), None) => Some(format!("It looks like inches: {} mm?", plain(mm))),
        (None, Some(mm)) => Some(format!("It looks like centimetres: {} mm?", plain(mm))),
        (Some(inches), Some(cm)) => {
            Some(format!("It looks like inches ({} mm?) or centimetres ({} mm?)", plain(inches), plain(cm)))
        }
        (None, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn message(value: f64) -> String {
        let d = Diameter::from_mm(value);
        diameter("distal-lumen", d, &Believed::DEFAULT).expect("not believed").message
    }

    // Row DOD-09 of sizing_cases.tsv (37 for 3.7); inch and French by definition, the rest design choice.
    #[test]
    fn a_slip_is_asked_back() {
        for (value, says) in [
            (37.0, "Was 3.7 meant?"),
            (300.0, "Was 3 meant?"),
            (9.6, "type 9.6mm2"),
            (0.12, "inches (3.05 mm?) or centimetres (1.2 mm?)"),
            (0.37, "centimetres: 3.7 mm?"),
            (0.06, "inches: 1.52 mm?"),
        ] {
            let message = message(value);
            assert!(message.contains("1 to 8 mm") && message.contains(says), "{message}");
        }
        for value in [f64::NAN, f64::INFINITY, -3.0, 0.0, 0.001, 1e308] {
            assert!(message(value).ends_with("type it again"), "{}", message(value));
        }
    }

    #[test]
    fn areas_and_lengths_are_held_against_their_own_ranges() {
        let believed = Believed::DEFAULT;
        assert_eq!(area("msa", Area::from_mm2(5.6), &believed), None);
        let slipped = area("msa", Area::from_mm2(560.0), &believed).expect("refused").message;
        assert!(slipped.contains("0.5 to 60 mm2") && slipped.contains("Was 56 meant?"), "{slipped}");
        assert_eq!(length("length", Length::from_mm(150.0), &believed), None);
        let slipped = length("length", Length::from_mm(280.0), &believed).expect("refused").message;
        assert!(slipped.contains("1 to 150 mm") && slipped.contains("Was 28 meant?"), "{slipped}");
    }
}
