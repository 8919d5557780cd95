//! What the room handed over and what has been written since: the facts that the screens show.

use crate::case::{Call, Case, Item};
use crate::catalogue::{Catalogue, Piece};
use crate::journal::{CaseCode, Entry, Fact};
use crate::policy::Policy;
use crate::shelf::Shelf;
use chrono::{DateTime, FixedOffset, NaiveDate};
use std::sync::Arc;

/// The room as the screens see it. The case and the shelf are folds over the journal, renewed when it grows.
#[derive(Debug, Clone)]
pub struct World {
    pub catalogue: Arc<Catalogue>,
    pub policy: Arc<Policy>,
    pub journal: Vec<Entry>,
    pub shelf: Shelf,
    /// The case that is shown: the one that was written to last.
    pub case: Option<Case>,
    pub now: DateTime<FixedOffset>,
    pub demo: bool,
    /// For the next case; no other case has it.
    pub spare_code: CaseCode,
}

impl World {
    pub fn new(
        catalogue: Arc<Catalogue>,
        policy: Arc<Policy>,
        journal: Vec<Entry>,
        now: DateTime<FixedOffset>,
        spare_code: CaseCode,
    ) -> Self {
        let mut world = World {
            shelf: Shelf::fold_with(&catalogue, &journal),
            catalogue,
            policy,
            journal,
            case: None,
            now,
            demo: false,
            spare_code,
        };
        let latest = world.journal.iter().rev().find_map(|entry| entry.case.clone());
        world.case = latest.and_then(|code| world.fold(&code));
        world
    }

    pub fn today(&self) -> NaiveDate {
        self.now.date_naive()
    }

    fn fold(&self, code: &CaseCode) -> Option<Case> {
        Case::fold(self.journal.iter().filter(|entry| entry.case.as_ref() == Some(code)))
    }

    /// Takes in what is on disk now.
    pub fn absorb(&mut self, entries: Vec<Entry>) {
        let latest = entries.iter().rev().find_map(|entry| entry.case.clone());
        self.journal.extend(entries);
        self.shelf = Shelf::fold_with(&self.catalogue, &self.journal);
        let shown = latest.or_else(|| self.case.as_ref().map(|case| case.code.clone()));
        self.case = shown.and_then(|code| self.fold(&code));
    }

    /// Shows this case.
    pub fn show(&mut self, code: &CaseCode) {
        self.case = self.fold(code);
    }

    /// The number of the last entry known here.
    pub fn last_seq(&self) -> u64 {
        self.journal.last().map_or(0, |entry| entry.seq)
    }

    /// The case that new work belongs to: the one shown, unless it is signed off.
    pub fn open_case(&self) -> Option<CaseCode> {
        self.case.as_ref().filter(|case| case.signed.is_none()).map(|case| case.code.clone())
    }

    /// The calls that wait, oldest first.
    pub fn waiting(&self) -> Vec<&Call> {
        self.case.as_ref().map(Case::waiting_calls).unwrap_or_default()
    }

    /// The boxes in the room that are unopened.
    pub fn at_hand(&self) -> Vec<&Item> {
        self.case.as_ref().map(Case::at_hand).unwrap_or_default()
    }

    /// The boxes whose seal is broken, in the order in which that happened.
    pub fn opened(&self) -> Vec<&Item> {
        self.case.as_ref().map(Case::opened).unwrap_or_default()
    }

    /// The words of what was written last.
    pub fn last_words(&self) -> Option<String> {
        let last = self.journal.last()?;
        if last.case.is_some() {
            return self.case.as_ref()?.story.last().map(|line| line.words.clone());
        }
        match &last.fact {
            Fact::StockLoaded { from, pieces } => {
                Some(format!("Stock loaded from {from}: {} rows", pieces.len()))
            }
            Fact::StockReceived { pieces, .. } => Some(format!("Received: {} boxes", sum(pieces))),
            Fact::StockMoved { pieces, to } => Some(format!("Moved to {to}: {} boxes", sum(pieces))),
            Fact::StockCounted { shelf, pieces } => {
                Some(format!("Counted {shelf}: {} boxes lie there", sum(pieces)))
            }
            Fact::StockPulled { pieces, .. } => Some(format!("Pulled off the shelf: {} boxes", sum(pieces))),
            Fact::LotRecalled { lot, .. } => Some(format!("Lot {lot} is marked as recalled")),
            _ => None,
        }
    }

    /// Shows the next case that is not signed off, other than the one shown.
    pub fn turn_to_next_open_case(&mut self) -> Option<CaseCode> {
        let shown = self.case.as_ref().map(|case| case.code.clone());
        let mut codes: Vec<CaseCode> = Vec::new();
        for code in self.journal.iter().filter_map(|entry| entry.case.as_ref()) {
            if !codes.contains(code) {
                codes.push(code.clone());
            }
        }
        let start = codes.iter().position(|code| Some(code) == shown.as_ref()).map_or(0, |place| place + 1);
        let start = start.min(codes.len());
        codes.rotate_left(start);
        let others = codes.into_iter().filter(|code| Some(code) != shown.as_ref());
        let next = others.filter_map(|code| self.fold(&code)).find(|case| case.signed.is_none())?;
        let code = next.code.clone();
        self.case = Some(next);
        Some(code)
    }
}

fn sum(pieces: &[Piece]) -> u64 {
    pieces.iter().map(|piece| u64::from(piece.count)).sum()
}
