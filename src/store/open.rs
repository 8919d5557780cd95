//! A journal is looked at before it is touched: what is not ours, or newer than we are, stays as it is.

use super::files::{Files, PRIVATE, beside, sync_folder, writing};
use super::schema::{self, Format, TODAY};
use super::{Store, StoreError};
use rusqlite::{Connection, OpenFlags, TransactionBehavior, ffi};
use std::fs::File;
use std::io::Read;
use std::path::Path;
use std::time::Duration;

/// How long we wait for another program's commit before we say that the journal is locked.
pub const PATIENCE: Duration = Duration::from_secs(2);

/// What a look at a file found.
enum Look {
    /// Nothing in it yet: new, or its maker was killed before the first commit.
    Empty,
    Ours {
        version: i64,
    },
}

impl Store {
    /// Opens the journal for reading and writing; makes it, for its owner's eyes only, where there is none.
    /// The folder must be there.
    ///
    /// # Errors
    /// The file can't be read or written, is something else, is damaged, or is of a later version (then it is
    /// not touched); or the disk does not promise what `append` promises.
    pub fn open(path: &Path) -> Result<Store, StoreError> {
        Store::open_as(path, &TODAY)
    }

    pub(super) fn open_as(path: &Path, format: &Format) -> Result<Store, StoreError> {
        match create(path) {
            Ok(()) | Err(StoreError::Exists { .. }) => {}
            Err(error) => return Err(error),
        }
        let look = look(path, format)?;
        let mut store = Store::connected(path, false, Some(format.objects))?;
        store.promise_durability()?;
        match look {
            Look::Empty => store.furnish(format)?,
            Look::Ours { version } if version < format.version => store.migrate(version, format)?,
            Look::Ours { .. } => {}
        }
        store.check_guards()?;
        store.changed();
        store.files = Files::at(path);
        Ok(store)
    }

    /// Opens the journal for looking only: for a second monitor, or where the journal is damaged.
    ///
    /// Run it as the user who runs the room: it may leave SQLite's helper files beside the journal.
    ///
    /// # Errors
    /// There is no journal, it can't be read, is something else, or is of a later version.
    pub fn open_read_only(path: &Path) -> Result<Store, StoreError> {
        Store::look_as(path, &TODAY)
    }

    pub(super) fn look_as(path: &Path, format: &Format) -> Result<Store, StoreError> {
        match look(path, format)? {
            Look::Empty => Err(StoreError::Absent { path: path.to_path_buf() }),
            Look::Ours { version } => {
                let objects = (version == format.version).then_some(format.objects);
                let mut store = Store::connected(path, true, objects)?;
                store.changed();
                Ok(store)
            }
        }
    }

    /// A second connection to the same journal, for looking only: for a thread of its own.
    ///
    /// It does not look at the file's bytes as [`Store::open_read_only`] does. On Unix a process that opens and closes
    /// a file loses all its locks on it: another program could then take itself for the last one, and throw away the
    /// log into which this one still writes.
    ///
    /// # Errors
    /// The journal can't be opened.
    pub fn beside(&self) -> Result<Store, StoreError> {
        let mut store = Store::connected(&self.path, true, self.objects)?;
        store.changed();
        Ok(store)
    }

    /// Nothing is known yet of what stands in it.
    fn connected(
        path: &Path,
        read_only: bool,
        objects: Option<&'static [(&'static str, &'static str)]>,
    ) -> Result<Store, StoreError> {
        let flags =
            if read_only { OpenFlags::SQLITE_OPEN_READ_ONLY } else { OpenFlags::SQLITE_OPEN_READ_WRITE };
        Ok(Store {
            connection: connect(path, flags)?,
            path: path.to_path_buf(),
            read_only,
            seen: None,
            files: Files::default(),
            known: None,
            objects,
            put_back: None,
        })
    }

    /// Write-ahead log, and a sync at every commit. Both are read back: a file system may refuse the log, and
    /// without the sync a commit is thousands of times faster and lost with the power.
    fn promise_durability(&self) -> Result<(), StoreError> {
        let refuse = |what: &str| StoreError::cannot_write(&self.path, what);
        // A file that may not be written is opened for reading instead, without a word.
        if self.ask(|database| database.is_readonly("main"))? {
            return Err(refuse("the file is for reading only"));
        }
        let mode = self.patiently(|database| set_journal_mode(database, "WAL"))?;
        if mode != "wal" {
            return Err(refuse("this disk does not offer a write-ahead log"));
        }
        // On macOS a plain sync stops at the drive's own cache. The triggers are a second lock behind the guard on
        // INSERT, for this connection.
        if !crate::control::holds("synchronous-full") {
            let off = "PRAGMA synchronous = OFF; PRAGMA recursive_triggers = ON";
            self.ask(|database| database.execute_batch(off))?;
            return Ok(());
        }
        let set = "PRAGMA synchronous = FULL; PRAGMA fullfsync = ON; PRAGMA recursive_triggers = ON";
        let synchronous: i64 = self.ask(|database| {
            database.execute_batch(set)?;
            database.query_row("PRAGMA synchronous", [], |row| row.get(0))
        })?;
        if synchronous != 2 {
            return Err(refuse("this disk does not offer a sync at every commit"));
        }
        Ok(())
    }

    /// The switch to the log needs the file for itself for a moment and does not wait by itself.
    fn patiently<T>(&self, run: impl Fn(&Connection) -> rusqlite::Result<T>) -> Result<T, StoreError> {
        const PAUSE: Duration = Duration::from_millis(10);
        let mut tries = PATIENCE.as_millis() / PAUSE.as_millis();
        loop {
            match self.ask(&run) {
                Err(StoreError::Locked { .. }) if tries > 0 => {
                    tries -= 1;
                    std::thread::sleep(PAUSE);
                }
                result => return result,
            }
        }
    }

    fn furnish(&mut self, format: &Format) -> Result<(), StoreError> {
        let run = |connection: &mut Connection| -> rusqlite::Result<()> {
            let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let things: i64 =
                transaction.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
            // Another program may have been faster.
            if things == 0 {
                for (_, statement) in format.objects {
                    transaction.execute_batch(statement)?;
                }
                transaction.pragma_update(None, "application_id", schema::APPLICATION_ID)?;
                transaction.pragma_update(None, "user_version", format.version)?;
            }
            transaction.commit()
        };
        run(&mut self.connection).map_err(|error| StoreError::from_database(&self.path, &error))
    }

    fn check_guards(&self) -> Result<(), StoreError> {
        self.compare_objects()?.map_err(|message| self.damaged(message))
    }
}

/// Sets the journal mode and gives the one that is in force. The change is committed when the statement ends, after
/// its answer, so it is read to its end: else an error of that commit is never seen.
pub(super) fn set_journal_mode(connection: &Connection, mode: &str) -> rusqlite::Result<String> {
    let mut statement = connection.prepare(&format!("PRAGMA journal_mode = {mode}"))?;
    let mut rows = statement.query([])?;
    let mut in_force = String::new();
    while let Some(row) = rows.next()? {
        in_force = row.get(0)?;
    }
    Ok(in_force)
}

/// Makes the empty file first, by ourselves: SQLite's helper files take its mode, and SQLite's own choice lets
/// others read it.
pub(super) fn create(path: &Path) -> Result<(), StoreError> {
    let made = writing(PRIVATE).create_new(true).open(path).and_then(|file| file.sync_all());
    made.and_then(|()| sync_folder(path)).map_err(|error| StoreError::from_creating(path, &error))
}

fn connect(path: &Path, access: OpenFlags) -> Result<Connection, StoreError> {
    let failed = |error: rusqlite::Error| StoreError::from_database(path, &error);
    let connection =
        Connection::open_with_flags(path, access | OpenFlags::SQLITE_OPEN_NO_MUTEX).map_err(failed)?;
    connection
        .busy_timeout(if crate::control::holds("writers-wait") { PATIENCE } else { Duration::ZERO })
        .map_err(failed)?;
    Ok(connection)
}

/// Looks without writing: first at the bytes of the file's header (its format is published with SQLite: magic,
/// user version at byte 60, application id at byte 68), then, as the newest values may still be in the log,
/// through a connection that can't write.
fn look(path: &Path, format: &Format) -> Result<Look, StoreError> {
    let unreadable = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => StoreError::Absent { path: path.to_path_buf() },
        _ => StoreError::CannotRead { path: path.to_path_buf(), detail: error.to_string() },
    };
    let file = File::open(path).map_err(unreadable)?;
    if !file.metadata().map_err(unreadable)?.is_file() {
        return Err(StoreError::not_a_journal(path, "it is not a plain file"));
    }
    let mut header = Vec::with_capacity(100);
    file.take(100).read_to_end(&mut header).map_err(unreadable)?;
    if header.is_empty() {
        return Ok(Look::Empty);
    }
    if header.len() < 100 || !header.starts_with(b"SQLite format 3\0") {
        return Err(StoreError::not_a_journal(path, "its first bytes are those of something else"));
    }
    let number = |at: usize| {
        i64::from(i32::from_be_bytes([header[at], header[at + 1], header[at + 2], header[at + 3]]))
    };
    // Zero in both: the real values may not have left the log yet.
    if number(68) != 0 || number(60) != 0 {
        weigh(path, number(68), number(60), format)?;
    }

    let connection = connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let ask = |sql: &str| -> Result<i64, StoreError> {
        connection
            .query_row(sql, [], |row| row.get(0))
            .map_err(|error| StoreError::from_database(path, &error))
    };
    let things = match connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0)) {
        Ok(things) => things,
        // A write that was cut short before the log was used has to be rolled back, and a look can't do that.
        Err(error) if error.sqlite_extended_error_code() == Some(ffi::SQLITE_READONLY_ROLLBACK) => {
            return match number(68) {
                schema::APPLICATION_ID => Ok(Look::Ours { version: number(60) }),
                _ if began_empty(path) => Ok(Look::Empty),
                _ => Err(StoreError::not_a_journal(
                    path,
                    "it is another program's database, in the middle of a write",
                )),
            };
        }
        Err(error) => return Err(StoreError::from_database(path, &error)),
    };
    let things: i64 = things;
    let (application, version) = (ask("PRAGMA application_id")?, ask("PRAGMA user_version")?);
    if things == 0 && application == 0 && version == 0 {
        return Ok(Look::Empty);
    }
    weigh(path, application, version, format)?;
    Ok(Look::Ours { version })
}

/// Whether the write that was cut short was the first one: the rollback journal says at byte 16 how many pages there
/// were before (its format is published with SQLite).
fn began_empty(path: &Path) -> bool {
    let mut header = Vec::with_capacity(20);
    let read = File::open(beside(path, "-journal")).and_then(|file| file.take(20).read_to_end(&mut header));
    read.is_ok() && header.get(16..20) == Some(&[0; 4])
}

fn weigh(path: &Path, application: i64, version: i64, format: &Format) -> Result<(), StoreError> {
    if application != schema::APPLICATION_ID {
        return Err(StoreError::not_a_journal(path, "it is another program's database"));
    }
    match version {
        version
            if !crate::control::holds("later-version-refused") || (1..=format.version).contains(&version) =>
        {
            Ok(())
        }
        version if version > format.version => Err(StoreError::Newer { path: path.into(), version }),
        version => Err(StoreError::damaged(path, format!("format {version} was never written by boxcall"))),
    }
}
