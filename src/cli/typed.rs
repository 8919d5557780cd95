//! What was typed on the command line, turned into values; every slip is kept, so that one run tells all.

use crate::lesion::BadInput;
use crate::measure::Kind;
use crate::report::LINE;
use crate::room::Fault;
use crate::units::{French, number};
use chrono::NaiveDate;
use std::fmt::Display;

/// Collects what is wrong.
#[derive(Debug, Default)]
pub(super) struct ArgErrors(Vec<BadInput>);

impl ArgErrors {
    pub(super) fn add(&mut self, field: &str, value: &str, message: String) {
        self.0.push(BadInput { field: field.into(), value: Some(value.into()), message });
    }

    /// Takes what a later check found, but what it says of a field that could not be read already. An EEM that could
    /// not be read was given all the same: that the lumen, to which its rule falls back, is missing is no fault then.
    pub(super) fn take(&mut self, found: Vec<BadInput>) {
        let known: Vec<String> = self.0.iter().map(|bad| bad.field.clone()).collect();
        let eem = known.iter().any(|field| field.ends_with("-eem"));
        let follows = |bad: &BadInput| eem && bad.value.is_none() && bad.field == "distal-lumen";
        self.0.extend(found.into_iter().filter(|bad| !known.contains(&bad.field) && !follows(bad)));
    }

    /// Reads a value if it was given.
    pub(super) fn parse<T>(&mut self, field: &str, text: Option<&str>) -> Option<T>
    where
        T: std::str::FromStr,
        T::Err: Display,
    {
        let text = text?;
        text.trim().parse().map_err(|error| self.add(field, text, format!("{field}: {error}"))).ok()
    }

    /// A number in the unit that the field has; a decimal comma is a decimal point.
    pub(super) fn number(&mut self, field: &str, text: Option<&str>, unit: &str) -> Option<f64> {
        let text = text?;
        let value = number(text);
        if value.is_none() {
            self.add(
                field,
                text,
                format!("{field} {text:?} is not a number; type it in {unit}, such as 3 or 3.5"),
            );
        }
        value
    }

    /// A number above 0.
    pub(super) fn positive(&mut self, field: &str, text: Option<&str>, unit: &str) -> Option<f64> {
        let value = self.number(field, text, unit)?;
        if value <= 0.0 {
            let message = format!("{field} {value} is not believed: above 0 {unit}; type it again");
            self.add(field, text.unwrap_or_default(), message);
            return None;
        }
        Some(value)
    }

    /// `6`, `6Fr`, `6 F`.
    pub(super) fn french(&mut self, field: &str, text: Option<&str>) -> Option<French> {
        let text = text?;
        let lower = text.trim().to_lowercase();
        let bare = lower.strip_suffix("fr").or_else(|| lower.strip_suffix('f')).unwrap_or(&lower);
        let value = number(bare.trim_end());
        if value.is_none() {
            self.add(field, text, format!("{field} {text:?} is not a gauge; type it in French, such as 6"));
        }
        value.map(French::new)
    }

    /// One line of words, not empty.
    pub(super) fn line(&mut self, field: &str, text: &str) {
        if text.is_empty() || text.chars().count() > LINE || text.chars().any(char::is_control) {
            self.add(field, text, format!("{field}: say it in one line of at most {LINE} characters"));
        }
    }

    /// A date with all its digits.
    pub(super) fn date(&mut self, field: &str, text: Option<&str>) -> Option<NaiveDate> {
        let text = text?;
        let date = if text.len() == 10 { NaiveDate::parse_from_str(text, "%Y-%m-%d").ok() } else { None };
        if date.is_none() {
            self.add(field, text, format!("{field} {text:?} is not a date; write it as 2027-05-31"));
        }
        date
    }

    /// A kind of device by its name; hyphens stand for blanks where a shell makes quotes a nuisance.
    pub(super) fn kind(&mut self, text: &str) -> Option<Kind> {
        let same = |kind: &&Kind| kind.name() == text || kind.name().replace(' ', "-") == text;
        let kind = Kind::ALL.iter().find(same).copied();
        if kind.is_none() {
            let message = format!("kind {text:?} is none of {}", Kind::NAMES.join(", "));
            self.add("kind", text, message);
        }
        kind
    }

    /// # Errors
    /// Every slip in one fault, where there is any.
    pub(super) fn settle(self) -> Result<(), Fault> {
        if self.0.is_empty() { Ok(()) } else { Err(Fault::of_input(&self.0)) }
    }
}

/// `dark` or `light`, of `--background`.
pub(super) fn background(text: &str) -> Result<crate::tui::view::Background, String> {
    let names = crate::tui::view::Background::NAMES.join(" or ");
    crate::tui::view::Background::from_name(text).ok_or_else(|| format!("{text:?} is not {names}"))
}
