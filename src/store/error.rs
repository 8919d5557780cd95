//! What can go wrong with a journal on disk: what, where, and what to do about it.

use super::schema::VERSION;
use rusqlite::ffi;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why the journal could not be opened, read or written. Whatever it is: after an error from `append`
/// nothing of that command was written. `path` is the file that it is about, `detail` the reason in words.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[expect(missing_docs, reason = "`path` and `detail` mean the same in every variant")]
pub enum StoreError {
    /// There is no file of that name, and this way of opening creates none.
    #[error("{}: there is no journal. Is this the right room?", path.display())]
    Absent { path: PathBuf },
    /// A new file was to be made, and one of that name is already there.
    #[error("{}: there is already a file of that name. Choose another name.", path.display())]
    Exists { path: PathBuf },
    /// The file or its folder can't be read or opened.
    #[error("{}: can't be read: {detail}. Check that the folder is there, is yours, and lies on a local disk.", path.display())]
    CannotRead { path: PathBuf, detail: String },
    /// The file or its folder can't be written, or it was opened for looking only.
    #[error("{}: can't be written: {detail}. Check that the folder is there and that you may write in it.", path.display())]
    CannotWrite { path: PathBuf, detail: String },
    /// No room left on the disk, or a limit on the size of files was reached.
    #[error(
        "{}: NOT SAVED, the disk is full. Make room on it, then try again; what was saved before is safe.",
        path.display()
    )]
    DiskFull { path: PathBuf },
    /// Another program held the journal for longer than we wait.
    #[error("{}: another program holds the journal. Close it there, then try again.", path.display())]
    Locked { path: PathBuf },
    /// The file is something else.
    #[error("{}: is not a journal of boxcall: {detail}. Choose another file.", path.display())]
    NotAJournal { path: PathBuf, detail: String },
    /// The file was a journal of ours and is broken.
    #[error("{}: the journal is damaged: {detail}. Keep the file as it is, and go on with the last backup.", path.display())]
    Damaged { path: PathBuf, detail: String },
    /// The file was written by a later version of boxcall.
    #[error(
        "{}: the journal was written by a later version (format {version}, this one knows {VERSION}). It was not \
         touched. Use the later version.",
        path.display()
    )]
    Newer {
        path: PathBuf,
        /// Its format's number, above the one that this version knows.
        version: i64,
    },
    /// The file, or one of SQLite's beside it, was deleted, moved or replaced while it was open.
    #[error("{}: NOT SAVED, {}", path.display(), if *replaced { REPLACED } else { TAKEN_AWAY })]
    Gone {
        path: PathBuf,
        /// Another journal is in its place.
        replaced: bool,
    },
    /// These facts can't be appended: they would not read back, or the journal's guards refused them.
    #[error("{}: NOT SAVED: {detail}.", path.display())]
    NotAppendable { path: PathBuf, detail: String },
}

const TAKEN_AWAY: &str = "the journal was taken away or moved while it was open. Put it back where it was, then try \
                          again, and do not end the program before: it still holds what was in it.";
const REPLACED: &str = "another journal lies where the one in use was. Put the one in use back, then try again, and do \
                        not end the program before: it still holds what was in it.";

impl StoreError {
    /// A word for other programs, for the `code` of an error in JSON.
    pub const fn code(&self) -> &'static str {
        self.code_and_fault().0
    }

    /// True: the fault is in the file or in what was asked (exit status 2). False: it could not be read or
    /// written (exit status 3).
    pub const fn is_fault(&self) -> bool {
        self.code_and_fault().1
    }

    const fn code_and_fault(&self) -> (&'static str, bool) {
        match self {
            StoreError::Absent { .. } => ("journal-absent", false),
            StoreError::Exists { .. } => ("file-exists", true),
            StoreError::CannotRead { .. } => ("cannot-read", false),
            StoreError::CannotWrite { .. } => ("cannot-write", false),
            StoreError::DiskFull { .. } => ("disk-full", false),
            StoreError::Locked { .. } => ("journal-locked", false),
            StoreError::NotAJournal { .. } => ("not-a-journal", true),
            StoreError::Damaged { .. } => ("journal-damaged", true),
            StoreError::Newer { .. } => ("journal-newer", true),
            StoreError::Gone { .. } => ("journal-gone", false),
            StoreError::NotAppendable { .. } => ("not-appendable", true),
        }
    }

    pub(super) fn cannot_write(path: &Path, detail: impl Into<String>) -> Self {
        StoreError::CannotWrite { path: path.into(), detail: detail.into() }
    }

    pub(super) fn not_a_journal(path: &Path, detail: impl Into<String>) -> Self {
        StoreError::NotAJournal { path: path.into(), detail: detail.into() }
    }

    pub(super) fn damaged(path: &Path, detail: impl Into<String>) -> Self {
        StoreError::Damaged { path: path.into(), detail: detail.into() }
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
            // Whatever was in the way, it was a write.
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

/// The first entry that does not hold.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{}: {message}", match seq { 0 => "the journal's file does not hold".into(), seq => format!("entry {seq} does not hold") })]
pub struct Broken {
    /// Its place in the journal, from 1; 0 where every entry holds and the file around them does not.
    pub seq: u64,
    /// What does not hold, in words.
    pub message: String,
}
