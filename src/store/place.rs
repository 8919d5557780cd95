//! Whether the journal still lies where it was opened. A file that was deleted or moved away can be written all the
//! same, and what is written into it is found by nobody.

use super::{Store, StoreError};
use std::ffi::OsString;
use std::path::{Path, PathBuf};

/// Journal, log and index of the log.
const SUFFIXES: [&str; 3] = ["", "-wal", "-shm"];

/// Device and number of a file on it; none where no file lies there.
pub(super) type Identity = Option<(u64, u64)>;

/// What tells the three files of an open journal from any other. Without any, nothing is compared.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Files(Option<[Identity; 3]>);

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
fn identity(path: &Path) -> Identity {
    use std::os::unix::fs::MetadataExt;
    std::fs::metadata(path).ok().map(|file| (file.dev(), file.ino()))
}

#[cfg(not(unix))]
fn identity(_: &Path) -> Identity {
    // An open file can't be deleted there.
    None
}

impl Store {
    /// The files that were opened are those that lie there.
    ///
    /// # Errors
    /// One of them is gone, or another lies in its place.
    pub fn in_place(&self) -> Result<(), StoreError> {
        let Files(Some(opened)) = &self.files else { return Ok(()) };
        let Files(there) = Files::at(&self.path);
        let gone = |replaced| Err(StoreError::Gone { path: self.path.clone(), replaced });
        let Some(there) = there else { return gone(false) };
        if there == *opened {
            return Ok(());
        }
        let replaced = opened.iter().zip(&there).any(|(opened, there)| there.is_some() && opened != there);
        gone(replaced)
    }

    /// Puts the journal back where it lay, whole, out of the files that are still open, where it was deleted or
    /// moved away. Nothing is done where it is in its place.
    ///
    /// # Errors
    /// Another file lies there (it is not touched), or the journal can't be written there.
    pub fn put_back(&mut self) -> Result<bool, StoreError> {
        match self.in_place() {
            Ok(()) => return Ok(false),
            Err(StoreError::Gone { replaced: false, .. }) => self.put_back = None,
            // A copy that was laid there before, and could not be opened then.
            Err(_) if self.put_back.is_some() && self.put_back == identity(&self.path) => {}
            Err(error) => return Err(error),
        }
        if self.put_back.is_none() {
            self.lay_copy()?;
        }
        let known = self.known;
        let old = std::mem::replace(self, Store::open(&self.path)?);
        self.known = known;
        // Closing it would delete the log by its name, and that is the new one's now.
        std::mem::forget(old);
        Ok(true)
    }

    /// Lays a copy of the open journal in its place.
    fn lay_copy(&mut self) -> Result<(), StoreError> {
        let copy = beside(&self.path, &format!(".{}.back", std::process::id()));
        // A try that was cut short leaves one; it is ours by its name.
        let _ = std::fs::remove_file(&copy);
        self.backup(&copy)?;
        let placed = SUFFIXES[1..]
            .iter()
            .try_for_each(|suffix| match std::fs::remove_file(beside(&self.path, suffix)) {
                Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(error),
                _ => Ok(()),
            })
            .and_then(|()| std::fs::rename(&copy, &self.path));
        if let Err(error) = placed {
            // The first error is the one to tell.
            let _ = std::fs::remove_file(&copy);
            return Err(StoreError::from_creating(&self.path, &error));
        }
        self.put_back = identity(&self.path);
        Ok(())
    }
}
