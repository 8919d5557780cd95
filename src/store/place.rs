//! Whether the journal still lies where it was opened. A file that was deleted or moved away can be written all the
//! same, and what is written into it is found by nobody.

use super::files::{Files, SUFFIXES, beside, identity};
use super::{Store, StoreError};

impl Store {
    /// The files that were opened are those that are there.
    ///
    /// # Errors
    /// One of them is gone, or another is in its place.
    pub fn in_place(&self) -> Result<(), StoreError> {
        if !crate::control::holds("place-looked-at") {
            return Ok(());
        }
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
    /// Another file is there (it is not touched), or the journal can't be written there.
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
