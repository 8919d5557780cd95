//! What the room handed over and what has been written since: the facts that the screens show.
//!
//! It does not hold the journal: only the entries of the case that is shown, and folds that follow what is written.

use crate::case::finding;
use crate::case::readback::{self, Context, ReadBack, Scan};
use crate::case::{Call, Case, Item};
use crate::catalogue::{Catalogue, Piece};
use crate::journal::{BoxRead, CaseCode, Doubt, Entry, Fact, LastDay, Today};
use crate::ledger::Known;
use crate::policy::Policy;
use crate::room::{Behind, Furniture, Opening};
use crate::shelf::OnHand;
use crate::units::{by_count, counted};
use chrono::{DateTime, FixedOffset, NaiveDate};
use std::sync::Arc;

/// The room as the screens see it.
#[derive(Debug, Clone)]
pub struct World {
    pub catalogue: Arc<Catalogue>,
    pub policy: Arc<Policy>,
    /// Still being read while the first frames are shown: ask [`OnHand::unread`].
    pub shelf: OnHand,
    /// The case that is shown: the one that was written to last.
    pub case: Option<Case>,
    pub now: DateTime<FixedOffset>,
    pub demo: bool,
    /// Which of the room's files are there.
    pub furniture: Furniture,
    /// For the next case; no other case has it.
    pub spare_code: CaseCode,
    /// Why the journal does not hold; none while nothing is known against it.
    pub broken: Option<String>,
    /// The entries of the case that is shown.
    entries: Vec<Entry>,
    last: Option<Entry>,
    last_seq: u64,
    /// Which cases there are: none until that is read.
    cases: Option<Known>,
    /// What came before the cases were read.
    uncounted: Vec<Entry>,
    last_day: LastDay,
    /// Stock was loaded, received or counted at some time; none until that is read.
    pub(super) stocked: Option<bool>,
}

/// What has to be read before the screens can go on showing what is true.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wanted {
    /// The shelf, so that what the boxes of a case took that began with this entry is known.
    Shelf { back_to: Option<u64> },
    /// A case whose entries are not at hand.
    Case(CaseCode),
}

impl World {
    /// The room at its first frame: the case in work, and nothing of the shelf yet.
    pub fn opening(catalogue: Arc<Catalogue>, policy: Arc<Policy>, opening: Opening) -> Self {
        World {
            catalogue,
            policy,
            shelf: OnHand::default(),
            case: Case::fold(&opening.entries),
            now: opening.now,
            demo: false,
            furniture: Furniture::default(),
            spare_code: opening.spare_code,
            broken: None,
            last: None,
            last_seq: opening.upto,
            entries: opening.entries,
            cases: None,
            uncounted: Vec::new(),
            last_day: opening.last_day,
            stocked: (opening.upto == 0).then_some(false),
        }
    }

    /// The day that dates are judged by.
    pub fn today(&self) -> NaiveDate {
        self.trusted().day
    }

    fn trusted(&self) -> Today {
        self.last_day.trust(self.now.date_naive())
    }

    /// Why the computer's date is not believed; none where it is.
    pub fn date_in_doubt(&self) -> Option<Doubt> {
        self.trusted().doubt
    }

    fn context(&self) -> Context<'_> {
        Context {
            catalogue: &self.catalogue,
            shelf: &*self.shelf,
            case: self.case.as_ref(),
            today: self.trusted(),
        }
    }

    fn as_far_as_known(&self, back: ReadBack) -> ReadBack {
        match self.shelf.unread() {
            Some(why) => back.without_shelf(format!("{why}: whether this lot is recalled is not known")),
            None => back,
        }
    }

    /// What is known now of the box with this label.
    pub fn read_back(&self, scan: &Scan) -> ReadBack {
        self.as_far_as_known(readback::read_back(scan, &self.context()))
    }

    /// What is known now of a box at hand.
    pub fn read_back_at_hand(&self, item: &Item) -> ReadBack {
        self.as_far_as_known(finding::of_item(item, &self.context()))
    }

    /// What is known now against an opened device that may be used; none where nothing is.
    pub fn against_in_play(&self, item: &Item) -> Option<ReadBack> {
        finding::in_play(item, &self.context())
    }

    /// What is known now against a box whose label was typed from its front.
    pub fn against_typed(&self, read: &BoxRead) -> Option<ReadBack> {
        finding::of_typed(read, &self.context())
    }

    /// Takes in what is on disk now. With `stay` the case that is shown stays, else it is the one written to last. What
    /// is wanted for that has to be read.
    pub fn absorb(&mut self, entries: Vec<Entry>, stay: bool) -> Vec<Wanted> {
        let Some(last) = entries.last() else { return Vec::new() };
        self.last_seq = self.last_seq.max(last.seq);
        self.last = Some(last.clone());
        if entries.iter().any(is_stock) {
            self.stocked = Some(true);
        }
        match &mut self.cases {
            Some(cases) => entries.iter().for_each(|entry| cases.apply(entry)),
            None => self.uncounted.extend(entries.iter().cloned()),
        }
        entries.iter().for_each(|entry| self.last_day.apply(entry));
        let own = &self.entries;
        let cases = &self.cases;
        let goes_on = self.shelf.absorb(
            &entries,
            |case| cases.as_ref().and_then(|cases| cases.first(case)),
            |seq| own.iter().find(|entry| entry.seq == seq),
        );
        let mut wanted = Vec::new();
        let shown = self.case.as_ref().filter(|_| stay).map(|case| case.code.clone());
        let latest = shown.or_else(|| entries.iter().rev().find_map(|entry| entry.case.clone()));
        match latest {
            Some(code) if self.case.as_ref().is_none_or(|case| case.code != code) => {
                let new = entries.into_iter().filter(|entry| entry.case.as_ref() == Some(&code));
                let new: Vec<Entry> = new.collect();
                // A case that begins here is here whole.
                let first = new.iter().find(|entry| !entry.fact.is_notice());
                if first.is_some_and(|entry| matches!(entry.fact, Fact::CaseBegun)) {
                    wanted.extend(self.show(new));
                } else {
                    wanted.push(Wanted::Case(code));
                }
            }
            Some(code) => {
                // A case that was read from the disk may have been ahead of the news.
                let known = self.entries.last().map_or(0, |entry| entry.seq);
                let new = entries.into_iter().filter(|entry| entry.seq > known);
                self.entries.extend(new.filter(|entry| entry.case.as_ref() == Some(&code)));
                self.case = Case::fold(&self.entries);
            }
            None => {}
        }
        if !goes_on {
            wanted.push(self.wanted_shelf());
        }
        wanted
    }

    fn wanted_shelf(&self) -> Wanted {
        Wanted::Shelf { back_to: self.entries.first().map(|entry| entry.seq) }
    }

    /// The entry that undo would strike out, and what it said.
    pub(super) fn last_undoable(&self) -> Option<(u64, String)> {
        Case::fold(&self.entries)?.last_undoable()
    }

    /// Makes the words of the case again, with the decimal mark that holds here.
    pub(super) fn retell(&mut self) {
        if self.case.is_some() {
            self.case = Case::fold(&self.entries);
        }
    }

    /// Shows the case with these entries.
    pub fn show(&mut self, entries: Vec<Entry>) -> Option<Wanted> {
        self.entries = entries;
        self.case = Case::fold(&self.entries);
        let covered = self.entries.first().is_none_or(|first| self.shelf.covers(first.seq));
        if !covered {
            self.shelf.read_again();
        }
        (!covered).then(|| self.wanted_shelf())
    }

    /// The entries of the case that is shown.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// What was read behind the first frame.
    pub fn arrived(&mut self, behind: Behind) -> Option<Wanted> {
        let mut cases = behind.cases;
        let upto = behind.reading.upto;
        self.stocked = Some(behind.stocked || self.stocked == Some(true));
        if let Some(known) = self.cases.take() {
            // A shelf that was read again: the cases were followed all the while.
            cases = known;
        } else {
            let later = self.uncounted.iter().filter(|entry| entry.seq > upto);
            self.last_day = behind.last_day;
            for entry in later {
                cases.apply(entry);
                self.last_day.apply(entry);
            }
        }
        self.uncounted = Vec::new();
        let goes_on = self.shelf.arrived(behind.reading, |case| cases.first(case));
        self.cases = Some(cases);
        let covered = self.entries.first().is_none_or(|first| self.shelf.covers(first.seq));
        if !covered {
            self.shelf.read_again();
        }
        (!goes_on || !covered).then(|| self.wanted_shelf())
    }

    /// The number of the last entry known here.
    pub fn last_seq(&self) -> u64 {
        self.last_seq
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

    /// Opened devices that can be used, once more or at last.
    pub fn in_play(&self) -> Vec<&Item> {
        self.case.as_ref().map(Case::in_play).unwrap_or_default()
    }

    /// The boxes whose seal is broken, in the order in which that happened.
    pub fn opened(&self) -> Vec<&Item> {
        self.case.as_ref().map(Case::opened).unwrap_or_default()
    }

    /// The words of what was written last.
    pub fn last_words(&self) -> Option<String> {
        let last = self.last.as_ref()?;
        if last.case.is_some() {
            return self.case.as_ref()?.story.last().map(|line| line.words.clone());
        }
        match &last.fact {
            Fact::StockLoaded { from, pieces } => {
                Some(format!("Stock loaded from {from}: {}", counted(pieces.len(), "row")))
            }
            Fact::StockReceived { pieces, .. } => Some(format!("Received: {}", counted(sum(pieces), "box"))),
            Fact::StockMoved { pieces, to } => {
                Some(format!("Moved to {to}: {}", counted(sum(pieces), "box")))
            }
            Fact::StockCounted { shelf, pieces } => {
                let (count, lie) = (sum(pieces), by_count(sum(pieces), "lies", "lie"));
                Some(format!("Counted {shelf}: {} {lie} there", counted(count, "box")))
            }
            Fact::StockPulled { pieces, .. } => {
                Some(format!("Pulled off the shelf: {}", counted(sum(pieces), "box")))
            }
            Fact::DateConfirmed { day, .. } => Some(format!("The date is confirmed: {day}")),
            Fact::LotRecalled { lot, .. } => Some(format!("Lot {lot} is marked as recalled")),
            _ => None,
        }
    }

    /// The next case that is not signed off, other than the one shown; or why that is not known.
    ///
    /// # Errors
    /// Which cases there are is still being read.
    pub fn next_open_case(&self) -> Result<Option<CaseCode>, String> {
        let cases = self.cases.as_ref().ok_or("Which cases are open is still being read: try again")?;
        Ok(cases.next_open(self.entries.first().map_or(0, |entry| entry.seq)).cloned())
    }
}

/// Something came onto the shelf.
fn is_stock(entry: &Entry) -> bool {
    use Fact::{StockCounted, StockLoaded, StockReceived};
    matches!(entry.fact, StockLoaded { .. } | StockReceived { .. } | StockCounted { .. })
}

fn sum(pieces: &[Piece]) -> u64 {
    pieces.iter().map(|piece| u64::from(piece.count)).sum()
}
