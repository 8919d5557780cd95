//! What is read of a room's journal before the first frame, and what is read behind it: the case in work is folded
//! from its own entries alone, the shelf from those that can matter to it.

use super::checked::beside_agrees;
use super::{Fault, Room, clock};
use crate::catalogue::Catalogue;
use crate::journal::{CaseCode, Entry, Fact, LastDay, Today};
use crate::ledger::Known;
use crate::shelf::builder::{self, JournalOutline, ShelfBuilder};
use crate::shelf::{ReadShelf, Shelf};
use crate::store::{Broken, Mark, Store};
use chrono::{DateTime, FixedOffset};
use serde::Deserialize;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Instant;

const SIGNED: &str = "signed-off";
pub(super) const STRUCK: &str = "struck-out";

/// What the first frame needs: little, whatever the journal's size.
#[derive(Debug)]
pub struct Opening {
    /// The entries of the case that was written to last.
    pub entries: Vec<Entry>,
    /// The last entry of the journal; 0 where it is empty.
    pub upto: u64,
    /// A code that no case has yet.
    pub spare_code: CaseCode,
    /// By the clock of this machine, with its offset.
    pub now: DateTime<FixedOffset>,
    /// By the last entries alone: whether an earlier one has a later day is read behind the first frame.
    pub last_day: LastDay,
}

/// What is read behind the first frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Behind {
    /// The shelf, and which entries it was folded from.
    pub reading: ReadShelf,
    /// Which cases there are, and which of them are open.
    pub cases: Known,
    /// Stock was loaded, received or counted in this room, at some time.
    pub stocked: bool,
    /// The last day of the journal.
    pub last_day: LastDay,
}

/// Reads a journal through a connection of its own: it may go to a thread of its own.
#[derive(Debug)]
pub struct Reader {
    dir: PathBuf,
    /// None: nothing was ever written.
    store: Option<Store>,
    catalogue: Arc<Catalogue>,
    /// The room was opened for writing.
    may_mark: bool,
}

#[derive(Deserialize)]
pub(super) struct Strike {
    pub(super) case: Option<CaseCode>,
    pub(super) fact: StrikeFact,
}

#[derive(Deserialize)]
pub(super) struct StrikeFact {
    pub(super) entry: u64,
    #[serde(default)]
    pub(super) why: String,
}

#[derive(Deserialize)]
struct OfCase {
    case: Option<CaseCode>,
}

impl Room {
    /// What the first frame needs.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn opening(&self) -> Result<Opening, Fault> {
        let (mut entries, mut upto) = (Vec::new(), 0);
        let mut last_day = LastDay::default();
        if let Some(store) = &self.store {
            store.latest()?.iter().for_each(|at| last_day.reach(at.date_naive()));
            // First, so that nothing is missed that is written meanwhile: what is read twice is left out later.
            upto = store.last_seq()?;
            if let Some(case) = store.last_case()? {
                entries = store.case_entries(&case)?;
            }
            entries.retain(|entry| entry.seq <= upto);
        }
        Ok(Opening { entries, upto, spare_code: self.spare_code()?, now: clock::now(), last_day })
    }

    /// The entries of one case, in order.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn case_entries(&self, case: &CaseCode) -> Result<Vec<Entry>, Fault> {
        Ok(self.store.as_ref().map_or(Ok(Vec::new()), |store| store.case_entries(case))?)
    }

    /// Shelf and cases, without reading what can't matter to them. `back_to`: what the boxes of a case took that began
    /// with this entry has to be known.
    ///
    /// # Errors
    /// The journal can't be read, or an entry in it is damaged.
    pub fn behind(&self, back_to: Option<u64>) -> Result<Behind, Fault> {
        behind(self.store.as_ref(), &self.catalogue, back_to, &BTreeSet::new())
    }

    /// The pieces on hand, none where no stock was ever loaded; and the day that their use-by dates are judged by.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn shelf_today(&self) -> Result<(Option<Shelf>, Today), Fault> {
        let behind = self.behind(None)?;
        let today = behind.last_day.trust(clock::today());
        Ok((behind.stocked.then_some(behind.reading.shelf), today))
    }

    /// The day that use-by dates are judged by.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn today(&self) -> Result<Today, Fault> {
        let mut last_day = LastDay::default();
        if let Some(store) = &self.store {
            let upto = store.last_seq()?;
            store.each_of(&LastDay::TURNS, (1, upto), &mut |row| turn(&mut last_day, row.body()?))?;
            store.latest()?.iter().for_each(|at| last_day.reach(at.date_naive()));
        }
        Ok(last_day.trust(clock::today()))
    }

    /// The pieces on hand as they would be without these entries.
    ///
    /// # Errors
    /// The journal can't be read, or an entry in it is damaged.
    pub fn shelf_without(&self, entries: &BTreeSet<u64>) -> Result<Shelf, Fault> {
        Ok(behind(self.store.as_ref(), &self.catalogue, None, entries)?.reading.shelf)
    }

    /// A reader that can go to another thread.
    ///
    /// # Errors
    /// The journal can't be opened once more.
    pub fn reader(&self) -> Result<Reader, Fault> {
        let store = self.store.as_ref().map(Store::beside).transpose()?;
        let may_mark = self.store.as_ref().is_some_and(|store| !store.is_read_only());
        Ok(Reader { dir: self.dir.clone(), store, catalogue: self.catalogue.clone(), may_mark })
    }
}

impl Reader {
    /// As [`Room::behind`].
    ///
    /// # Errors
    /// The journal can't be read, or an entry in it is damaged.
    pub fn behind(&self, back_to: Option<u64>) -> Result<Behind, Fault> {
        behind(self.store.as_ref(), &self.catalogue, back_to, &BTreeSet::new())
    }
}

/// A check of every entry is made again after so many hours; in between what came since the mark is enough.
const WHOLE_AGAIN: i64 = 24;

impl Reader {
    /// Whether the journal holds: what was written since it was last found to hold, and once a day all of it. What was
    /// found to hold is marked, so that the next check is a short one.
    ///
    /// # Errors
    /// The first entry that does not hold.
    pub fn check(&self, now: DateTime<FixedOffset>) -> Result<(), Broken> {
        let begun = Instant::now();
        let checked = self.check_chain(now);
        let ms = begun.elapsed().as_secs_f64() * 1000.0;
        match &checked {
            Ok(()) => tracing::info!(ms, "journal holds"),
            Err(broken) => tracing::error!(entry = broken.seq, ms, "journal does not hold"),
        }
        checked
    }

    fn check_chain(&self, now: DateTime<FixedOffset>) -> Result<(), Broken> {
        let Some(store) = &self.store else { return Ok(()) };
        let mark = store.read_mark()?;
        let mut whole = mark.map(|mark| mark.whole);
        let mut held = mark.as_ref().map(|mark| store.verify_since(mark)).transpose()?;
        // A clock that was set back makes no check superfluous.
        let recent = |whole: DateTime<FixedOffset>| (0..WHOLE_AGAIN).contains(&(now - whole).num_hours());
        if !whole.is_some_and(recent) {
            held = Some(store.verify(&mut |_| {})?);
            whole = Some(now);
        }
        beside_agrees(&self.dir, store)?;
        if let (Some(whole), Some(held), true) = (whole, held, self.may_mark) {
            store.set_mark(&Mark { entries: held.entries, head: held.head, whole });
        }
        Ok(())
    }
}

fn behind(
    store: Option<&Store>,
    catalogue: &Catalogue,
    back_to: Option<u64>,
    without: &BTreeSet<u64>,
) -> Result<Behind, Fault> {
    let Some(store) = store else {
        return Ok(Behind {
            reading: ReadShelf::default(),
            cases: Known::default(),
            stocked: false,
            last_day: LastDay::default(),
        });
    };
    // The journal only grows: what is read up to this entry is one state of it, without a lock on the others.
    let upto = store.last_seq()?;
    let spans: Vec<_> = store.case_codes()?.into_iter().filter(|(_, first, _)| *first <= upto).collect();
    let mut cases = Known::of(spans.iter().map(|(code, first, _)| (code.clone(), *first)));
    let mut landmarks = JournalOutline {
        loads: Vec::new(),
        struck: without.clone(),
        cases: spans.iter().map(|(_, first, last)| (*first, *last)).collect(),
    };
    let mut stocked = false;
    let mut last_day = LastDay::default();
    let mut kinds = vec![builder::LOAD, "stock-received", "stock-counted", SIGNED, STRUCK];
    kinds.extend(LastDay::TURNS);
    store.each_of(&kinds, (1, upto), &mut |row| {
        match row.what()? {
            SIGNED => {
                let OfCase { case } = parse(row.body()?)?;
                case.into_iter().for_each(|case| cases.sign(row.seq, &case));
            }
            STRUCK => {
                let Strike { case, fact: StrikeFact { entry, .. } } = parse(row.body()?)?;
                // A strike strikes nothing that is behind it.
                if entry < row.seq {
                    landmarks.struck.insert(entry);
                    cases.strike(entry, case.as_ref());
                }
            }
            what if LastDay::TURNS.contains(&what) => turn(&mut last_day, row.body()?)?,
            what => {
                stocked = true;
                if what == builder::LOAD {
                    landmarks.loads.push(row.seq);
                }
            }
        }
        Ok(())
    })?;
    store.latest()?.iter().for_each(|at| last_day.reach(at.date_naive()));
    let from = landmarks.start(back_to);
    let mut shelf = ShelfBuilder::new(catalogue, landmarks, from);
    let mut take = |row: &crate::store::Row| {
        shelf.take(row.seq, row.what()?, row.body()?).map_err(|error| error.to_string())
    };
    if from > 1 {
        store.each_of(&builder::ALWAYS, (1, from - 1), &mut take)?;
    }
    let mut kinds = builder::MOVING.to_vec();
    kinds.extend(builder::ALWAYS.iter().filter(|kind| !builder::MOVING.contains(kind)));
    store.each_of(&kinds, (from, upto), &mut take)?;
    Ok(Behind { reading: ReadShelf { shelf: shelf.shelf(), from, upto }, cases, stocked, last_day })
}

/// Takes in an entry after which the day has to be looked at anew, and how far those before it had come.
fn turn(last_day: &mut LastDay, body: &str) -> Result<(), String> {
    let entry = Entry::from_body(body).map_err(|error| error.to_string())?;
    if let Fact::ClockWentBack { before } | Fact::ClockWentAhead { before } = &entry.fact {
        last_day.reach(before.date_naive());
    }
    last_day.apply(&entry);
    Ok(())
}

pub(super) fn parse<'a, T: Deserialize<'a>>(body: &'a str) -> Result<T, String> {
    serde_json::from_str(body).map_err(|error| error.to_string())
}
