//! The three files of an open journal: their names, and what tells them from any other.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

/// Journal, log and index of the log.
pub(super) const SUFFIXES: [&str; 3] = ["", "-wal", "-shm"];

/// Device and number of a file on it; none where no file lies there.
pub(super) type Identity = Option<(u64, u64)>;

/// What tells the three files of an open journal from any other. Without any, nothing is compared.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Files(pub(super) Option<[Identity; 3]>);

impl Files {
    /// Those that lie there now.
    pub(super) fn at(path: &Path) -> Self {
        let found = SUFFIXES.map(|suffix| identity(&beside(path, suffix)));
        // A system that tells no identity leaves nothing to compare.
        Files(found[0].is_some().then_some(found))
    }
}

/// A file beside the journal, named after it.
pub(super) fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = OsString::from(path);
    name.push(suffix);
    name.into()
}

#[cfg(unix)]
pub(super) fn identity(path: &Path) -> Identity {
    use std::os::unix::fs::MetadataExt;
    std::fs::metadata(path).ok().map(|file| (file.dev(), file.ino()))
}

#[cfg(not(unix))]
pub(super) fn identity(_: &Path) -> Identity {
    // An open file can't be deleted there.
    None
}
