//! GS1: the fields of one symbol, as they were read.

use super::carrier::{Ch, text_of};
use super::gs1_table::Ai;
use super::gs1_value;
use super::{PossibleReading, Refusal};

#[derive(Debug, Clone)]
pub(super) struct Element {
    pub ai: &'static Ai,
    /// Where the identifier stands, bytes from 0.
    pub at: usize,
    pub value: Vec<Ch>,
}

/// Fields, what was met first that is wrong, and what a lost separator leaves open.
#[derive(Debug, Clone, Default)]
pub(super) struct Elements {
    pub found: Vec<Element>,
    pub fault: Option<Refusal>,
    /// The first field was not taken whole.
    pub fault_in_first: bool,
    pub readings: Vec<PossibleReading>,
}

impl Elements {
    pub(super) fn fail(&mut self, refusal: Refusal) {
        if self.fault.is_none() {
            self.fault_in_first = self.found.is_empty();
            self.fault = Some(refusal);
        }
    }

    /// Takes a value that its format allows, else notes what is wrong with it.
    pub(super) fn take(&mut self, ai: &'static Ai, at: usize, value: &[Ch], end: usize, year: i32) {
        match gs1_value::check(ai, value, year) {
            Ok(_) => self.found.push(Element { ai, at, value: value.to_vec() }),
            Err((fault, place)) => {
                let at = value.get(place).map_or(end, |ch| ch.at);
                self.fail(gs1_value::refusal(ai, fault, at));
            }
        }
    }
}

/// Identifiers and raw values.
pub(super) fn pairs_of(elements: &[Element]) -> Vec<(String, String)> {
    elements.iter().map(|e| (e.ai.code.clone(), text_of(&e.value))).collect()
}
