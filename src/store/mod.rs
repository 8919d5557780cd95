//! The journal on disk.
//!
//! Invariant: the only module that names SQLite. It appends and reads entries; it folds nothing and judges
//! nothing. Nothing that was written is changed, and `append` returns only when the entries are on the disk.

mod backup;
mod error;
pub mod files;
mod indexes;
mod mark;
mod migrate;
mod open;
mod place;
mod read;
mod rows;
mod schema;
mod trace;
mod verify;
mod write;

pub use error::{Broken, StoreError};
pub use mark::Mark;
pub use open::PATIENCE;
pub use rows::Row;
pub use trace::{Field, Sought};
pub use verify::Verified;
pub use write::{Appended, Stamp};

use rusqlite::Connection;
use std::path::PathBuf;

/// The version of SQLite that is built in.
pub fn sqlite_version() -> &'static str {
    rusqlite::version()
}

/// One journal file, opened.
#[derive(Debug)]
pub struct Store {
    connection: Connection,
    path: PathBuf,
    read_only: bool,
    /// The database's own count of other programs' commits, as last seen.
    seen: Option<i64>,
    /// The files that were opened, by which they are known again.
    files: files::Files,
    /// The last entry that was written here, and its hash.
    known: Option<(u64, [u8; 32])>,
    /// What the file should hold; none for one of an earlier format.
    objects: Option<&'static [(&'static str, &'static str)]>,
    /// The copy of it that was put back in its place and could not be opened there yet.
    put_back: files::Identity,
}

impl Store {
    /// Opened for looking only.
    pub const fn is_read_only(&self) -> bool {
        self.read_only
    }

    /// How long a write waits for another program's commit; two seconds where nothing else was asked for.
    ///
    /// # Errors
    /// The database refuses it.
    pub fn set_patience(&self, patience: std::time::Duration) -> Result<(), StoreError> {
        self.ask(|database| database.busy_timeout(patience))
    }

    /// Asks the database, and says of which file it is what it refuses.
    fn ask<T>(&self, ask: impl FnOnce(&Connection) -> rusqlite::Result<T>) -> Result<T, StoreError> {
        ask(&self.connection).map_err(|error| StoreError::from_database(&self.path, &error))
    }

    fn damaged(&self, detail: impl Into<String>) -> StoreError {
        StoreError::damaged(&self.path, detail)
    }
}

#[cfg(test)]
mod tests;
