//! Whether the journal still says what was written.

use super::Store;
use crate::journal::Entry;
use crate::journal::chain::{self, GENESIS};
use rusqlite::Row;
use std::fmt;

/// A journal that holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Verified {
    pub entries: u64,
    /// The last entry's hash; zeros for an empty journal. Compare it with one that was kept elsewhere: a
    /// chain can't show that its tail was cut off.
    pub head: [u8; 32],
}

/// The first entry that does not hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// Its place in the journal, from 1; 0 where every entry holds and the file around them does not.
    pub seq: u64,
    pub message: String,
}

impl fmt::Display for Broken {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self.seq {
            0 => write!(f, "the journal's file does not hold: {}", self.message),
            seq => write!(f, "entry {seq} does not hold: {}", self.message),
        }
    }
}

impl std::error::Error for Broken {}

/// Entries read at a time: a read that stays open would keep the log from being emptied.
const BATCH: i64 = 1_000;

impl Store {
    /// Checks every entry: its number, the chain, and that the columns by which entries are found agree with
    /// the body; then the file itself. `progress` is told now and then how many entries hold so far.
    ///
    /// # Errors
    /// The first entry that does not hold, or that can't be read.
    pub fn verify(&self, progress: &mut dyn FnMut(u64)) -> Result<Verified, Broken> {
        let mut held: u64 = 0;
        let mut head = GENESIS;
        let mut from = i64::MIN;
        let mut last_command = None;
        loop {
            let broken = |held: u64, message: String| Broken { seq: held + 1, message };
            let mut statement = self
                .connection
                .prepare_cached(
                    "SELECT seq, at, command, part, case_code, what, prev, hash, body FROM journal
                     WHERE seq >= ?1 ORDER BY seq LIMIT ?2",
                )
                .map_err(|error| broken(held, error.to_string()))?;
            let mut rows = statement.query([from, BATCH]).map_err(|error| broken(held, error.to_string()))?;
            let before = held;
            while let Some(row) = rows.next().map_err(|error| broken(held, error.to_string()))? {
                head = holds(row, held + 1, &head, &mut last_command)
                    .map_err(|message| broken(held, message))?;
                held += 1;
            }
            if held == before {
                break;
            }
            progress(held);
            from = held as i64 + 1;
        }
        // After the entries: it can't say which of them is broken. It reports faults as an answer, not as an error.
        let file: Result<String, _> =
            self.connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0));
        match file {
            Ok(text) if text == "ok" => Ok(Verified { entries: held, head }),
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
    if hash != chain::hash(previous, &body) {
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
