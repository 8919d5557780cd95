//! A copy of the journal in one file.

use super::files::beside;
use super::open::{PATIENCE, create, set_journal_mode};
use super::{Store, StoreError};
use crate::units::counted;
use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags};
use std::path::Path;

impl Store {
    /// Copies the journal into a new file, for its owner's eyes only, and verifies the copy. (A copy of the
    /// file alone, by other means, lacks whatever is still in the log beside it.)
    ///
    /// # Errors
    /// A file of that name is already there (it is not touched); the copy can't be written, or does not hold.
    /// A copy that failed is taken away again.
    pub fn backup(&self, to: &Path) -> Result<(), StoreError> {
        create(to)?;
        let result = self.copy(to);
        if crate::control::holds("failed-backup-removed") && result.is_err() {
            // The first error is the one to tell; that the useless copy stays is the lesser evil.
            for suffix in ["", "-journal", "-wal", "-shm"] {
                let _ = std::fs::remove_file(beside(to, suffix));
            }
        }
        result
    }

    fn copy(&self, to: &Path) -> Result<(), StoreError> {
        let failed = |error: rusqlite::Error| StoreError::from_database(to, &error);
        let least = self.last_seq()?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut target = Connection::open_with_flags(to, flags).map_err(failed)?;
        self.set_patience(PATIENCE)?;
        {
            let backup = Backup::new(&self.connection, &mut target).map_err(failed)?;
            // All pages in one step: a commit between two steps would start the copy afresh.
            match backup.step(-1).map_err(failed)? {
                StepResult::Done => {}
                StepResult::Busy | StepResult::Locked => {
                    return Err(StoreError::Locked { path: self.path.clone() });
                }
                _ => {
                    return Err(StoreError::cannot_write(to, "the copy ended before its last page"));
                }
            }
        }
        // Without a log the copy is one file, and can be read where nothing can be written.
        let mode = set_journal_mode(&target, "DELETE").map_err(failed)?;
        target.close().map_err(|(_, error)| failed(error))?;
        if mode != "delete" || ["-journal", "-wal"].iter().any(|suffix| beside(to, suffix).exists()) {
            return Err(StoreError::cannot_write(to, "its last write did not come to an end"));
        }
        std::fs::File::open(to)
            .and_then(|file| file.sync_all())
            .map_err(|error| StoreError::from_creating(to, &error))?;

        let damaged = |detail: String| StoreError::damaged(to, detail);
        let verified = Store::open_read_only(to)?
            .verify(&mut |_| {})
            .map_err(|broken| damaged(format!("the copy does not hold: {broken}")))?;
        if verified.entries < least {
            return Err(damaged(format!("the copy has {} of {}", verified.entries, counted(least, "entry"))));
        }
        Ok(())
    }
}
