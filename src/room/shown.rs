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
    /// program, not the power. Where it can't be written, the next start reports too much rather than too little.
    ///
    /// What was shown and is missing now stays in the file: else one look at an older copy would make it the newest.
    pub fn mark_shown(&self, seq: u64) {
        let Some(store) = &self.store else { return };
        // Another screen of this room may be further.
        let keep = match shown_in(&self.dir, store) {
            Shown::None => false,
            Shown::At { seq: shown, stands } => !stands || shown >= seq,
            Shown::Unreadable => true,
        };
        if let Ok(Some(hash)) = store.hash_of(seq)
            && !keep
        {
            let _ = files::write_over(&self.place_of_mark(), &format!("{seq:>20} {}\n", hex::encode(hash)));
        }
    }

    /// What is in the journal that no screen may have shown; none where the last entry was shown, or no screen
    /// was ever open.
    pub fn since_shown(&self) -> Option<SinceShown> {
        let store = self.store.as_ref()?;
        let Shown::At { seq: shown, stands } = shown_in(&self.dir, store) else { return None };
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
        let place = dir.join(files::SHOWN);
        let (shown, place) = match shown_in(dir, store) {
            Shown::None | Shown::At { stands: true, .. } => return Ok(()),
            Shown::At { seq, .. } => (seq, place.display()),
            Shown::Unreadable => {
                let message = format!(
                    "{} is not what boxcall wrote, so nothing shows whether entries are missing that the screens have \
                     shown; once you know that the journal is whole, take that file away",
                    place.display()
                );
                return Err(Broken { seq: 0, message });
            }
        };
        let last = store.last_seq().map_err(|error| Broken { seq: 0, message: error.to_string() })?;
        let way_out = format!(
            "an older copy that was put back on purpose is taken as it is when {place} is taken away"
        );
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

/// What the file beside the journal says.
enum Shown {
    /// No screen was ever open. A power cut may leave an empty file.
    None,
    /// The entry that was shown last, and whether it is in the journal as it was shown.
    At { seq: u64, stands: bool },
    /// It can't be read, or says something else.
    Unreadable,
}

fn shown_in(dir: &Path, store: &Store) -> Shown {
    let bytes = match std::fs::read(dir.join(files::SHOWN)) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Shown::None,
        Err(_) => return Shown::Unreadable,
    };
    if bytes.iter().all(|byte| *byte == 0) {
        return Shown::None;
    }
    let parts = || {
        let (seq, hash) = std::str::from_utf8(&bytes).ok()?.trim().split_once(' ')?;
        let mut digest = [0; 32];
        hex::decode_to_slice(hash, &mut digest).ok()?;
        Some((seq.parse().ok()?, digest))
    };
    let Some((seq, digest)) = parts() else { return Shown::Unreadable };
    let out = !crate::control::holds("mark-of-last-shown");
    Shown::At { seq, stands: out || store.hash_of(seq).is_ok_and(|there| there == Some(digest)) }
}
