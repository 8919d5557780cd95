//! A room's folder while it is created: its marks, and that it is written whole or again.

use super::{Fault, files};
use std::io;
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// The file that marks a demo room.
pub(super) const MARK: &str = "demo-room";
pub(super) const MARK_TEXT: &str =
    "Everything in this room is invented: a demonstration. Delete the folder to be rid of it.\n";

/// The file that is there while a room is laid.
const LAYING: &str = "half-laid";
const LAYING_TEXT: &str = "This room was not laid to its end: lay it again, or throw the folder away.\n";

/// What was in the journal shows beside it even when it is gone.
const WITNESSES: [&str; 2] = ["journal.mark", files::SHOWN];

/// The journal is there, wherever something beside it says that there was one.
///
/// # Errors
/// `journal-gone`: it was deleted, moved away or emptied.
pub(super) fn must_not_be_gone(dir: &Path) -> Result<(), Fault> {
    let journal = dir.join(files::JOURNAL);
    let there = std::fs::metadata(&journal).is_ok_and(|file| !file.is_file() || file.len() > 0);
    let witness = WITNESSES.iter().map(|name| dir.join(name)).find(|path| path.exists());
    match witness {
        Some(witness) if !there && crate::control::holds("gone-journal-noticed") => Err(Fault::could_not(
            "journal-gone",
            format!(
                "{}: THE JOURNAL IS GONE: {} shows that there was one. Put it back, with journal.db-wal where there is \
                 one, or put a backup in its place; nothing is answered without it",
                journal.display(),
                witness.display()
            ),
        )),
        _ => Ok(()),
    }
}

/// A folder that goes when the room is closed.
#[derive(Debug)]
pub(super) struct Passing(pub(super) PathBuf);

impl Drop for Passing {
    fn drop(&mut self) {
        // A thread that reads behind the screens may be writing its last file just now. Nobody is left to be told where
        // it stays; the system clears its temporary folder in time.
        const TRIES: usize = 40;
        for _ in 0..TRIES {
            match std::fs::remove_dir_all(&self.0) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => {
                    std::thread::sleep(std::time::Duration::from_millis(5));
                }
                _ => return,
            }
        }
    }
}

/// A room is not there before its last file is: whoever is killed while it is laid lays it again.
pub(super) fn begin(dir: &Path) -> Result<(), Fault> {
    if is_half_laid(dir) {
        // Nobody has worked in it yet: everything under these names was laid here.
        let gone = |path: PathBuf| match std::fs::remove_file(&path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(Fault::cannot_write(&path, &error)),
            _ => Ok(()),
        };
        let products = dir.join(files::CATALOGUE);
        if products.exists() {
            std::fs::remove_dir_all(&products).map_err(|error| Fault::cannot_write(&products, &error))?;
        }
        for suffix in ["", "-journal", "-wal", "-shm"] {
            gone(dir.join(format!("{}{suffix}", files::JOURNAL)))?;
        }
        return [MARK, files::POLICY].into_iter().try_for_each(|name| gone(dir.join(name)));
    }
    clear_ground(dir)?;
    files::write_whole(&dir.join(LAYING), LAYING_TEXT)
}

pub(super) fn end(dir: &Path) -> Result<(), Fault> {
    let mark = dir.join(LAYING);
    std::fs::remove_file(&mark).map_err(|error| Fault::cannot_write(&mark, &error))
}

/// Somebody began to lay a room here, and did not come to its end.
pub(super) fn is_half_laid(dir: &Path) -> bool {
    dir.join(LAYING).is_file()
}

pub(super) fn is_demo(dir: &Path) -> bool {
    dir.join(MARK).is_file()
}

/// The folder is made where there is none; one that holds anything is left alone.
pub(super) fn clear_ground(dir: &Path) -> Result<(), Fault> {
    match std::fs::read_dir(dir) {
        Ok(mut entries) => match entries.next() {
            None => try_writing(dir),
            Some(_) => Err(Fault::refused(
                "folder-not-empty",
                format!("{}: the folder is not empty; name a new one", dir.display()),
                None,
            )),
        },
        Err(error) if error.kind() == io::ErrorKind::NotFound => make(dir),
        Err(error) => Err(Fault::cannot_read(dir, &error)),
    }
}

pub(super) fn make(dir: &Path) -> Result<(), Fault> {
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(dir).map_err(|error| Fault::cannot_write(dir, &error))
}

/// Makes a file in the folder and takes it away again: permissions alone do not tell, a full disk or one mounted
/// for reading fails too.
pub(super) fn try_writing(dir: &Path) -> Result<(), Fault> {
    let probe = dir.join(format!(".can-write-{}", Uuid::new_v4()));
    let written = std::fs::write(&probe, b"?");
    // A full disk may take the name of a file and no byte of it: it goes again either way.
    let gone = std::fs::remove_file(&probe);
    written.and(gone).map_err(|error| Fault::cannot_write(dir, &error))
}

/// Nothing is at this place yet.
pub(super) fn absent(path: &Path) -> Result<(), Fault> {
    if path.exists() {
        let message =
            format!("{}: stands there already and is left as it is; move it away first", path.display());
        return Err(Fault::refused("file-exists", message, None));
    }
    Ok(())
}
