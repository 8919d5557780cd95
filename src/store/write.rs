//! Appending: all facts of one command or none of them.

#![allow(
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "SQLite's INTEGER has a sign, a number of entries has none and is far below 2^63"
)]

use super::read::{OF_COMMAND, entries, hash_of, head};
use super::{Store, StoreError};
use crate::journal::chain::{self, GENESIS};
use crate::journal::{CaseCode, Entry, Fact, is_far};
use chrono::{DateTime, FixedOffset, Offset, TimeDelta};
use rusqlite::{Connection, Transaction, TransactionBehavior, params};
use std::path::Path;
use std::time::Instant;

/// What a command is known by, made before its commit and kept until it is known to have taken hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// No other command has it.
    pub id: String,
    /// When it was entered: the time of its entries.
    pub entered: DateTime<FixedOffset>,
    /// The clock now; later than `entered` where the disk refused before.
    pub now: DateTime<FixedOffset>,
}

impl Stamp {
    /// A command that is entered now.
    pub fn new(id: impl Into<String>, now: DateTime<FixedOffset>) -> Stamp {
        Stamp { id: id.into(), entered: now, now }
    }
}

/// What came of a command that is in the journal.
#[derive(Debug, Clone, PartialEq)]
pub struct Appended {
    /// Its entries, in order; before them what the store noticed while it wrote them.
    pub entries: Vec<Entry>,
    /// It was there before: it was committed, and nobody was told. It is not written twice.
    pub already: bool,
}

/// A clock that stands this much or less before the last entry was not set back: another program took its time,
/// and committed, while this one waited for it (at most `PATIENCE`).
const SLACK: TimeDelta = TimeDelta::seconds(5);

/// What reaches the disk so much later than it was entered is told to be late. One minute: times are shown so.
const LATE: TimeDelta = TimeDelta::seconds(60);

/// So many of the last entries are asked for their time. A command writes few, and each that comes late has a
/// notice with the right time before it.
const ASKED: usize = 32;

impl Store {
    /// Appends the facts of one command, in this order, and returns when they are on the disk.
    ///
    /// Where the same command is already in the journal (it was committed, and then the program was killed before
    /// it could say so), nothing is written and the entries that are there are returned. No facts: nothing is
    /// written. A clock that was set back, and facts that come late, are written down before them.
    ///
    /// # Errors
    /// The disk is full or can't be written, another program holds the journal, the journal is open for looking
    /// only, the same id stands for other facts, or a fact would not read back: nothing was written. Or the file
    /// is no longer in its place: then nothing that is found there has it. The same command may be appended again.
    pub fn append(
        &mut self,
        stamp: &Stamp,
        case: Option<&CaseCode>,
        facts: &[Fact],
    ) -> Result<Appended, StoreError> {
        let begun = Instant::now();
        let appended = self.append_in_place(stamp, case, facts);
        let ms = begun.elapsed().as_secs_f64() * 1000.0;
        match &appended {
            Ok(Appended { entries, already }) => {
                let last = entries.last().map_or(0, |entry| entry.seq);
                tracing::info!(entries = entries.len(), last, already, ms, "appended");
            }
            Err(error) => tracing::error!(code = error.code(), ms, "not appended"),
        }
        appended
    }

    fn append_in_place(
        &mut self,
        stamp: &Stamp,
        case: Option<&CaseCode>,
        facts: &[Fact],
    ) -> Result<Appended, StoreError> {
        if self.read_only {
            return Err(StoreError::cannot_write(&self.path, "it is open for looking only"));
        }
        self.in_place()?;
        let appended = self.commit(stamp, case, facts)?;
        // SQLite writes to a file that was deleted as to any other.
        self.in_place()?;
        Ok(appended)
    }

    fn commit(
        &mut self,
        stamp: &Stamp,
        case: Option<&CaseCode>,
        facts: &[Fact],
    ) -> Result<Appended, StoreError> {
        let refuse = |detail: String| StoreError::NotAppendable { path: self.path.clone(), detail };
        let (entered, now) = (whole_minutes(stamp.entered), whole_minutes(stamp.now));
        let command = stamp.id.as_str();
        let failed = |error: rusqlite::Error| StoreError::from_writing(&self.path, &error);

        let transaction =
            self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let there = entries(&transaction, &self.path, OF_COMMAND, &[&command])?;
        if crate::control::holds("command-written-once") && !there.is_empty() {
            let same = there.iter().map(|entry| &entry.fact).eq(facts)
                && there.iter().all(|entry| entry.case.as_ref() == case);
            return if same {
                Ok(Appended { entries: there, already: true })
            } else {
                Err(refuse(format!("the command {command} was already used for something else")))
            };
        }
        let last = head(&transaction).map_err(failed)?;
        if !follows(&transaction, self.known, last).map_err(failed)? {
            return Err(StoreError::Gone { path: self.path.clone(), replaced: true });
        }
        let mut end = End { transaction: &transaction, path: &self.path, case, last, entries: Vec::new() };
        // Commands of their own: the same command again must find the same facts.
        let before = latest(&transaction).map_err(failed)?;
        if let Some(before) = before
            && !facts.is_empty()
            && before - now > SLACK
        {
            end.add(&format!("{command}/clock"), 0, now, &Fact::ClockWentBack { before })?;
        }
        if let Some(before) = before
            && !facts.is_empty()
            && is_far(before.date_naive(), now.date_naive())
        {
            end.add(&format!("{command}/clock"), 0, now, &Fact::ClockWentAhead { before })?;
        }
        if !facts.is_empty() && now - entered >= LATE {
            end.add(&format!("{command}/late"), 0, now, &Fact::HeldBack { entered })?;
        }
        for (part, fact) in (0..).zip(facts) {
            end.add(command, part, entered, fact)?;
        }
        let End { last: head, entries, .. } = end;
        if crate::control::holds("rows-read-back") && !reads_back(&transaction, last, head).map_err(failed)? {
            // Another program's trigger may leave an insert out without an error.
            let why = "what was written does not read back; boxcall journal check says why";
            return Err(StoreError::cannot_write(&self.path, why));
        }
        let last = head;
        transaction.commit().map_err(failed)?;
        self.known = Some(last);
        Ok(Appended { entries, already: false })
    }
}

/// The end of the journal while a command is added to it.
struct End<'a> {
    transaction: &'a Transaction<'a>,
    path: &'a Path,
    case: Option<&'a CaseCode>,
    /// Number and hash of the last entry.
    last: (u64, [u8; 32]),
    /// What was added.
    entries: Vec<Entry>,
}

impl End<'_> {
    /// Adds a fact as the part of a command that has this place in it, from 0.
    fn add(
        &mut self,
        command: &str,
        part: i64,
        at: DateTime<FixedOffset>,
        fact: &Fact,
    ) -> Result<(), StoreError> {
        let (seq, previous) = (self.last.0 + 1, self.last.1);
        let entry = Entry { seq, at, command: command.into(), case: self.case.cloned(), fact: fact.clone() };
        let body = entry.body().map_err(|error| StoreError::NotAppendable {
            path: self.path.into(),
            detail: error.to_string(),
        })?;
        let hash = chain::hash(&previous, &body);
        let values = params![
            seq as i64,
            at.to_rfc3339(),
            command,
            part,
            self.case.map(CaseCode::as_str),
            fact.what(),
            &previous[..],
            &hash[..],
            body
        ];
        self.transaction
            .prepare_cached(
                "INSERT INTO journal(seq, at, command, part, case_code, what, prev, hash, body)
                 VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
            )
            .and_then(|mut statement| statement.execute(values))
            .map_err(|error| StoreError::from_writing(self.path, &error))?;
        self.last = (seq, hash);
        self.entries.push(entry);
        Ok(())
    }
}

/// Whether the entries that follow `from` lead to `to`, each with the hash of the body that is stored.
fn reads_back(
    transaction: &Transaction,
    from: (u64, [u8; 32]),
    to: (u64, [u8; 32]),
) -> rusqlite::Result<bool> {
    let mut statement =
        transaction.prepare_cached("SELECT seq, hash, body FROM journal WHERE seq > ?1 ORDER BY seq")?;
    let mut rows = statement.query([from.0 as i64])?;
    let mut last = from;
    while let Some(row) = rows.next()? {
        let body = row.get_ref(2)?.as_str().unwrap_or_default();
        let hash: [u8; 32] = row.get(1)?;
        if row.get::<_, i64>(0)? as u64 != last.0 + 1 || hash != chain::hash(&last.1, body) {
            return Ok(false);
        }
        last = (last.0 + 1, hash);
    }
    Ok(last == to)
}

/// Whether the entry that this program wrote last is still there, as it was.
fn follows(
    transaction: &Transaction,
    known: Option<(u64, [u8; 32])>,
    last: (u64, [u8; 32]),
) -> rusqlite::Result<bool> {
    let Some(known) = known.filter(|known| *known != last) else { return Ok(true) };
    let there = hash_of(transaction, known.0)?;
    Ok(there.unwrap_or(GENESIS) == known.1)
}

impl Store {
    /// The latest time that stands among the last entries, back to where the clock was last found set back; none where
    /// the journal is empty.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn latest(&self) -> Result<Option<DateTime<FixedOffset>>, StoreError> {
        self.ask(latest)
    }
}

fn latest(database: &Connection) -> rusqlite::Result<Option<DateTime<FixedOffset>>> {
    let mut statement = database.prepare_cached("SELECT at, what FROM journal ORDER BY seq DESC")?;
    let mut rows = statement.query([])?;
    let mut latest = None;
    for _ in 0..ASKED {
        let Some(row) = rows.next()? else { break };
        // A time that can't be read is found by the check of the chain.
        let at = DateTime::parse_from_rfc3339(row.get_ref(0)?.as_str().unwrap_or_default()).ok();
        latest = latest.max(at);
        if row.get_ref(1)?.as_str() == Ok("clock-went-back") {
            break;
        }
    }
    Ok(latest)
}

/// The stored form has no seconds in its offset; a few historical time zones do.
fn whole_minutes(at: DateTime<FixedOffset>) -> DateTime<FixedOffset> {
    let seconds = at.offset().fix().local_minus_utc();
    match FixedOffset::east_opt(seconds - seconds % 60) {
        Some(offset) => at.with_timezone(&offset),
        None => at,
    }
}
