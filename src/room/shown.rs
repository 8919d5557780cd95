//! How far the screens have shown the journal: a small file beside it. After a kill it tells what was committed
//! and never confirmed; and a journal that ends before it, or says something else there, is not the one that was
//! shown. A chain alone can't show that its tail was cut off.

use super::{Room, files};
use crate::store::{Broken, Store};
use crate::units::{by_count, counted};
use std::path::{Path, PathBuf};

/// What the journal holds past what was shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SinceShown {
    /// Entries after this one: nobody may have seen them.
    More(u64),
    /// It is not the journal that was shown: what to say.
    Other(String),
}

impl Room {
    /// Remembers that everything up to this entry has been on a screen. It costs no sync: it has to outlive the
    /// program, not the power. Where it can't be written, the next start tells too much rather than too little.
    pub fn mark_shown(&self, seq: u64) {
        let Some(store) = &self.store else { return };
        // Another screen of this room may be further.
        let further = shown_in(&self.dir, store).is_some_and(|(shown, stands)| shown >= seq && stands);
        if let Ok(Some(hash)) = store.hash_of(seq)
            && !further
        {
            let _ = files::write_over(&self.place_of_mark(), &format!("{seq:>20} {}\n", hex::encode(hash)));
        }
    }

    /// What is in the journal that no screen may have shown; none where the last entry was shown, or no screen
    /// was ever open.
    pub fn since_shown(&self) -> Option<SinceShown> {
        let store = self.store.as_ref()?;
        let (shown, stands) = shown_in(&self.dir, store)?;
        let last = store.last_seq().ok()?;
        if !stands {
            return Some(SinceShown::Other(format!(
                "NOT THE JOURNAL SHOWN LAST: entry {shown} is missing or another; it ends at {last}. An older backup? \
                 Look for the newer file"
            )));
        }
        (last > shown).then_some(SinceShown::More(shown))
    }

    /// Whether the entry that the screens of this folder have shown last is in its journal as it was shown. The
    /// screens show nothing that is not on the disk, so one that is missing was cut off, or another file is there.
    ///
    /// # Errors
    /// The first entry that is gone or is another one.
    pub fn stands_as_shown(dir: &Path, store: &Store) -> Result<(), Broken> {
        let Some((shown, false)) = shown_in(dir, store) else { return Ok(()) };
        let last = store.last_seq().map_err(|error| Broken { seq: 0, message: error.to_string() })?;
        let way_out =
            "an older copy that was put back on purpose is taken as it is once the screens have shown it";
        Err(if last < shown {
            let (gone, is) = (counted(shown - last, "entry"), by_count(shown - last, "is", "are"));
            let message = format!("{gone} from here on, which the screens have shown, {is} gone ({way_out})");
            Broken { seq: last + 1, message }
        } else {
            Broken {
                seq: shown,
                message: format!("it is not the entry that the screens have shown ({way_out})"),
            }
        })
    }

    fn place_of_mark(&self) -> PathBuf {
        self.dir.join(files::SHOWN)
    }
}

/// The entry that was shown last, and whether it is in this journal as it was shown. None: no screen was ever open,
/// or the journal can't be asked.
fn shown_in(dir: &Path, store: &Store) -> Option<(u64, bool)> {
    let text = std::fs::read_to_string(dir.join(files::SHOWN)).ok()?;
    let (seq, hash) = text.trim().split_once(' ')?;
    let seq = seq.parse().ok()?;
    let there = store.hash_of(seq).ok()?;
    Some((
        seq,
        !crate::control::holds("mark-of-last-shown") || there.is_some_and(|there| hex::encode(there) == hash),
    ))
}
