//! How far the screens have shown the journal: a small file beside it. After a kill it tells what was committed
//! and never confirmed; and a journal that ends before it, or says something else there, is not the one that was
//! shown. A chain alone can't show that its tail was cut off.

use super::{Room, files, hex};
use std::path::PathBuf;

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
        let hash_of = |seq| self.store.as_ref().and_then(|store| store.hash_of(seq).ok().flatten());
        // Another screen of this room may be further.
        let further = self.shown().is_some_and(|(shown, hash)| {
            shown >= seq && hash_of(shown).is_some_and(|there| hex(&there) == hash)
        });
        if let Some(hash) = hash_of(seq)
            && !further
        {
            let _ = files::write_over(&self.place_of_mark(), &format!("{seq:>20} {}\n", hex(&hash)));
        }
    }

    /// What stands in the journal that no screen may have shown; none where the last entry was shown, or no screen
    /// was ever open.
    pub fn since_shown(&self) -> Option<SinceShown> {
        let (shown, hash) = self.shown()?;
        let store = self.store.as_ref()?;
        let last = store.last_seq().ok()?;
        let there = store.hash_of(shown).ok()?.map(|hash| hex(&hash));
        if there.is_none_or(|there| there != hash) {
            return Some(SinceShown::Other(format!(
                "NOT THE JOURNAL SHOWN LAST: entry {shown} is missing or another; it ends at {last}. An older backup? \
                 Look for the newer file"
            )));
        }
        (last > shown).then_some(SinceShown::More(shown))
    }

    fn shown(&self) -> Option<(u64, String)> {
        let text = std::fs::read_to_string(self.place_of_mark()).ok()?;
        let (seq, hash) = text.trim().split_once(' ')?;
        Some((seq.parse().ok()?, hash.to_string()))
    }

    fn place_of_mark(&self) -> PathBuf {
        self.dir.join(files::SHOWN)
    }
}
