//! Whether the indexes say what the table says: an entry that is in the table and not in its index is not found.

use super::{Broken, Store};
use rusqlite::types::ValueRef;
use std::hash::{DefaultHasher, Hash, Hasher};

/// Statement, name and columns of each index, in its own order; the last column is the entry's number.
const INDEXES: [(&str, &str, usize); 3] = [
    ("SELECT case_code, seq FROM journal INDEXED BY journal_by_case", "journal_by_case", 1),
    ("SELECT hash, seq FROM journal INDEXED BY sqlite_autoindex_journal_1", "sqlite_autoindex_journal_1", 1),
    (
        "SELECT command, part, seq FROM journal INDEXED BY sqlite_autoindex_journal_2",
        "sqlite_autoindex_journal_2",
        2,
    ),
];

/// For each index the sum of its rows' digests, whatever their order.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Sums([u64; 3]);

impl Sums {
    /// Takes in an entry of the table.
    pub(super) fn take(&mut self, seq: i64, case: Option<&str>, hash: &[u8], command: &str, part: i64) {
        let case = case.map_or(ValueRef::Null, |case| ValueRef::Text(case.as_bytes()));
        let command = ValueRef::Text(command.as_bytes());
        let rows = [
            digest(&[case], seq),
            digest(&[ValueRef::Blob(hash)], seq),
            digest(&[command, ValueRef::Integer(part)], seq),
        ];
        for (sum, row) in self.0.iter_mut().zip(rows) {
            *sum = sum.wrapping_add(row);
        }
    }

    pub(super) fn add(&mut self, other: &Sums) {
        for (sum, other) in self.0.iter_mut().zip(other.0) {
            *sum = sum.wrapping_add(other);
        }
    }
}

fn digest(key: &[ValueRef], seq: i64) -> u64 {
    let mut hasher = DefaultHasher::new();
    for value in key {
        match value {
            ValueRef::Null => 0u8.hash(&mut hasher),
            ValueRef::Integer(number) => (1u8, number).hash(&mut hasher),
            ValueRef::Text(bytes) => (2u8, bytes).hash(&mut hasher),
            ValueRef::Blob(bytes) => (3u8, bytes).hash(&mut hasher),
            // No column of the journal has one.
            ValueRef::Real(number) => (4u8, number.to_bits()).hash(&mut hasher),
        }
    }
    seq.hash(&mut hasher);
    hasher.finish()
}

impl Store {
    /// Compares each index with the first `entries` entries of the table, of which these are the sums, and checks that
    /// its rows are in order: a search relies on that.
    pub(super) fn indexes_hold(&self, Sums(sums): &Sums, entries: u64) -> Result<(), Broken> {
        for ((sql, name, keys), sum) in INDEXES.into_iter().zip(sums) {
            let ruined = |what: &str| Broken {
                seq: 0,
                message: format!("the index {name} {what}: entries may not be found by it"),
            };
            let found = self.sum_of(sql, keys, entries).map_err(|error| ruined(&error.to_string()))?;
            match found {
                None => return Err(ruined("is out of order")),
                Some(found) if found != *sum => return Err(ruined("does not agree with the entries")),
                Some(_) => {}
            }
        }
        Ok(())
    }

    /// The sum over an index; none where its rows are out of order. Entries that were added meanwhile do not count.
    fn sum_of(&self, sql: &str, keys: usize, entries: u64) -> rusqlite::Result<Option<u64>> {
        let mut statement = self.connection.prepare_cached(sql)?;
        let mut rows = statement.query([])?;
        let (mut sum, mut last) = (0u64, Vec::new());
        while let Some(row) = rows.next()? {
            let seq: i64 = row.get(keys)?;
            let mut key = Vec::with_capacity(keys);
            for column in 0..keys {
                key.push(row.get_ref(column)?);
            }
            if u64::try_from(seq).is_ok_and(|seq| seq <= entries) {
                sum = sum.wrapping_add(digest(&key, seq));
            }
            let place: Vec<Place> = key.into_iter().chain([ValueRef::Integer(seq)]).map(Place::of).collect();
            if last > place {
                return Ok(None);
            }
            last = place;
        }
        Ok(Some(sum))
    }
}

/// A value as SQLite orders it (binary collation).
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Place {
    Null,
    Integer(i64),
    Text(Vec<u8>),
    Blob(Vec<u8>),
}

impl Place {
    fn of(value: ValueRef) -> Place {
        match value {
            ValueRef::Null | ValueRef::Real(_) => Place::Null,
            ValueRef::Integer(number) => Place::Integer(number),
            ValueRef::Text(bytes) => Place::Text(bytes.to_vec()),
            ValueRef::Blob(bytes) => Place::Blob(bytes.to_vec()),
        }
    }
}
