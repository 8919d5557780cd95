//! Reading entries back.

#![allow(
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "SQLite's INTEGER has a sign, a number of entries has none and is far below 2^63"
)]

use super::{Store, StoreError};
use crate::journal::chain::{GENESIS, Link};
use crate::journal::{CaseCode, Entry};
use chrono::DateTime;
use rusqlite::{Connection, OptionalExtension, Row, ToSql};
use std::path::Path;

pub(super) const OF_COMMAND: &str = "SELECT seq, body FROM journal WHERE command = ?1 ORDER BY part";
const AFTER: &str = "SELECT seq, body FROM journal WHERE seq > ?1 ORDER BY seq";
const OF_CASE: &str = "SELECT seq, body FROM journal WHERE case_code = ?1 ORDER BY seq";
/// Of the room, by the index on cases.
const STRIKES_OF_ROOM: &str =
    "SELECT seq, body FROM journal WHERE case_code IS NULL AND what = 'struck-out' ORDER BY seq";
const OF_ROOM: &str = "SELECT seq, body FROM journal WHERE case_code IS NULL ORDER BY seq";

impl Store {
    /// Every entry with a number above `seq`, in order; all of them for 0.
    ///
    /// # Errors
    /// The journal can't be read, or an entry in it is damaged.
    pub fn entries_after(&self, seq: u64) -> Result<Vec<Entry>, StoreError> {
        self.entries(AFTER, &[&number(seq)])
    }

    /// The entries of one case, in order; none where the case is not known.
    ///
    /// # Errors
    /// Those of [`Store::entries_after`].
    pub fn case_entries(&self, case: &CaseCode) -> Result<Vec<Entry>, StoreError> {
        self.entries(OF_CASE, &[&case.as_str()])
    }

    /// The entries of one case, and with them every strike that belongs to no case: it may strike out an entry of any.
    ///
    /// # Errors
    /// Those of [`Store::entries_after`].
    pub fn entries_about(&self, case: &CaseCode) -> Result<Vec<Entry>, StoreError> {
        let mut entries = self.case_entries(case)?;
        if !entries.is_empty() {
            entries.extend(self.strikes_of_room()?);
            entries.sort_by_key(|entry| entry.seq);
        }
        Ok(entries)
    }

    /// Every strike that belongs to no case: one may strike out an entry of any.
    ///
    /// # Errors
    /// Those of [`Store::entries_after`].
    pub fn strikes_of_room(&self) -> Result<Vec<Entry>, StoreError> {
        self.entries(STRIKES_OF_ROOM, &[])
    }

    /// Every case in the order of the clocks by which they began, and of their first entries.
    ///
    /// # Errors
    /// The journal can't be read, or a case code or a time in it is damaged.
    pub fn cases_by_clock(&self) -> Result<Vec<CaseCode>, StoreError> {
        let mut begun = Vec::new();
        for (code, first, _) in self.case_codes()? {
            let at: String = self.ask(|database| {
                let sql = "SELECT at FROM journal WHERE seq = ?1";
                database.prepare_cached(sql)?.query_row([first as i64], |row| row.get(0))
            })?;
            let at = DateTime::parse_from_rfc3339(&at)
                .map_err(|error| self.damaged(format!("entry {first}: {at:?}: {error}")))?;
            begun.push((at, first, code));
        }
        begun.sort();
        Ok(begun.into_iter().map(|(_, _, code)| code).collect())
    }

    /// The entries of one case as they are stored, in order.
    ///
    /// # Errors
    /// The journal can't be read, or a hash in it is not 32 bytes long. The bodies are handed over unread.
    pub fn links(&self, case: &CaseCode) -> Result<Vec<Link>, StoreError> {
        let sql = "SELECT seq, prev, hash, body FROM journal WHERE case_code = ?1 ORDER BY seq";
        self.ask(|database| {
            let link = |row: &Row| {
                let seq = row.get::<_, i64>(0)? as u64;
                Ok(Link { seq, previous: row.get(1)?, hash: row.get(2)?, body: row.get(3)? })
            };
            database.prepare_cached(sql)?.query_map([case.as_str()], link)?.collect()
        })
    }

    /// The entries that belong to no case (stock, recalls, printed sizes), in order.
    ///
    /// # Errors
    /// Those of [`Store::entries_after`].
    pub fn room_entries(&self) -> Result<Vec<Entry>, StoreError> {
        self.entries(OF_ROOM, &[])
    }

    /// The last entry's number; 0 where the journal is empty.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn last_seq(&self) -> Result<u64, StoreError> {
        Ok(self.head()?.0)
    }

    /// The last entry's number and hash: what to keep elsewhere, so that a tail cut off can be noticed.
    /// 0 and zeros where the journal is empty.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn head(&self) -> Result<(u64, [u8; 32]), StoreError> {
        self.ask(head)
    }

    /// The hash of the entry with this number; none where there is no such entry.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn hash_of(&self, seq: u64) -> Result<Option<[u8; 32]>, StoreError> {
        self.ask(|database| hash_of(database, seq))
    }

    /// The case that was written to last; none where no case was begun.
    ///
    /// # Errors
    /// The journal can't be read, or the case code in it is damaged.
    pub fn last_case(&self) -> Result<Option<CaseCode>, StoreError> {
        let sql = "SELECT seq, case_code FROM journal WHERE case_code IS NOT NULL ORDER BY seq DESC LIMIT 1";
        let last: Option<(i64, String)> = self.ask(|database| {
            let row = |row: &Row| Ok((row.get(0)?, row.get(1)?));
            database.prepare_cached(sql)?.query_row([], row).optional()
        })?;
        last.map(|(seq, code)| self.case_code(seq, &code)).transpose()
    }

    /// Whether the journal has an entry of this case.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn knows_case(&self, case: &CaseCode) -> Result<bool, StoreError> {
        let sql = "SELECT 1 FROM journal WHERE case_code = ?1";
        self.ask(|database| database.prepare_cached(sql)?.exists([case.as_str()]))
    }

    fn case_code(&self, seq: i64, code: &str) -> Result<CaseCode, StoreError> {
        let bad = || self.damaged(format!("entry {seq}: {code:?} is not a case code"));
        CaseCode::parse(code).ok_or_else(bad)
    }

    /// Every case with its first and last entry's number, in the order in which they began.
    ///
    /// # Errors
    /// The journal can't be read, or a case code in it is damaged.
    pub fn case_codes(&self) -> Result<Vec<(CaseCode, u64, u64)>, StoreError> {
        let sql = "SELECT case_code, min(seq), max(seq) FROM journal WHERE case_code IS NOT NULL
                   GROUP BY case_code ORDER BY min(seq)";
        let rows: Vec<(String, i64, i64)> = self.ask(|database| {
            let row = |row: &Row| Ok((row.get(0)?, row.get(1)?, row.get(2)?));
            database.prepare_cached(sql)?.query_map([], row)?.collect()
        })?;
        let case = |(code, first, last): (String, i64, i64)| {
            Ok((self.case_code(first, &code)?, first as u64, last as u64))
        };
        rows.into_iter().map(case).collect()
    }

    /// Whether another program has written since this was last asked (own writes do not count). Where that
    /// can't be found out the answer is yes: reading the entries will then tell why.
    pub fn changed(&mut self) -> bool {
        let sql = "PRAGMA data_version";
        let now = self.ask(|database| database.prepare_cached(sql)?.query_row([], |row| row.get(0))).ok();
        let changed = now.is_none() || now != self.seen;
        self.seen = now;
        changed
    }

    pub(super) fn entries(&self, sql: &str, values: &[&dyn ToSql]) -> Result<Vec<Entry>, StoreError> {
        entries(&self.connection, &self.path, sql, values)
    }
}

/// Reads entries by a statement that gives number and body. No read stays open behind it: one that did would
/// let the log grow without end.
pub(super) fn entries(
    database: &Connection,
    path: &Path,
    sql: &str,
    values: &[&dyn ToSql],
) -> Result<Vec<Entry>, StoreError> {
    let failed = |error: rusqlite::Error| StoreError::from_database(path, &error);
    let mut statement = database.prepare_cached(sql).map_err(failed)?;
    let mut rows = statement.query(values).map_err(failed)?;
    let mut entries = Vec::new();
    while let Some(row) = rows.next().map_err(failed)? {
        let seq: i64 = row.get(0).map_err(failed)?;
        let read = || {
            let body: String = row.get(1).map_err(|error| error.to_string())?;
            let entry = Entry::from_body(&body).map_err(|error| error.to_string())?;
            match i64::try_from(entry.seq) {
                Ok(own) if own == seq => Ok(entry),
                _ => Err(format!("its body says that it is entry {}", entry.seq)),
            }
        };
        let damaged = |detail: String| StoreError::damaged(path, format!("entry {seq}: {detail}"));
        entries.push(read().map_err(damaged)?);
    }
    Ok(entries)
}

/// The last entry's number and hash.
pub(super) fn head(database: &Connection) -> rusqlite::Result<(u64, [u8; 32])> {
    let last = database
        .prepare_cached("SELECT seq, hash FROM journal ORDER BY seq DESC LIMIT 1")?
        .query_row([], |row| Ok((row.get::<_, i64>(0)? as u64, row.get::<_, [u8; 32]>(1)?)))
        .optional()?;
    Ok(last.unwrap_or((0, GENESIS)))
}

/// The hash of the entry with this number.
pub(super) fn hash_of(database: &Connection, seq: u64) -> rusqlite::Result<Option<[u8; 32]>> {
    let mut statement = database.prepare_cached("SELECT hash FROM journal WHERE seq = ?1")?;
    statement.query_row([number(seq)], |row| row.get(0)).optional()
}

/// Numbers above `i64::MAX` are never written, so that nothing is found by them or after them.
pub(super) fn number(seq: u64) -> i64 {
    i64::try_from(seq).unwrap_or(i64::MAX)
}
