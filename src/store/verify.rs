//! Whether the journal still says what was written.

#![allow(
    clippy::cast_possible_wrap,
    reason = "SQLite's INTEGER has a sign, a number of entries has none and is far below 2^63"
)]

use super::{Broken, Mark, Store};
use crate::journal::Entry;
use crate::journal::chain::{self, GENESIS};
use rusqlite::Row;
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
}

impl Store {
    /// Checks every entry: its number, the chain, and that the columns by which entries are found agree with
    /// the body; then the file itself. `progress` is called now and then with the entries that hold so far.
    ///
    /// # Errors
    /// The first entry that does not hold, or that can't be read.
    pub fn verify(&self, progress: &mut dyn FnMut(u64)) -> Result<Verified, Broken> {
        let genesis = Before { held: 0, head: GENESIS, command: None };
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
        for (run, end) in runs.drain(..).zip(ends.iter().map(Some).chain([None])) {
            let before = run?;
            reached = Verified { entries: before.held, head: before.head };
            if end.is_some_and(|end| *end != before.held) {
                return Err(Broken { seq: before.held + 1, message: "it is missing".into() });
            }
        }
        self.file_holds("integrity_check")?;
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
        // What an index leads to is looked at with the whole chain: that takes as long as the whole file.
        self.file_holds("quick_check")?;
        Ok(Verified { entries: end.held, head: end.head })
    }

    /// What is before this entry, taken as it is.
    fn before(&self, seq: u64) -> Result<Before, Broken> {
        if seq <= 1 {
            return Ok(Before { held: 0, head: GENESIS, command: None });
        }
        let held = seq - 1;
        let read = self.connection.query_row(
            "SELECT hash, command, part FROM journal WHERE seq = ?1",
            [held as i64],
            |row| Ok(Before { held, head: row.get(0)?, command: Some((row.get(1)?, row.get(2)?)) }),
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
                before.head = holds(row, before.held + 1, &before.head, &mut before.command)
                    .map_err(|message| broken(before.held, message))?;
                before.held += 1;
            }
            let count = before.held - start;
            if count == 0 {
                return Ok(before);
            }
            progress(done.fetch_add(count, Ordering::Relaxed) + count);
            from = before.held as i64 + 1;
        }
    }

    /// After the entries: it can't say which of them is broken. It reports faults as an answer, not as an error.
    /// `quick_check` looks at the pages, `integrity_check` also whether each index says what the table says.
    fn file_holds(&self, check: &str) -> Result<(), Broken> {
        if !crate::control::holds("file-checked") {
            return Ok(());
        }
        let file: Result<String, _> =
            self.connection.query_row(&format!("PRAGMA {check}(1)"), [], |row| row.get(0));
        match file {
            Ok(text) if text == "ok" => Ok(()),
            Ok(text) => Err(Broken { seq: 0, message: text }),
            Err(error) => Err(Broken { seq: 0, message: error.to_string() }),
        }
    }
}

/// Checks one row against the one before it and gives its hash. `last` is the command before it and its part.
fn holds(
    row: &Row,
    seq: u64,
    previous: &[u8; 32],
    last: &mut Option<(String, i64)>,
) -> Result<[u8; 32], String> {
    let text = |column: &str| -> Result<String, String> {
        row.get(column).map_err(|error| format!("{column}: {error}"))
    };
    let number: i64 = row.get("seq").map_err(|error| error.to_string())?;
    if i64::try_from(seq) != Ok(number) {
        return Err(format!("an entry numbered {number} stands in its place"));
    }
    let prev: [u8; 32] = row.get("prev").map_err(|error| format!("prev: {error}"))?;
    if prev != *previous {
        return Err("it does not follow the entry before it".into());
    }
    let body = text("body")?;
    let hash: [u8; 32] = row.get("hash").map_err(|error| format!("hash: {error}"))?;
    if crate::control::holds("hash-checked") && hash != chain::hash(previous, &body) {
        return Err("its body is not what was written".into());
    }
    let entry = Entry::from_body(&body).map_err(|error| error.to_string())?;
    let case: Option<String> = row.get("case_code").map_err(|error| format!("case_code: {error}"))?;
    let command = text("command")?;
    let agrees = [
        ("seq", entry.seq == seq),
        ("at", text("at")? == entry.at.to_rfc3339()),
        ("command", command == entry.command),
        ("case_code", case.as_deref() == entry.case.as_ref().map(|case| case.as_str())),
        ("what", text("what")? == entry.fact.what()),
    ];
    if let Some((column, _)) = agrees.iter().find(|(_, agrees)| !agrees) {
        return Err(format!("its column {column:?} does not agree with its body"));
    }
    let part: i64 = row.get("part").map_err(|error| format!("part: {error}"))?;
    let expected = match last {
        Some((before, part)) if *before == command => *part + 1,
        _ => 0,
    };
    if part != expected {
        return Err(format!("it is part {part} of its command, out of turn"));
    }
    *last = Some((command, part));
    Ok(hash)
}
