//! Which boxes of which cases a recall notice means: every label that came into a case is looked at, and only the cases
//! of those that may be meant are read.

use super::behind::parse;
use super::{Fault, Room};
use crate::journal::{BoxRead, CaseCode};
use crate::ledger::{self, Found, Meant, Notice};
use chrono::{DateTime, FixedOffset};
use serde::Deserialize;
use std::collections::BTreeSet;

/// Kinds of facts that carry a label, as `Fact::what` has them.
const BOXES: [&str; 3] = ["box-at-hand", "box-opened", "box-put-back"];

#[derive(Deserialize)]
struct Labelled {
    case: Option<CaseCode>,
    at: DateTime<FixedOffset>,
    fact: LabelledFact,
}

#[derive(Deserialize)]
struct LabelledFact {
    item: u32,
    label: BoxRead,
}

impl Room {
    /// What at least one of the notices means, or may mean.
    ///
    /// # Errors
    /// `no-journal`: nothing was ever written, which is no clean no. Or the journal can't be read, or an entry in it is
    /// damaged.
    pub fn trace(&self, notices: &[Notice]) -> Result<Found, Fault> {
        let Some(store) = &self.store else {
            let message = "nothing was ever written in this room: it can't say who had what";
            return Err(Fault::could_not("no-journal", message));
        };
        let (mut boxes, mut cases) = (BTreeSet::new(), BTreeSet::new());
        store.each_of(&BOXES, (1, store.last_seq()?), &mut |row| {
            let Labelled { case, at, fact: LabelledFact { item, label } } = parse(row.body()?)?;
            // A box that belongs to no case went to nobody.
            if let Some(case) = case {
                if !cases.contains(&case) && ledger::meant(notices, &label, at) != Meant::No {
                    cases.insert(case.clone());
                }
                boxes.insert((case, item));
            }
            Ok(())
        })?;
        let mut entries = store.strikes_of_room()?;
        for case in &cases {
            entries.extend(store.case_entries(case)?);
        }
        entries.sort_by_key(|entry| entry.seq);
        let mut found = ledger::trace(&entries, notices);
        found.rule_out(&boxes);
        Ok(found)
    }
}
