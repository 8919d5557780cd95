//! What can go wrong with a journal on disk: what, where, and what to do about it.

use rusqlite::ffi;
use std::fmt;
use std::path::{Path, PathBuf};

/// Why the journal could not be opened, read or written. Whatever it is: after an error from `append`
/// nothing of that command was written. `path` is the file that it is about, `detail` the reason in words.
#[derive(Debug, Clone, PartialEq, Eq)]
#[expect(missing_docs, reason = "`path` and `detail` mean the same in every variant")]
pub enum StoreError {
    /// There is no file of that name, and this way of opening creates none.
    Absent { path: PathBuf },
    /// A new file was to be made, and one of that name is already there.
    Exists { path: PathBuf },
    /// The file or its folder can't be read or opened.
    CannotRead { path: PathBuf, detail: String },
    /// The file or its folder can't be written, or it was opened for looking only.
    CannotWrite { path: PathBuf, detail: String },
    /// No room left on the disk, or a limit on the size of files was reached.
    DiskFull { path: PathBuf },
    /// Another program held the journal for longer than we wait.
    Locked { path: PathBuf },
    /// The file is something else.
    NotAJournal { path: PathBuf, detail: String },
    /// The file was a journal of ours and is broken.
    Damaged { path: PathBuf, detail: String },
    /// The file was written by a later version of boxcall.
    Newer {
        path: PathBuf,
        /// Its format's number, above the one that this version knows.
        version: i64,
    },
    /// The file, or one of SQLite's beside it, was deleted, moved or replaced while it was open.
    Gone {
        path: PathBuf,
        /// Another journal lies in its place.
        replaced: bool,
    },
    /// These facts can't be appended: they would not read back, or the journal's guards refused them.
    NotAppendable { path: PathBuf, detail: String },
}

impl StoreError {
    /// A word for other programs, for the `code` of an error in JSON.
    pub const fn code(&self) -> &'static str {
        match self {
            StoreError::Absent { .. } => "journal-absent",
            StoreError::Exists { .. } => "file-exists",
            StoreError::CannotRead { .. } => "cannot-read",
            StoreError::CannotWrite { .. } => "cannot-write",
            StoreError::DiskFull { .. } => "disk-full",
            StoreError::Locked { .. } => "journal-locked",
            StoreError::NotAJournal { .. } => "not-a-journal",
            StoreError::Damaged { .. } => "journal-damaged",
            StoreError::Newer { .. } => "journal-newer",
            StoreError::Gone { .. } => "journal-gone",
            StoreError::NotAppendable { .. } => "not-appendable",
        }
    }

    /// True: the fault lies in the file or in what was asked (exit status 2). False: it could not be read or
    /// written (exit status 3).
    pub const fn is_fault(&self) -> bool {
        match self {
            StoreError::Absent { .. }
            | StoreError::CannotRead { .. }
            | StoreError::CannotWrite { .. }
            | StoreError::DiskFull { .. }
            | StoreError::Gone { .. }
            | StoreError::Locked { .. } => false,
            StoreError::Exists { .. }
            | StoreError::NotAJournal { .. }
            | StoreError::Damaged { .. }
            | StoreError::Newer { .. }
            | StoreError::NotAppendable { .. } => true,
        }
    }

    /// What the database's own error means for us.
    pub(super) fn from_database(path: &Path, error: &rusqlite::Error) -> Self {
        let path = path.to_path_buf();
        let Some(failure) = error.sqlite_error() else {
            // Not the database's own: a stored value of another kind than the schema promises.
            return StoreError::Damaged { path, detail: error.to_string() };
        };
        let detail = match failure.extended_code {
            // The index of the log is made for reading as well.
            ffi::SQLITE_IOERR_SHMSIZE => "the disk is full: make room on it, then try again".to_string(),
            code => format!("{error} (SQLite code {code})"),
        };
        if failure.extended_code == ffi::SQLITE_IOERR_WRITE {
            return StoreError::DiskFull { path };
        }
        match failure.extended_code & 0xff {
            ffi::SQLITE_FULL => StoreError::DiskFull { path },
            ffi::SQLITE_BUSY | ffi::SQLITE_LOCKED => StoreError::Locked { path },
            ffi::SQLITE_NOTADB => StoreError::NotAJournal { path, detail },
            ffi::SQLITE_READONLY | ffi::SQLITE_PERM => StoreError::CannotWrite { path, detail },
            ffi::SQLITE_CONSTRAINT | ffi::SQLITE_TOOBIG | ffi::SQLITE_MISMATCH => {
                StoreError::NotAppendable { path, detail }
            }
            ffi::SQLITE_CORRUPT | ffi::SQLITE_ERROR | ffi::SQLITE_FORMAT => {
                StoreError::Damaged { path, detail }
            }
            _ => StoreError::CannotRead { path, detail },
        }
    }

    /// What the database's own error means while something was to be written.
    pub(super) fn from_writing(path: &Path, error: &rusqlite::Error) -> Self {
        if error.sqlite_extended_error_code() == Some(ffi::SQLITE_IOERR_SHMSIZE) {
            return StoreError::DiskFull { path: path.to_path_buf() };
        }
        match Self::from_database(path, error) {
            // Whatever stood in the way, it was a write.
            StoreError::CannotRead { path, detail } => StoreError::CannotWrite { path, detail },
            other => other,
        }
    }

    /// What the file system's error means, while a file was being made.
    pub(super) fn from_creating(path: &Path, error: &std::io::Error) -> Self {
        let path = path.to_path_buf();
        match error.kind() {
            std::io::ErrorKind::AlreadyExists => StoreError::Exists { path },
            std::io::ErrorKind::StorageFull | std::io::ErrorKind::FileTooLarge => {
                StoreError::DiskFull { path }
            }
            _ => StoreError::CannotWrite { path, detail: error.to_string() },
        }
    }
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            StoreError::Absent { path } => {
                write!(f, "{}: there is no journal. Is this the right room?", path.display())
            }
            StoreError::Exists { path } => {
                write!(f, "{}: there is already a file of that name. Choose another name.", path.display())
            }
            StoreError::CannotRead { path, detail } => write!(
                f,
                "{}: can't be read: {detail}. Check that the folder is there, is yours, and lies on a local disk.",
                path.display()
            ),
            StoreError::CannotWrite { path, detail } => write!(
                f,
                "{}: can't be written: {detail}. Check that the folder is there and that you may write in it.",
                path.display()
            ),
            StoreError::DiskFull { path } => write!(
                f,
                "{}: NOT SAVED, the disk is full. Make room on it, then try again; what was saved before is safe.",
                path.display()
            ),
            StoreError::Locked { path } => write!(
                f,
                "{}: another program holds the journal. Close it there, then try again.",
                path.display()
            ),
            StoreError::NotAJournal { path, detail } => {
                write!(f, "{}: is not a journal of boxcall: {detail}. Choose another file.", path.display())
            }
            StoreError::Damaged { path, detail } => write!(
                f,
                "{}: the journal is damaged: {detail}. Keep the file as it is, and go on with the last backup.",
                path.display()
            ),
            StoreError::Newer { path, version } => write!(
                f,
                "{}: the journal was written by a later version (format {version}, this one knows {}). \
                 It was not touched. Use the later version.",
                path.display(),
                super::schema::VERSION
            ),
            StoreError::Gone { path, replaced: false } => write!(
                f,
                "{}: NOT SAVED, the journal was taken away or moved while it was open. Put it back where it was, then \
                 try again, and do not end the program before: it still holds what was in it.",
                path.display()
            ),
            StoreError::Gone { path, replaced: true } => write!(
                f,
                "{}: NOT SAVED, another journal lies where the one in use was. Put the one in use back, then try \
                 again, and do not end the program before: it still holds what was in it.",
                path.display()
            ),
            StoreError::NotAppendable { path, detail } => {
                write!(f, "{}: NOT SAVED: {detail}.", path.display())
            }
        }
    }
}

impl std::error::Error for StoreError {}

/// The first entry that does not hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// Its place in the journal, from 1; 0 where every entry holds and the file around them does not.
    pub seq: u64,
    /// What does not hold, in words.
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
