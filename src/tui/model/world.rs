//! What the room handed over and what has been written since: the facts that the screens show.
//!
//! The journal is what is saved, and behind it what is pending, under the numbers that it would have there. Neither is
//! held here whole: only the pending entries, those of the case that is shown, and folds that follow both.

use crate::case::finding;
use crate::case::readback::{self, Context, ReadBack, Scan};
use crate::case::{Call, Case, Item};
use crate::catalogue::{Catalogue, Piece};
use crate::journal::{BoxRead, CaseCode, Doubt, Entry, Fact, LastDay, Today};
use crate::ledger::Known;
use crate::policy::Policy;
use crate::room::{Behind, Furniture, Opening};
use crate::shelf::{FetchCard, OnHand};
use crate::units::{by_count, counted};
use chrono::{DateTime, FixedOffset, NaiveDate};
use std::sync::Arc;

/// The room as the screens see it.
#[derive(Debug, Clone)]
pub struct World {
    /// Replaced by [`World::replace_catalogue`] alone, which counts.
    pub catalogue: Arc<Catalogue>,
    catalogue_version: u64,
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
    /// The entries of the case that is shown, what is pending behind what is saved.
    entries: Vec<Entry>,
    /// How many of these are saved.
    entries_saved: usize,
    /// What is not saved yet, in its order, of every case and of the room.
    pending: Vec<Entry>,
    last_saved: Option<Entry>,
    saved_seq: u64,
    /// Which cases there are: none until that is read.
    cases: Option<Known>,
    /// What came before the cases were read.
    uncounted: Vec<Entry>,
    last_day: LastDay,
    /// Stock was loaded, received or counted at some time; none until that is read.
    pub stocked: Option<bool>,
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
    /// Stock was once loaded, received or counted.
    pub fn has_stock(&self) -> bool {
        self.stocked == Some(true)
    }

    /// Nobody has had a case here, and a call would find nothing: the first steps open by themselves.
    pub fn is_bare(&self) -> bool {
        !self.demo
            && self.case.is_none()
            && (self.catalogue.products.is_empty() || self.stocked == Some(false))
    }

    /// The room at its first frame: the case in work, and nothing of the shelf yet.
    pub fn opening(catalogue: Arc<Catalogue>, policy: Arc<Policy>, opening: Opening) -> Self {
        World {
            catalogue,
            catalogue_version: 0,
            policy,
            shelf: OnHand::default(),
            case: Case::fold(&opening.entries),
            now: opening.now,
            demo: false,
            furniture: Furniture::default(),
            spare_code: opening.spare_code,
            broken: None,
            last_saved: None,
            saved_seq: opening.upto,
            entries_saved: opening.entries.len(),
            entries: opening.entries,
            pending: Vec::new(),
            cases: None,
            uncounted: Vec::new(),
            last_day: opening.last_day,
            stocked: (opening.upto == 0).then_some(false),
        }
    }

    /// The room's product files were read again.
    pub fn replace_catalogue(&mut self, catalogue: Arc<Catalogue>) {
        self.catalogue = catalogue;
        self.catalogue_version += 1;
    }

    /// What is worked out from the catalogue holds for this version of it.
    pub fn catalogue_version(&self) -> u64 {
        self.catalogue_version
    }

    /// The day that dates are judged by.
    pub fn today(&self) -> NaiveDate {
        self.trusted().day
    }

    fn trusted(&self) -> Today {
        let mut last = self.last_day;
        self.pending.iter().for_each(|entry| last.apply(entry));
        last.trust(self.now.date_naive())
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
        let pending = std::mem::take(&mut self.pending);
        self.saved(entries, pending, stay)
    }

    /// The same, and this is what is pending now.
    pub fn saved(&mut self, entries: Vec<Entry>, pending: Vec<Entry>, stay: bool) -> Vec<Wanted> {
        let mut shown = self.case_code();
        let mut wanted = Vec::new();
        self.entries.truncate(self.entries_saved);
        if let Some(last) = entries.last() {
            self.saved_seq = self.saved_seq.max(last.seq);
            self.last_saved = Some(last.clone());
            if entries.iter().any(is_stock) {
                self.stocked = Some(true);
            }
            match &mut self.cases {
                Some(cases) => entries.iter().for_each(|entry| cases.apply(entry)),
                None => self.uncounted.extend(entries.iter().cloned()),
            }
            entries.iter().for_each(|entry| self.last_day.apply(entry));
            let (own, cases) = (&self.entries, &self.cases);
            let goes_on = self.shelf.absorb(
                &entries,
                |case| cases.as_ref().and_then(|cases| cases.first(case)),
                |seq| own.iter().find(|entry| entry.seq == seq),
            );
            let latest = entries.iter().rev().find_map(|entry| entry.case.clone());
            let latest = shown.clone().filter(|_| stay).or(latest);
            // A case that was read from the disk may have been ahead of the news.
            let known = self.entries.last().map_or(0, |entry| entry.seq);
            let new = entries.into_iter().filter(|entry| latest.is_some() && entry.case == latest);
            let mut new: Vec<Entry> = new.collect();
            let begun = new.iter().find(|entry| !entry.fact.is_notice());
            if latest == shown {
                new.retain(|entry| entry.seq > known);
                self.entries.extend(new);
            } else if begun.is_some_and(|entry| matches!(entry.fact, Fact::CaseBegun)) {
                // A case that begins here is here whole.
                (self.entries, shown) = (new, latest);
            } else {
                wanted.extend(latest.map(Wanted::Case));
            }
            if !goes_on {
                wanted.push(self.wanted_shelf());
            }
        }
        self.entries_saved = self.entries.len();
        self.pending = pending;
        self.fold(shown.as_ref());
        wanted
    }

    /// These are pending now; the case that is shown stays.
    pub fn set_pending(&mut self, pending: Vec<Entry>) {
        let shown = self.case_code();
        self.pending = pending;
        self.fold(shown.as_ref());
    }

    /// Folds what is pending behind what is saved; this case is shown.
    fn fold(&mut self, shown: Option<&CaseCode>) {
        self.entries.truncate(self.entries_saved);
        let own = self.pending.iter().filter(|entry| entry.case.is_some() && entry.case.as_ref() == shown);
        self.entries.extend(own.cloned());
        self.case = Case::fold(&self.entries);
        self.show_pending();
    }

    fn show_pending(&mut self) {
        if self.pending.iter().any(is_stock) {
            self.stocked = Some(true);
        }
        let (pending, cases) = (&self.pending, &self.cases);
        let begun = |case: &CaseCode| pending.iter().find(|entry| entry.case.as_ref() == Some(case));
        self.shelf.show_with(
            pending,
            |case| {
                let saved = cases.as_ref().and_then(|cases| cases.first(case));
                saved.or_else(|| begun(case).map(|entry| entry.seq))
            },
            |seq| self.entries.iter().find(|entry| entry.seq == seq),
        );
    }

    fn wanted_shelf(&self) -> Wanted {
        Wanted::Shelf { back_to: self.begins_at() }
    }

    /// The entry with which the case that is shown begins; none where it is not saved yet.
    pub fn begins_at(&self) -> Option<u64> {
        self.entries[..self.entries_saved].first().map(|entry| entry.seq)
    }

    pub fn case_code(&self) -> Option<CaseCode> {
        self.case.as_ref().map(|case| case.code.clone())
    }

    /// The entry that undo would strike out, and what it said.
    pub fn last_undoable(&self) -> Option<(u64, String)> {
        Case::fold(&self.entries)?.last_undoable()
    }

    /// Makes the words of the case again, with the decimal mark that holds here.
    pub fn retell(&mut self) {
        if self.case.is_some() {
            self.case = Case::fold(&self.entries);
        }
    }

    /// Shows this case, of which these entries are saved.
    pub fn show(&mut self, code: &CaseCode, saved: Vec<Entry>) -> Option<Wanted> {
        (self.entries_saved, self.entries) = (saved.len(), saved);
        self.fold(Some(code));
        self.cover()
    }

    /// What the boxes of the case that is shown took has to be known.
    fn cover(&mut self) -> Option<Wanted> {
        if self.begins_at().is_none_or(|first| self.shelf.covers(first)) {
            return None;
        }
        self.shelf.read_again();
        Some(self.wanted_shelf())
    }

    /// Whether the case that is shown is signed off on the disk.
    pub fn is_signed_off(&self) -> bool {
        let signed = |case: &Case| case.signed.is_some();
        match self.entries.len() == self.entries_saved {
            true => self.case.as_ref().is_some_and(signed),
            false => Case::fold(&self.entries[..self.entries_saved]).as_ref().is_some_and(signed),
        }
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
        self.show_pending();
        self.cover().or((!goes_on).then(|| self.wanted_shelf()))
    }

    /// The number of the last entry known here, saved or pending.
    pub fn last_seq(&self) -> u64 {
        self.pending.last().map_or(self.saved_seq, |entry| entry.seq)
    }

    /// The number of the last entry that is on disk, as far as it is known here.
    pub fn saved_seq(&self) -> u64 {
        self.saved_seq
    }

    /// The case that new work belongs to: the one shown, unless it is signed off.
    pub fn open_case(&self) -> Option<CaseCode> {
        self.case.as_ref().filter(|case| case.signed.is_none()).map(|case| case.code.clone())
    }

    /// What is to be brought for a call of the case that is shown.
    pub fn card(&self, call: &Call) -> Option<FetchCard> {
        let card = self.shelf.card(call, self.case.as_ref()?, &self.catalogue, self.today());
        Some(FetchCard { unread: self.shelf.unread(), ..card })
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
        let last = self.pending.last().or(self.last_saved.as_ref())?;
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
        let mut cases = cases.clone();
        self.pending.iter().for_each(|entry| cases.apply(entry));
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
