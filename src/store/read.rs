//! Reading entries back.

use super::{Store, StoreError};
use crate::journal::chain::{GENESIS, Link};
use crate::journal::{CaseCode, Entry};
use chrono::DateTime;
use rusqlite::{Connection, OptionalExtension, ToSql, Transaction};
use std::path::Path;

pub(super) const OF_COMMAND: &str = "SELECT seq, body FROM journal WHERE command = ?1 ORDER BY part";
const AFTER: &str = "SELECT seq, body FROM journal WHERE seq > ?1 ORDER BY seq";
const OF_CASE: &str = "SELECT seq, body FROM journal WHERE case_code = ?1 ORDER BY seq";
/// Of the room, by the index on cases.
pub(super) const STRIKES_OF_ROOM: &str =
    "SELECT seq, body FROM journal WHERE case_code IS NULL AND what = 'struck-out' ORDER BY seq";
const OF_ROOM: &str = "SELECT seq, body FROM journal WHERE case_code IS NULL ORDER BY seq";

impl Store {
    /// Every entry with a number above `seq`, in order; all of them for 0.
    ///
    /// # Errors
    /// The journal can't be read, or an entry in it is damaged.
    pub fn entries_after(&self, seq: u64) -> Result<Vec<Entry>, StoreError> {
        // Numbers above i64::MAX are never written, so that nothing comes after them is right.
        let seq = i64::try_from(seq).unwrap_or(i64::MAX);
        self.entries(AFTER, &[&seq])
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
            entries.extend(self.entries(STRIKES_OF_ROOM, &[])?);
            entries.sort_by_key(|entry| entry.seq);
        }
        Ok(entries)
    }

    /// Every case in the order of the clocks by which they began, and of their first entries.
    ///
    /// # Errors
    /// The journal can't be read, or a case code or a time in it is damaged.
    pub fn cases_by_clock(&self) -> Result<Vec<CaseCode>, StoreError> {
        let failed = |error: rusqlite::Error| self.error(&error);
        let mut begun = Vec::new();
        let mut statement =
            self.connection.prepare_cached("SELECT at FROM journal WHERE seq = ?1").map_err(failed)?;
        for (code, first, _) in self.case_codes()? {
            let at: String = statement.query_row([first as i64], |row| row.get(0)).map_err(failed)?;
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
        let failed = |error: rusqlite::Error| self.error(&error);
        let sql = "SELECT seq, prev, hash, body FROM journal WHERE case_code = ?1 ORDER BY seq";
        let mut statement = self.connection.prepare_cached(sql).map_err(failed)?;
        let rows = statement
            .query_map([case.as_str()], |row| {
                let seq: i64 = row.get(0)?;
                Ok(Link { seq: seq as u64, previous: row.get(1)?, hash: row.get(2)?, body: row.get(3)? })
            })
            .map_err(failed)?;
        rows.map(|row| row.map_err(failed)).collect()
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
        let transaction = self.connection.unchecked_transaction().map_err(|error| self.error(&error))?;
        head(&transaction).map_err(|error| self.error(&error))
    }

    /// The hash of the entry with this number; none where there is no such entry.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn hash_of(&self, seq: u64) -> Result<Option<[u8; 32]>, StoreError> {
        let failed = |error: rusqlite::Error| self.error(&error);
        let mut statement =
            self.connection.prepare_cached("SELECT hash FROM journal WHERE seq = ?1").map_err(failed)?;
        let mut rows = statement.query([i64::try_from(seq).unwrap_or(i64::MAX)]).map_err(failed)?;
        rows.next().map_err(failed)?.map(|row| row.get(0).map_err(failed)).transpose()
    }

    /// The case that was written to last; none where no case was begun.
    ///
    /// # Errors
    /// The journal can't be read, or the case code in it is damaged.
    pub fn last_case(&self) -> Result<Option<CaseCode>, StoreError> {
        self.case_code(
            "SELECT case_code FROM journal WHERE case_code IS NOT NULL ORDER BY seq DESC LIMIT 1",
            &[],
        )
    }

    /// Whether the journal has an entry of this case.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn knows_case(&self, case: &CaseCode) -> Result<bool, StoreError> {
        let sql = "SELECT case_code FROM journal WHERE case_code = ?1 LIMIT 1";
        Ok(self.case_code(sql, &[&case.as_str()])?.is_some())
    }

    fn case_code(&self, sql: &str, values: &[&dyn ToSql]) -> Result<Option<CaseCode>, StoreError> {
        let failed = |error: rusqlite::Error| self.error(&error);
        let mut statement = self.connection.prepare_cached(sql).map_err(failed)?;
        let code: Option<String> =
            statement.query_row(values, |row| row.get(0)).optional().map_err(failed)?;
        let bad = |code: &str| self.damaged(format!("{code:?} is not a case code"));
        code.map(|code| CaseCode::parse(&code).ok_or_else(|| bad(&code))).transpose()
    }

    /// Every case with its first and last entry's number, in the order in which they began.
    ///
    /// # Errors
    /// The journal can't be read, or a case code in it is damaged.
    pub fn case_codes(&self) -> Result<Vec<(CaseCode, u64, u64)>, StoreError> {
        let failed = |error: rusqlite::Error| self.error(&error);
        let mut statement = self
            .connection
            .prepare_cached(
                "SELECT case_code, min(seq), max(seq) FROM journal WHERE case_code IS NOT NULL
                 GROUP BY case_code ORDER BY min(seq)",
            )
            .map_err(failed)?;
        let rows = statement
            .query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, i64>(1)?, row.get::<_, i64>(2)?)))
            .map_err(failed)?;
        rows.map(|row| {
            let (code, first, last) = row.map_err(failed)?;
            let case = CaseCode::parse(&code)
                .ok_or_else(|| self.damaged(format!("entry {first}: {code:?} is not a case code")))?;
            Ok((case, first as u64, last as u64))
        })
        .collect()
    }

    /// Whether another program has written since this was last asked (own writes do not count). Where that
    /// can't be found out the answer is yes: reading the entries will then tell why.
    pub fn changed(&mut self) -> bool {
        let now = self
            .connection
            .prepare_cached("PRAGMA data_version")
            .and_then(|mut statement| statement.query_row([], |row| row.get::<_, i64>(0)))
            .ok();
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
    connection: &Connection,
    path: &Path,
    sql: &str,
    values: &[&dyn ToSql],
) -> Result<Vec<Entry>, StoreError> {
    let failed = |error: rusqlite::Error| StoreError::from_database(path, &error);
    let mut statement = connection.prepare_cached(sql).map_err(failed)?;
    let mut rows = statement.query(values).map_err(failed)?;
    let mut entries = Vec::new();
    while let Some(row) = rows.next().map_err(failed)? {
        let seq: i64 = row.get(0).map_err(failed)?;
        let damaged = |detail: String| StoreError::Damaged {
            path: path.to_path_buf(),
            detail: format!("entry {seq}: {detail}"),
        };
        let body: String = row.get(1).map_err(|error| damaged(error.to_string()))?;
        let entry = Entry::from_body(&body).map_err(|error| damaged(error.to_string()))?;
        if i64::try_from(entry.seq) != Ok(seq) {
            return Err(damaged(format!("its body says that it is entry {}", entry.seq)));
        }
        entries.push(entry);
    }
    Ok(entries)
}

/// The last entry's number and hash.
pub(super) fn head(transaction: &Transaction) -> rusqlite::Result<(u64, [u8; 32])> {
    let last = transaction
        .prepare_cached("SELECT seq, hash FROM journal ORDER BY seq DESC LIMIT 1")?
        .query_row([], |row| Ok((row.get::<_, i64>(0)? as u64, row.get::<_, [u8; 32]>(1)?)))
        .optional()?;
    Ok(last.unwrap_or((0, GENESIS)))
}
