//! Which cases there are and which of them are open, without the cases themselves.

use crate::journal::{CaseCode, Entry, Fact};
use std::collections::BTreeMap;

/// Every case by its code: where it began, and whether it is signed off. It follows the journal entry by entry.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Known {
    cases: BTreeMap<CaseCode, Seen>,
    /// Sign-offs that stand, by their entry.
    signed: BTreeMap<u64, CaseCode>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Seen {
    first: u64,
    /// How many sign-offs stand.
    signed: u32,
}

impl Known {
    /// Cases with their first entry; what was signed and struck out follows.
    pub fn of(cases: impl IntoIterator<Item = (CaseCode, u64)>) -> Known {
        let cases = cases.into_iter().map(|(code, first)| (code, Seen { first, signed: 0 })).collect();
        Known { cases, signed: BTreeMap::new() }
    }

    /// Takes in the next entry.
    pub fn apply(&mut self, entry: &Entry) {
        if let Some(case) = &entry.case {
            self.cases.entry(case.clone()).or_insert(Seen { first: entry.seq, signed: 0 });
        }
        match (&entry.fact, &entry.case) {
            (Fact::SignedOff { .. }, Some(case)) => self.sign(entry.seq, case),
            (Fact::StruckOut { entry: target, .. }, case) => self.strike(*target, case.as_ref()),
            _ => {}
        }
    }

    /// The case was signed off by this entry.
    pub fn sign(&mut self, seq: u64, case: &CaseCode) {
        self.signed.insert(seq, case.clone());
        if let Some(seen) = self.cases.get_mut(case) {
            seen.signed += 1;
        }
    }

    /// An entry was struck out, by its own case or by the room: a case strikes nothing out of another.
    pub fn strike(&mut self, target: u64, by: Option<&CaseCode>) {
        let Some(case) = self.signed.get(&target).filter(|case| by.is_none_or(|by| by == *case)).cloned()
        else {
            return;
        };
        self.signed.remove(&target);
        if let Some(seen) = self.cases.get_mut(&case) {
            seen.signed -= 1;
        }
    }

    /// The entry with which a case begins.
    pub fn first(&self, case: &CaseCode) -> Option<u64> {
        self.cases.get(case).map(|seen| seen.first)
    }

    /// The open case that began next after this entry, and after the last one again the first. None where no other
    /// than the one that begins with this entry is open.
    pub fn next_open(&self, after: u64) -> Option<&CaseCode> {
        let open = self.cases.iter().filter(|(_, seen)| seen.signed == 0 && seen.first != after);
        // Later ones first, each in its order.
        open.min_by_key(|(_, seen)| (seen.first < after, seen.first)).map(|(code, _)| code)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::Case;
    use chrono::DateTime;
    use proptest::prelude::*;

    fn code(place: u8) -> CaseCode {
        CaseCode::from_random([place; 5])
    }

    /// Whether each case is open, as folding it says.
    fn open_by_fold(entries: &[Entry], place: u8) -> Option<bool> {
        let own = entries.iter().filter(|entry| entry.case.is_none() || entry.case == Some(code(place)));
        Case::fold(own).map(|case| case.signed.is_none())
    }

    proptest! {
        #[test]
        fn a_case_is_open_as_its_fold_says(steps in prop::collection::vec((0u8..4, 0u8..3, 1u64..30), 0..30)) {
            let at = DateTime::parse_from_rfc3339("2026-11-25T10:30:00+01:00").unwrap();
            let mut entries: Vec<Entry> = Vec::new();
            let mut known = Known::default();
            for (seq, (case, kind, target)) in (1..).zip(steps) {
                let case = (case > 0).then(|| code(case));
                let fact = match kind {
                    0 => Fact::CaseBegun,
                    1 => Fact::SignedOff { unsettled: 0, why: None },
                    _ => Fact::StruckOut { entry: target, why: "typed wrong".into() },
                };
                let entry = Entry { seq, at, command: seq.to_string(), case, fact };
                known.apply(&entry);
                entries.push(entry);
            }
            for place in 1..4 {
                let open = known.cases.get(&code(place)).map(|seen| seen.signed == 0);
                prop_assert_eq!(open, open_by_fold(&entries, place));
            }
        }
    }
}
