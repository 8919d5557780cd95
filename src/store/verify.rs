//! Whether the journal still says what was written.

#![allow(
    clippy::cast_possible_wrap,
    reason = "SQLite's INTEGER has a sign, a number of entries has none and is far below 2^63"
)]

use super::indexes::Sums;
use super::{Broken, Mark, Store, StoreError, schema};
use crate::journal::Entry;
use crate::journal::chain::{self, GENESIS};
use rusqlite::Row;
use std::fmt::Write;
use std::num::NonZero;
use std::sync::atomic::{AtomicU64, Ordering};

/// A journal that holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Verified {
    /// How many there are; the number of the last.
    pub entries: u64,
    /// The last entry's hash; zeros for an empty journal. Compare it with one that was kept elsewhere: a
    /// chain can't show that its tail was cut off.
    pub head: [u8; 32],
}

/// Entries read at a time: a read that stays open would keep the log from being emptied.
const BATCH: i64 = 1_000;
/// Fewer entries than this are not shared out among the processor's cores.
const A_PART: u64 = 20_000;

const ROWS: &str = "SELECT seq, at, command, part, case_code, what, prev, hash, body FROM journal
     WHERE seq BETWEEN ?1 AND ?2 ORDER BY seq LIMIT ?3";

/// Where a run of entries begins: what is before it.
#[derive(Debug, Clone)]
struct Before {
    /// Entries before it.
    held: u64,
    head: [u8; 32],
    /// The command before it and its part.
    command: Option<(String, i64)>,
    /// What the indexes have to say of this run's entries.
    sums: Sums,
}

impl Store {
    /// Checks every entry: its number, the chain, and that the columns by which entries are found agree with the body;
    /// then tables and guards, the indexes and the file itself. `progress` is called now and then with the
    /// number of entries that hold so far.
    ///
    /// # Errors
    /// The first entry that does not hold, or that can't be read.
    pub fn verify(&self, progress: &mut dyn FnMut(u64)) -> Result<Verified, Broken> {
        let genesis = Before { held: 0, head: GENESIS, command: None, sums: Sums::default() };
        let last = self.last_seq().unwrap_or(0);
        let parts = std::thread::available_parallelism().map_or(1, NonZero::get) as u64;
        let size = last.div_ceil(parts).max(A_PART);
        let done = AtomicU64::new(0);
        // Runs side by side: each takes the entry before it as it stands, which the run before it checks.
        let mut ends: Vec<u64> = (1..).map(|part| part * size).take_while(|end| *end < last).collect();
        let mut befores = Vec::new();
        for end in &ends {
            match (self.beside(), self.before(end + 1)) {
                (Ok(store), Ok(before)) => befores.push((store, before, end + size)),
                // Something is amiss there: one run from the first entry on names what.
                _ => break,
            }
        }
        if befores.len() < ends.len() {
            ends.clear();
            befores.clear();
        }
        let first_end = ends.first().map_or(i64::MAX, |end| *end as i64);
        let mut runs = std::thread::scope(|scope| {
            let others: Vec<_> = befores
                .into_iter()
                .map(|(store, before, end)| {
                    let (done, end) = (&done, if end < last { end as i64 } else { i64::MAX });
                    scope.spawn(move || store.run(before, end, done, &mut |_| {}))
                })
                .collect();
            let mut runs = vec![self.run(genesis, first_end, &done, progress)];
            for other in others {
                let broke_off = || Broken { seq: 0, message: "the check broke off".into() };
                runs.push(other.join().unwrap_or_else(|_| Err(broke_off())));
            }
            runs
        });
        // In order: the first that does not hold is the first of all.
        let mut reached = Verified { entries: 0, head: GENESIS };
        let mut sums = Sums::default();
        for (run, end) in runs.drain(..).zip(ends.iter().map(Some).chain([None])) {
            let before = run?;
            reached = Verified { entries: before.held, head: before.head };
            sums.add(&before.sums);
            if end.is_some_and(|end| *end != before.held) {
                return Err(Broken { seq: before.held + 1, message: "it is missing".into() });
            }
        }
        // Last, as an entry that does not hold says more than a guard that is missing.
        self.objects_hold()?;
        if crate::control::holds("file-checked") {
            self.indexes_hold(&sums, reached.entries)?;
            self.file_holds()?;
        }
        Ok(reached)
    }

    /// The same for what stands from the mark on, its own entry included; nothing is said of what is before it.
    ///
    /// # Errors
    /// The first entry that does not hold, the one at the mark among them.
    pub fn verify_since(&self, mark: &Mark) -> Result<Verified, Broken> {
        self.stands_at(mark)?;
        let from = mark.entries.max(1);
        let before = self.before(from)?;
        let end = self.run(before, i64::MAX, &AtomicU64::new(0), &mut |_| {})?;
        self.objects_hold()?;
        Ok(Verified { entries: end.held, head: end.head })
    }

    /// Compares every table, index, trigger and view of the file with those that belong there: a trigger of another
    /// program may keep entries out without an error, and a missing guard lets them be changed.
    ///
    /// # Errors
    /// The first one that is missing, changed or foreign.
    pub fn objects_hold(&self) -> Result<(), Broken> {
        let held = self.compare_objects().unwrap_or_else(|error| Err(error.to_string()));
        held.map_err(|message| Broken { seq: 0, message })
    }

    /// The same, where the file can be read; an error is why it can't.
    pub(super) fn compare_objects(&self) -> Result<Result<(), String>, StoreError> {
        let found: Vec<(String, String, Option<String>)> = self.ask(|database| {
            let row = |row: &Row| Ok((row.get(0)?, row.get(1)?, row.get(2)?));
            database
                .prepare_cached("SELECT type, name, sql FROM sqlite_schema")?
                .query_map([], row)?
                .collect()
        })?;
        Ok(schema::compare(&found, self.objects))
    }

    /// What stands before this entry, taken as it is.
    fn before(&self, seq: u64) -> Result<Before, Broken> {
        if seq <= 1 {
            return Ok(Before { held: 0, head: GENESIS, command: None, sums: Sums::default() });
        }
        let held = seq - 1;
        let read = self.connection.query_row(
            "SELECT hash, command, part FROM journal WHERE seq = ?1",
            [held as i64],
            |row| {
                let command = Some((row.get(1)?, row.get(2)?));
                Ok(Before { held, head: row.get(0)?, command, sums: Sums::default() })
            },
        );
        read.map_err(|error| Broken { seq: held, message: error.to_string() })
    }

    /// Checks entry after entry up to a number, and says where it came to.
    fn run(
        &self,
        mut before: Before,
        last: i64,
        done: &AtomicU64,
        progress: &mut dyn FnMut(u64),
    ) -> Result<Before, Broken> {
        let mut opening = String::new();
        // Rows with numbers that can't be are met too.
        let mut from = if before.held == 0 { i64::MIN } else { before.held as i64 + 1 };
        loop {
            let broken = |held: u64, message: String| Broken { seq: held + 1, message };
            let mut statement = self
                .connection
                .prepare_cached(ROWS)
                .map_err(|error| broken(before.held, error.to_string()))?;
            let mut rows = statement
                .query([from, last, BATCH])
                .map_err(|error| broken(before.held, error.to_string()))?;
            let start = before.held;
            while let Some(row) = rows.next().map_err(|error| broken(before.held, error.to_string()))? {
                holds(row, &mut before, &mut opening).map_err(|message| broken(before.held, message))?;
            }
            let count = before.held - start;
            if count == 0 {
                return Ok(before);
            }
            progress(done.fetch_add(count, Ordering::Relaxed) + count);
            from = before.held as i64 + 1;
        }
    }

    /// After the entries: it can't say which of them is broken. It reports faults as an answer, not as an error. The
    /// indexes are compared with the entries in [`Store::indexes_hold`]: `integrity_check` takes eight times as long.
    fn file_holds(&self) -> Result<(), Broken> {
        let file: Result<String, _> =
            self.connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0));
        match file {
            Ok(text) if text == "ok" => Ok(()),
            Ok(text) => Err(Broken { seq: 0, message: text }),
            Err(error) => Err(Broken { seq: 0, message: error.to_string() }),
        }
    }
}

/// Checks one row against the one before it, and moves on to it. `opening` is a buffer.
fn holds(row: &Row, before: &mut Before, opening: &mut String) -> Result<(), String> {
    let seq = before.held + 1;
    let text = |column: usize, name: &str| {
        let value = row.get_ref(column).map_err(|error| format!("{name}: {error}"))?;
        value.as_str().map_err(|error| format!("{name}: {error}"))
    };
    let bytes = |column: usize, name: &str| -> Result<[u8; 32], String> {
        row.get(column).map_err(|error| format!("{name}: {error}"))
    };
    let number: i64 = row.get(0).map_err(|error| error.to_string())?;
    if i64::try_from(seq) != Ok(number) {
        return Err(format!("an entry numbered {number} stands in its place"));
    }
    if bytes(6, "prev")? != before.head {
        return Err("it does not follow the entry before it".into());
    }
    let body = text(8, "body")?;
    let hash = bytes(7, "hash")?;
    if crate::control::holds("hash-checked") && hash != chain::hash(&before.head, body) {
        return Err("its body is not what was written".into());
    }
    let (at, command, what) = (text(1, "at")?, text(2, "command")?, text(5, "what")?);
    let case = match row.get_ref(4).map_err(|error| format!("case_code: {error}"))? {
        rusqlite::types::ValueRef::Null => None,
        value => Some(value.as_str().map_err(|error| format!("case_code: {error}"))?),
    };
    open_body(opening, seq, at, command, case, what);
    if !body.starts_with(opening.as_str()) {
        // Written otherwise than this version writes it: what counts is what it says.
        agrees(body, seq, at, command, case, what)?;
    }
    let part: i64 = row.get(3).map_err(|error| format!("part: {error}"))?;
    let expected = match &before.command {
        Some((last, part)) if last == command => *part + 1,
        _ => 0,
    };
    if part != expected {
        return Err(format!("it is part {part} of its command, out of turn"));
    }
    match &mut before.command {
        Some((last, place)) => {
            if last != command {
                last.clear();
                last.push_str(command);
            }
            *place = part;
        }
        none => *none = Some((command.into(), part)),
    }
    before.sums.take(number, case, &hash, command, part);
    (before.held, before.head) = (seq, hash);
    Ok(())
}

/// How the body of such an entry begins, as [`Entry::body`] writes it: comparing it costs next to nothing.
fn open_body(into: &mut String, seq: u64, at: &str, command: &str, case: Option<&str>, what: &str) {
    into.clear();
    // UTC has its own letter in the body. Writing into a string does not fail.
    let (at, zone) = at.strip_suffix("+00:00").map_or((at, ""), |at| (at, "Z"));
    let _ = write!(into, "{{\"seq\":{seq},\"at\":\"{at}{zone}\",\"command\":\"{command}\",");
    if let Some(case) = case {
        let _ = write!(into, "\"case\":\"{case}\",");
    }
    let _ = write!(into, "\"fact\":{{\"what\":\"{what}\"");
}

/// Compares the columns with what the body says.
fn agrees(
    body: &str,
    seq: u64,
    at: &str,
    command: &str,
    case: Option<&str>,
    what: &str,
) -> Result<(), String> {
    let entry = Entry::from_body(body).map_err(|error| error.to_string())?;
    let agrees = [
        ("seq", entry.seq == seq),
        ("at", at == entry.at.to_rfc3339()),
        ("command", command == entry.command),
        ("case_code", case == entry.case.as_ref().map(|case| case.as_str())),
        ("what", what == entry.fact.what()),
    ];
    match agrees.iter().find(|(_, agrees)| !agrees) {
        Some((column, _)) => Err(format!("its column {column:?} does not agree with its body")),
        None => Ok(()),
    }
}
