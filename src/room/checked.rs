//! Whether the journal of a room holds, found out before anything is answered from it.

use super::{Fault, Room, clock};
use crate::journal::{Anchor, Statement};
use crate::store::{Broken, Mark, Store};
use std::path::Path;

impl Room {
    /// Checks all of the journal, keeps what was found for the documents that are written from it, and gives it. Where
    /// the room may be written the mark moves on.
    pub fn check(&self) -> Statement {
        self.check_with(&mut |_, _| {})
    }

    /// As [`Room::check`]; `progress` is called now and then with how many entries hold so far, and of how many.
    pub fn check_with(&self, progress: &mut dyn FnMut(u64, u64)) -> Statement {
        let found = match &self.store {
            None => Statement::of_nothing(),
            Some(store) => whole(&self.dir, store, progress),
        };
        let _ = self.statement.set(found.clone());
        self.move_mark(&found);
        found
    }

    /// What was found out about the journal: when it was checked, else now, from the mark on.
    pub fn statement(&self) -> Statement {
        match (self.statement.get(), &self.store) {
            (Some(found), _) => found.clone(),
            (None, None) => Statement::of_nothing(),
            (None, Some(store)) => since_mark(&self.dir, store),
        }
    }

    fn move_mark(&self, found: &Statement) {
        let Some(store) = self.store.as_ref().filter(|store| found.holds && !store.is_read_only()) else {
            return;
        };
        if let Ok((entries, head)) = store.head()
            && found.entries == Some(entries)
        {
            store.set_mark(&Mark { entries, head, whole: clock::now() });
        }
    }

    /// After a command has written: what it says is written must be missed when it is gone. The screens have their own
    /// file for that, which costs less.
    pub(super) fn written_down(&self) {
        let checked = self.statement.get().is_some_and(|found| found.holds);
        let Some(store) = self.store.as_ref().filter(|_| checked) else { return };
        if let (Some(mark), Ok((entries, head))) = (store.mark(), store.head()) {
            store.set_mark(&Mark { entries, head, ..mark });
        }
    }

    /// The last entry's number and hash; none where nothing was ever written.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn anchor(&self) -> Result<Option<Anchor>, Fault> {
        let Some(store) = &self.store else { return Ok(None) };
        let (entry, hash) = store.head()?;
        Ok((entry > 0).then_some(Anchor { entry, hash }))
    }

    /// Whether this entry has this hash.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn has(&self, anchor: &Anchor) -> Result<bool, Fault> {
        let Some(store) = &self.store else { return Ok(false) };
        Ok(!crate::control::holds("heads-compared") || store.hash_of(anchor.entry)? == Some(anchor.hash))
    }

    /// Copies the journal into a new file and checks the copy; gives its last entry.
    ///
    /// # Errors
    /// As of [`Store::backup`].
    pub fn back_up(&self, to: &Path) -> Result<Anchor, Fault> {
        let Some(store) = &self.store else {
            return Err(Fault::could_not("no-journal", "nothing was ever written in this room"));
        };
        store.backup(to)?;
        let (entry, hash) = Store::open_read_only(to)?.head()?;
        Ok(Anchor { entry, hash })
    }
}

fn whole(dir: &Path, store: &Store, progress: &mut dyn FnMut(u64, u64)) -> Statement {
    let last = store.last_seq().unwrap_or(0);
    let verified = store.verify(&mut |held| progress(held.min(last), last));
    let checked = match verified {
        Err(broken) if broken.seq > 0 => Err(broken),
        // Entries that are missing are graver than what is amiss in the file around the others.
        other => beside_agrees(dir, store).and(other),
    };
    match checked {
        Ok(held) => Statement::holding(1, held.entries, held.head),
        Err(broken) => Statement::broken(1, broken.seq, broken.message),
    }
}

fn since_mark(dir: &Path, store: &Store) -> Statement {
    let Some(mark) = store.mark() else { return whole(dir, store, &mut |_, _| {}) };
    let from = mark.entries.max(1);
    let checked = store.verify_since(&mark).and_then(|held| beside_agrees(dir, store).map(|()| held));
    match checked {
        Ok(held) => Statement::holding(from, held.entries, held.head),
        Err(broken) => Statement::broken(from, broken.seq, broken.message),
    }
}

/// The chain alone can't show a tail that was cut off; what is beside the journal can: the mark of the last check, and
/// what the screens have shown since.
pub(super) fn beside_agrees(dir: &Path, store: &Store) -> Result<(), Broken> {
    if let Some(mark) = store.read_mark()? {
        store.stands_at(&mark)?;
    }
    Room::stands_as_shown(dir, store)
}
