//! A room is laid: the empty one, and the demo with its invented products.

use super::{Fault, Room, clock, files};
use crate::catalogue::{self, demo};
use crate::journal::Fact;
use crate::policy;
use chrono::NaiveDate;
use std::io;
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// The file that marks a demo room.
const MARK: &str = "demo-room";
const MARK_TEXT: &str =
    "Everything in this room is invented: a demonstration. Delete the folder to be rid of it.\n";

/// The file that is there while a room is laid.
const LAYING: &str = "half-laid";
const LAYING_TEXT: &str = "This room was not laid to its end: lay it again, or throw the folder away.\n";

/// A folder that goes when the room is closed.
#[derive(Debug)]
pub(super) struct Passing(PathBuf);

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

impl Room {
    /// Lays a room without products: the published protocol, an empty catalogue, an empty journal.
    ///
    /// # Errors
    /// The folder is not empty, or can't be written.
    pub fn lay_empty(dir: &Path) -> Result<Room, Fault> {
        begin(dir)?;
        make(&dir.join(files::CATALOGUE))?;
        put(&dir.join(files::POLICY), policy::COMMENTED)?;
        let room = Room::open_there(dir)?;
        end(dir)?;
        Ok(room)
    }

    /// Lays the demo room; its use-by dates suit today.
    ///
    /// # Errors
    /// The folder is not empty, or can't be written.
    pub fn lay_demo(dir: &Path) -> Result<Room, Fault> {
        begin(dir)?;
        put(&dir.join(MARK), MARK_TEXT)?;
        let products = dir.join(files::CATALOGUE);
        make(&products)?;
        for (name, text) in demo::files() {
            put(&products.join(name), text)?;
        }
        put(&dir.join(files::POLICY), demo::policy())?;
        let mut room = Room::open_there(dir)?;
        let stock = catalogue::stock::read("the demo's stock", demo::stock(), &room.catalogue)
            .map_err(|faults| Fault::of_files(&faults))?;
        let mut pieces = stock.pieces;
        let late = clock::today() - MADE_FOR;
        for day in pieces.iter_mut().filter_map(|piece| piece.use_by.as_mut()) {
            *day = day.checked_add_signed(late).unwrap_or(*day);
        }
        room.write(None, &[Fact::StockLoaded { from: "the demo's stock".into(), pieces }])?;
        end(dir)?;
        Ok(room)
    }

    /// Lays the demo room in a folder of its own that goes when the room is closed.
    ///
    /// # Errors
    /// The system's temporary folder can't be written.
    pub fn passing_demo() -> Result<Room, Fault> {
        let dir = std::env::temp_dir().join(format!("boxcall-demo-{}", Uuid::new_v4()));
        let passing = Passing(dir.clone());
        Ok(Room { passing: Some(passing), ..Room::lay_demo(&dir)? })
    }

    /// The folder goes when the room is closed.
    pub const fn is_passing(&self) -> bool {
        self.passing.is_some()
    }
}

/// The day that the dates in the demo's stock file suit.
const MADE_FOR: NaiveDate = match NaiveDate::from_ymd_opt(2026, 11, 25) {
    Some(day) => day,
    None => panic!("this day is in the calendar"),
};

/// A room is not there before its last file is: whoever is killed while it is laid lays it again.
fn begin(dir: &Path) -> Result<(), Fault> {
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
    put(&dir.join(LAYING), LAYING_TEXT)
}

fn end(dir: &Path) -> Result<(), Fault> {
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

pub(super) fn put(path: &Path, text: &str) -> Result<(), Fault> {
    files::write_whole(path, text)
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
