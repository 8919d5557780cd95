//! The day that use-by dates are judged by: as it was typed, else the day that the room's journal and the computer's clock
//! come to; where they do not go together, that is said.

use crate::journal::{Doubt, Today};
use crate::measure::{Caution, CautionCode};
use chrono::NaiveDate;
use serde::Serialize;

/// An answer that has no cautions of its own, with these.
#[derive(Debug, Serialize)]
pub(super) struct Cautioned<'a, T> {
    #[serde(flatten)]
    pub answer: &'a T,
    pub cautions: &'a [Caution],
}

/// The day, and what is to be said of it. A day that was typed needs no word.
pub(super) fn judged_by(typed: Option<NaiveDate>, today: Today) -> (NaiveDate, Vec<Caution>) {
    match typed {
        Some(day) => (day, Vec::new()),
        None => (today.day, today.doubt.iter().map(caution).collect()),
    }
}

fn caution(doubt: &Doubt) -> Caution {
    let way_out = "boxcall journal confirm-date, or set the clock";
    Caution::new(CautionCode::DateInDoubt, format!("CHECK THE DATE: {} ({way_out})", doubt.in_words()))
}

/// Words with the cautions above them: what they are about must not be read without.
pub(super) fn below(cautions: &[Caution], words: &str) -> String {
    let above: String = cautions.iter().map(|caution| format!("caution: {}\n", caution.message)).collect();
    above + words
}
