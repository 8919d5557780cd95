//! What can go wrong in a room: a word for programs, a message for people, an exit status for both.

use crate::intake;
use crate::lesion::BadInput;
use crate::store::StoreError;
use std::path::Path;
use thiserror::Error;

/// Why something could not be done.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{message}")]
pub struct Fault {
    code: String,
    message: String,
    kind: FaultKind,
    position: Option<usize>,
}

/// What the exit status says of a fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FaultKind {
    /// What was asked for is not there: exit status 1.
    NotFound,
    /// What was given is wrong, and what and where is said: exit status 2.
    BadInput,
    /// Something could not be read or written: exit status 3.
    CouldNot,
}

impl Fault {
    fn new(kind: FaultKind, code: &str, message: impl Into<String>) -> Self {
        Fault { code: code.into(), message: message.into(), kind, position: None }
    }

    /// A product, a diameter of a product, a case that is not there.
    pub fn not_found(message: impl Into<String>) -> Self {
        Fault::new(FaultKind::NotFound, "not-found", message)
    }

    /// What was given on the command line is wrong.
    pub fn bad_input(message: impl Into<String>) -> Self {
        Fault::new(FaultKind::BadInput, "bad-input", message)
    }

    /// What was given is wrong, under a code of its own.
    pub fn refused(code: &str, message: impl Into<String>, position: Option<usize>) -> Self {
        Fault { position, ..Fault::new(FaultKind::BadInput, code, message) }
    }

    /// Something could not be read or written.
    pub fn could_not(code: &str, message: impl Into<String>) -> Self {
        Fault::new(FaultKind::CouldNot, code, message)
    }

    /// The terminal is not there, or it fails.
    pub fn terminal(message: impl Into<String>) -> Self {
        Fault::could_not("terminal", message)
    }

    pub(crate) fn no_room(dir: &Path) -> Self {
        let message = format!(
            "{}: there is no room here. Run boxcall without a command to begin one, name another with --room DIR, \
             or name product files with --catalogue DIR",
            dir.display()
        );
        Fault::could_not("no-room", message)
    }

    pub(crate) fn cannot_read(path: &Path, error: &std::io::Error) -> Self {
        Fault::could_not("cannot-read", format!("{}: can't be read: {error}", path.display()))
    }

    pub(crate) fn cannot_write(path: &Path, error: &std::io::Error) -> Self {
        use std::io::ErrorKind::{PermissionDenied, ReadOnlyFilesystem};
        let what_to_do = match error.kind() {
            _ if is_full(error) => {
                ". The disk is full: make room on it, then try again; what was there before is still there"
            }
            PermissionDenied | ReadOnlyFilesystem => {
                ". Check that you may write in its folder, or name another place"
            }
            _ => "",
        };
        Fault::could_not("cannot-write", format!("{}: can't be written: {error}{what_to_do}", path.display()))
    }

    /// Standard output takes no more; a file that it goes to holds a part.
    pub(crate) fn cannot_print(error: &std::io::Error) -> Self {
        let what_to_do = if is_full(error) {
            ". The disk is full: what was printed into a file is not whole. Make room on it, then try again"
        } else {
            ""
        };
        Fault::could_not("cannot-write", format!("standard output can't be written: {error}{what_to_do}"))
    }

    /// Every fault of some files, one a line.
    pub fn of_files(faults: &[intake::FileFault]) -> Self {
        let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
        Fault::new(FaultKind::BadInput, "bad-file", lines.join("\n"))
    }

    /// Every fault of what was typed in, one a line.
    pub fn of_input(bad: &[BadInput]) -> Self {
        let lines: Vec<String> = bad.iter().map(ToString::to_string).collect();
        Fault::bad_input(lines.join("\n"))
    }

    /// A word for other programs.
    pub fn code(&self) -> &str {
        &self.code
    }

    /// What, where, and what to do.
    pub fn message(&self) -> &str {
        &self.message
    }

    /// What the exit status is made from.
    pub const fn kind(&self) -> FaultKind {
        self.kind
    }

    /// Bytes from 0; none where no place is meant.
    pub const fn position(&self) -> Option<usize> {
        self.position
    }

    /// 1 not there, 2 wrong, 3 could not be read or written.
    pub const fn exit(&self) -> u8 {
        match self.kind {
            FaultKind::NotFound => 1,
            FaultKind::BadInput => 2,
            FaultKind::CouldNot => 3,
        }
    }
}

fn is_full(error: &std::io::Error) -> bool {
    use std::io::ErrorKind::{FileTooLarge, QuotaExceeded, StorageFull};
    matches!(error.kind(), StorageFull | FileTooLarge | QuotaExceeded)
}

impl From<StoreError> for Fault {
    fn from(error: StoreError) -> Self {
        let kind = if error.is_fault() { FaultKind::BadInput } else { FaultKind::CouldNot };
        Fault::new(kind, error.code(), error.to_string())
    }
}
