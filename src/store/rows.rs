//! Looking over the journal by the kinds of its entries: only what is asked for is read.

#![allow(
    clippy::cast_sign_loss,
    reason = "SQLite's INTEGER has a sign, a number of entries has none and is far below 2^63"
)]

use super::read::number;
use super::{Store, StoreError};

/// An entry as it is stored. Its body is read when it is asked for: looking over the kinds alone is several times as
/// fast.
#[derive(Debug)]
pub struct Row<'a> {
    row: &'a rusqlite::Row<'a>,
    /// The entry's number, from 1.
    pub seq: u64,
}

impl Row<'_> {
    /// The kind of fact.
    ///
    /// # Errors
    /// It is not text.
    pub fn what(&self) -> Result<&str, String> {
        self.text(1)
    }

    /// The stored body.
    ///
    /// # Errors
    /// It can't be read, or is not text.
    pub fn body(&self) -> Result<&str, String> {
        self.text(2)
    }

    fn text(&self, column: usize) -> Result<&str, String> {
        let value = self.row.get_ref(column).map_err(|error| error.to_string())?;
        value.as_str().map_err(|error| error.to_string())
    }
}

impl Store {
    /// Hands over every entry of these kinds from the first number up to the second, both included, in order.
    ///
    /// # Errors
    /// The journal can't be read, or `each` says why an entry is damaged.
    pub fn each_of(
        &self,
        kinds: &[&str],
        (from, upto): (u64, u64),
        each: &mut dyn FnMut(&Row) -> Result<(), String>,
    ) -> Result<(), StoreError> {
        let failed = |error: rusqlite::Error| StoreError::from_database(&self.path, &error);
        let places = vec!["?"; kinds.len()].join(", ");
        let sql = format!(
            "SELECT seq, what, body FROM journal WHERE what IN ({places}) AND seq BETWEEN ? AND ? ORDER BY seq"
        );
        let (from, upto) = (number(from), number(upto));
        let mut values: Vec<&dyn rusqlite::ToSql> = kinds.iter().map(|kind| kind as _).collect();
        values.extend([&from as &dyn rusqlite::ToSql, &upto]);
        let mut statement = self.connection.prepare_cached(&sql).map_err(failed)?;
        let mut rows = statement.query(values.as_slice()).map_err(failed)?;
        while let Some(row) = rows.next().map_err(failed)? {
            let seq: i64 = row.get(0).map_err(failed)?;
            each(&Row { row, seq: seq as u64 })
                .map_err(|detail| self.damaged(format!("entry {seq}: {detail}")))?;
        }
        Ok(())
    }
}
