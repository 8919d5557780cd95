//! From the format of an earlier version to today's, step by step, in one commit: all of it, or none.
//!
//! A step adds; it takes nothing away and changes no entry, so that an earlier format can be read for looking without
//! being touched. Before the first step the journal is copied beside its place, for the version that wrote it.

use super::files::beside;
use super::schema::Format;
use super::{Store, StoreError};
use rusqlite::TransactionBehavior;

impl Store {
    /// Brings a journal of an earlier version to this format.
    ///
    /// # Errors
    /// The copy or a step can't be written: the journal is as it was.
    pub(super) fn migrate(&mut self, found: i64, format: &Format) -> Result<(), StoreError> {
        let copy = beside(&self.path, &format!(".format-{found}"));
        match if crate::control::holds("copy-before-migration") { self.backup(&copy) } else { Ok(()) } {
            // Of an earlier try, which came no further: a journal of that format takes no entries meanwhile.
            Ok(()) | Err(StoreError::Exists { .. }) => {}
            Err(error) => return Err(error),
        }
        let path = &self.path;
        let failed = |error: rusqlite::Error| StoreError::from_writing(path, &error);
        let transaction =
            self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        // Another program may have been faster.
        let mut version: i64 =
            transaction.query_row("PRAGMA user_version", [], |row| row.get(0)).map_err(failed)?;
        while version < format.version {
            let step = format.steps.iter().find(|step| step.from == version).ok_or_else(|| {
                StoreError::damaged(path, format!("no step leads on from format {version}"))
            })?;
            transaction.execute_batch(step.statements).map_err(failed)?;
            version += 1;
        }
        transaction.pragma_update(None, "user_version", version).map_err(failed)?;
        transaction.commit().map_err(failed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::journal::Fact;
    use crate::store::Stamp;
    use crate::store::schema::{self, Step, TODAY};
    use rusqlite::Connection;
    use std::path::{Path, PathBuf};

    const NOTES: &str = "CREATE TABLE notes(seq INTEGER PRIMARY KEY, text TEXT NOT NULL) STRICT";
    const BY_NOTE: &str = "CREATE INDEX notes_by_text ON notes(text)";

    /// A format that is to come: two steps after today's.
    static LATER: Format = Format {
        version: schema::VERSION + 2,
        objects: &[
            schema::OBJECTS[0],
            schema::OBJECTS[1],
            schema::OBJECTS[2],
            schema::OBJECTS[3],
            schema::OBJECTS[4],
            ("notes", NOTES),
            ("notes_by_text", BY_NOTE),
        ],
        steps: &[
            Step { from: schema::VERSION, statements: NOTES },
            Step { from: schema::VERSION + 1, statements: BY_NOTE },
        ],
    };

    /// The same, but its second step can't be done.
    static BROKEN: Format = Format {
        version: LATER.version,
        objects: LATER.objects,
        steps: &[
            Step { from: schema::VERSION, statements: NOTES },
            Step { from: schema::VERSION + 1, statements: "CREATE INDEX notes_by_text ON herons(text)" },
        ],
    };

    fn noon() -> chrono::DateTime<chrono::FixedOffset> {
        "2026-02-03T12:00:00+01:00".parse().unwrap()
    }

    fn written(folder: &Path) -> PathBuf {
        let path = folder.join("journal.db");
        let mut store = Store::open(&path).unwrap();
        for n in 0..5 {
            store.append(&Stamp::new(format!("n-{n}"), noon()), None, &[Fact::CaseBegun]).unwrap();
        }
        path
    }

    fn version(path: &Path) -> i64 {
        let stranger = Connection::open(path).unwrap();
        let said: String = stranger.query_row("PRAGMA integrity_check", [], |row| row.get(0)).unwrap();
        assert_eq!(said, "ok");
        stranger.query_row("PRAGMA user_version", [], |row| row.get(0)).unwrap()
    }

    #[test]
    fn an_earlier_format_comes_to_the_later_one_step_by_step_and_keeps_every_entry() {
        let folder = tempfile::tempdir().unwrap();
        let path = written(folder.path());
        let before = Store::open(&path).unwrap().entries_after(0).unwrap();
        let mut store = Store::open_as(&path, &LATER).unwrap();
        assert_eq!(store.entries_after(0).unwrap(), before);
        assert_eq!(store.verify(&mut |_| {}).unwrap().entries, 5);
        store.append(&Stamp::new("later", noon()), None, &[Fact::CaseBegun]).unwrap();
        drop(store);
        assert_eq!(version(&path), LATER.version);
        drop(Store::open_as(&path, &LATER).unwrap());
        // The version before refuses it from now on, and finds what it can read beside it.
        let now = std::fs::read(&path).unwrap();
        assert!(matches!(Store::open(&path), Err(StoreError::Newer { version: 3, .. })));
        assert_eq!(std::fs::read(&path).unwrap(), now, "refused untouched");
        let copy = folder.path().join("journal.db.format-1");
        let copy = Store::open(&copy).unwrap();
        assert_eq!(copy.entries_after(0).unwrap(), before);
    }

    #[test]
    fn a_step_that_fails_leaves_the_journal_as_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let path = written(folder.path());
        assert!(Store::open_as(&path, &BROKEN).is_err());
        assert_eq!(version(&path), schema::VERSION, "not half way");
        let mut store = Store::open(&path).unwrap();
        store.append(&Stamp::new("on", noon()), None, &[Fact::CaseBegun]).unwrap();
        assert_eq!(store.verify(&mut |_| {}).unwrap().entries, 6);
    }

    #[test]
    fn a_format_without_a_step_that_leads_on_is_refused() {
        static GAP: Format = Format { version: 3, objects: LATER.objects, steps: &[] };
        let folder = tempfile::tempdir().unwrap();
        let path = written(folder.path());
        let error = Store::open_as(&path, &GAP).unwrap_err();
        assert!(error.to_string().contains("no step leads on from format 1"), "{error}");
        assert_eq!(version(&path), schema::VERSION);
    }

    #[test]
    fn a_look_at_an_earlier_format_changes_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let path = written(folder.path());
        let before = std::fs::read(&path).unwrap();
        let store = Store::look_as(&path, &LATER).unwrap();
        assert_eq!(store.verify(&mut |_| {}).unwrap().entries, 5);
        drop(store);
        assert_eq!(std::fs::read(&path).unwrap(), before);
    }

    #[test]
    fn every_earlier_version_leads_on_to_today() {
        let steps: Vec<i64> = TODAY.steps.iter().map(|step| step.from).collect();
        assert_eq!(steps, (1..schema::VERSION).collect::<Vec<_>>(), "one step for each earlier version");
    }
}
