//! The journal on disk.
//!
//! Invariant: the only room that names SQLite. It appends and reads entries; it folds nothing and judges
//! nothing. Nothing that was written is changed, and `append` returns only when the entries are on the disk.

mod backup;
mod error;
mod mark;
mod open;
mod read;
mod rows;
mod schema;
mod trace;
mod verify;
mod write;

pub use error::StoreError;
pub use mark::Mark;
pub use rows::Row;
pub use trace::{Field, Sought};
pub use verify::{Broken, Verified};

use rusqlite::Connection;
use std::path::{Path, PathBuf};

/// One journal file, opened.
#[derive(Debug)]
pub struct Store {
    connection: Connection,
    path: PathBuf,
    read_only: bool,
    /// The database's own count of other programs' commits, as last seen.
    seen: Option<i64>,
}

impl Store {
    /// Where the journal lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Opened for looking only.
    pub const fn is_read_only(&self) -> bool {
        self.read_only
    }

    fn error(&self, error: &rusqlite::Error) -> StoreError {
        StoreError::from_database(&self.path, error)
    }

    fn damaged(&self, detail: impl Into<String>) -> StoreError {
        StoreError::Damaged { path: self.path.clone(), detail: detail.into() }
    }
}

#[cfg(test)]
mod tests;
