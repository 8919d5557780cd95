//! One room's folder opened: catalogue, policy, journal, clock, records. Used by the command line and the screens.
//!
//! Invariant: the only module that names the clock and the files of a room; judges nothing itself and knows no user interface.

mod behind;
mod checked;
mod clock;
mod fault;
mod folder;
pub mod files;
mod furnish;
mod glance;
mod keeping;
mod lay;
mod shown;
mod record;
mod stir;
mod trace;
pub mod rescue;
pub mod release;

pub use crate::store::sqlite_version;
pub use behind::{Behind, Opening, Reader};
pub use clock::{check as check_clock, now, today};
pub use fault::{Fault, FaultKind};
pub use furnish::{Furniture, Prepared, added};
pub use glance::{Beacon, Watch};
pub use keeping::Written;
pub use record::{Format, write_deference_beside};
pub use rescue::{Kept, TakenIn};
pub use shown::SinceShown;
pub use stir::{Stir, Stirrings};

use crate::catalogue::Catalogue;
use crate::catalogue::enrol::Front;
use crate::journal::{CaseCode, Entry, Fact, Statement};
use crate::policy::Policy;
use crate::shelf::Shelf;
use crate::store::files::identity;
use crate::store::{Appended, PATIENCE, Stamp, Store};
use chrono::{DateTime, FixedOffset};
use etcetera::BaseStrategy;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use std::time::Duration;
use uuid::Uuid;

/// A room that has been opened.
#[derive(Debug)]
pub struct Room {
    /// As the room's files had it when it was read last.
    pub catalogue: Arc<Catalogue>,
    /// The room's protocol, defaults filled in.
    pub policy: Arc<Policy>,
    dir: PathBuf,
    /// None: opened for looking, and nothing was ever written.
    store: Option<Store>,
    /// Which file the journal was when it was opened.
    identity: Option<(u64, u64)>,
    /// What was found out about the journal, where it was checked before it was read.
    statement: OnceLock<Statement>,
    /// Last, so that the journal is closed before the folder goes.
    passing: Option<folder::Passing>,
}

impl Room {
    /// The folder of the room that is meant where none is named: `boxcall` in the user's data directory.
    ///
    /// # Errors
    /// The user has no home directory.
    pub fn default_dir() -> Result<PathBuf, Fault> {
        let base = etcetera::choose_base_strategy().map_err(|error| {
            Fault::could_not("no-room", format!("no home directory ({error}): name a room with --room DIR"))
        })?;
        Ok(base.data_dir().join("boxcall"))
    }

    /// Whether a room was ever laid in this folder.
    pub fn is_there(dir: &Path) -> bool {
        !folder::is_half_laid(dir)
            && (dir.join(files::CATALOGUE).is_dir() || dir.join(files::JOURNAL).is_file())
    }

    /// Whether this folder is a demo room's.
    pub fn is_demo_in(dir: &Path) -> bool {
        folder::is_demo(dir)
    }

    /// Whether files can be written in this folder.
    ///
    /// # Errors
    /// They can't.
    pub fn try_writing(dir: &Path) -> Result<(), Fault> {
        folder::try_writing(dir)
    }

    /// Opens a room for reading and writing; a journal that is not there yet is made.
    ///
    /// # Errors
    /// There is no room, its folder can't be written (said before anything is opened), something is wrong in its
    /// files (every fault of every file), or the journal can't be opened.
    pub fn open(dir: &Path) -> Result<Room, Fault> {
        Room::must_be_there(dir)?;
        Room::open_there(dir)
    }

    /// Refuses a folder that holds no room.
    pub(crate) fn must_be_there(dir: &Path) -> Result<(), Fault> {
        if Room::is_there(dir) {
            return Ok(());
        }
        folder::must_not_be_gone(dir)?;
        Err(Fault::no_room(dir))
    }

    fn open_there(dir: &Path) -> Result<Room, Fault> {
        let opened = Room::open_files(dir);
        match &opened {
            Ok(room) => tracing::info!(products = room.catalogue.products.len(), "room opened"),
            Err(fault) => tracing::error!(code = fault.code(), "room not opened"),
        }
        opened
    }

    fn open_files(dir: &Path) -> Result<Room, Fault> {
        folder::try_writing(dir)?;
        folder::must_not_be_gone(dir)?;
        let read = files::furniture(dir)?;
        let store = Some(Store::open(&dir.join(files::JOURNAL))?);
        let identity = identity(&dir.join(files::JOURNAL));
        Ok(Room::of(dir, read, store, identity))
    }

    /// What was opened, put together; its journal is not checked yet.
    fn of(
        dir: &Path,
        (catalogue, policy): (Arc<Catalogue>, Arc<Policy>),
        store: Option<Store>,
        identity: Option<(u64, u64)>,
    ) -> Room {
        let dir = dir.into();
        Room { catalogue, policy, dir, store, identity, statement: OnceLock::new(), passing: None }
    }

    /// Opens a room for looking: nothing is made and nothing can be written.
    ///
    /// # Errors
    /// There is no room, something is wrong in its files, or the journal can't be read.
    pub fn look(dir: &Path) -> Result<Room, Fault> {
        Room::must_be_there(dir)?;
        Room::looked_at(dir, files::furniture(dir)?)
    }

    fn looked_at(dir: &Path, read: (Arc<Catalogue>, Arc<Policy>)) -> Result<Room, Fault> {
        folder::must_not_be_gone(dir)?;
        let journal = dir.join(files::JOURNAL);
        // Before it is opened: one that takes its place meanwhile is then seen to be another.
        let identity = identity(&journal);
        let store = identity.map(|_| Store::open_read_only(&journal)).transpose()?;
        Ok(Room::of(dir, read, store, identity))
    }

    /// Opens a room for what its journal tells: where its product files or its protocol are at fault, with none and
    /// with the defaults, and the fault beside it.
    ///
    /// # Errors
    /// There is no room, or the journal can't be read.
    pub fn look_past_faults(dir: &Path) -> Result<(Room, Option<Fault>), Fault> {
        match Room::look(dir) {
            Err(fault) if fault.kind() == FaultKind::BadInput && Room::is_there(dir) => {
                Ok((Room::looked_at(dir, files::furniture_past_faults(dir))?, Some(fault)))
            }
            room => Ok((room?, None)),
        }
    }

    /// The journal of a room alone, for looking: it can be read whatever is wrong in the room's other files.
    ///
    /// # Errors
    /// There is no room, or the journal is not there or can't be read.
    pub fn journal_alone(dir: &Path) -> Result<Room, Fault> {
        Room::must_be_there(dir)?;
        folder::must_not_be_gone(dir)?;
        let journal = dir.join(files::JOURNAL);
        let identity = identity(&journal);
        let store = Some(Store::open_read_only(&journal)?);
        Ok(Room::of(dir, Default::default(), store, identity))
    }

    /// The room's folder, as it was named when the room was opened.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// The time of this machine, with its offset.
    pub fn now(&self) -> DateTime<FixedOffset> {
        clock::now()
    }

    /// The demo room: everything in it is invented.
    pub fn is_demo(&self) -> bool {
        folder::is_demo(&self.dir)
    }

    /// Every entry of the journal, in order.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn journal(&self) -> Result<Vec<Entry>, Fault> {
        self.entries_after(0)
    }

    /// The pieces on hand; none where no stock was ever loaded.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn shelf(&self) -> Result<Option<Shelf>, Fault> {
        let behind = self.behind(None)?;
        Ok(behind.stocked.then_some(behind.reading.shelf))
    }

    /// Stock, recalls and printed sizes alone, without what the cases took: quick, whatever the journal's size.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn shelf_of_room(&self) -> Result<Shelf, Fault> {
        let entries = self.store.as_ref().map_or(Ok(Vec::new()), Store::room_entries)?;
        Ok(Shelf::fold_with(&self.catalogue, &entries))
    }

    /// Writes down what happens now, and returns when it is on the disk.
    ///
    /// # Errors
    /// Nothing was written; the message says why.
    pub fn write(&mut self, case: Option<&CaseCode>, facts: &[Fact]) -> Result<Vec<Entry>, Fault> {
        let stamp = self.stamp();
        Ok(self.write_stamped(&stamp, case, facts)?.entries)
    }

    /// An id for a command, made before its commit, so that what was committed and never confirmed can be recognized;
    /// with it the time.
    pub fn stamp(&self) -> Stamp {
        Stamp::new(Uuid::new_v4().to_string(), clock::now())
    }

    /// Writes down what was entered under this stamp, once, however often it is asked for.
    ///
    /// # Errors
    /// It is not in the journal, or not in a journal that is in its place; the message says why.
    pub fn write_stamped(
        &mut self,
        stamp: &Stamp,
        case: Option<&CaseCode>,
        facts: &[Fact],
    ) -> Result<Appended, Fault> {
        let appended = self.writable()?.append(stamp, case, facts)?;
        self.written_down();
        Ok(appended)
    }

    /// The same for something that was refused before, without waiting for other programs: it is tried again soon.
    ///
    /// # Errors
    /// As for [`Room::write_stamped`].
    pub fn write_again(
        &mut self,
        stamp: &Stamp,
        case: Option<&CaseCode>,
        facts: &[Fact],
    ) -> Result<Appended, Fault> {
        let store = self.writable()?;
        store.set_patience(Duration::from_millis(50))?;
        let appended = store.append(stamp, case, facts);
        store.set_patience(PATIENCE)?;
        Ok(appended?)
    }

    /// The journal lies where it was opened.
    ///
    /// # Errors
    /// It was deleted, moved or replaced.
    pub fn in_place(&self) -> Result<(), Fault> {
        Ok(self.store.as_ref().map_or(Ok(()), Store::in_place)?)
    }

    /// Where the journal was deleted or moved away while it is open: puts it back whole, and says that it did.
    ///
    /// # Errors
    /// Another file is there, or it can't be written.
    pub fn put_back(&mut self) -> Result<bool, Fault> {
        Ok(self.writable()?.put_back()?)
    }

    fn writable(&mut self) -> Result<&mut Store, Fault> {
        self.store.as_mut().ok_or_else(|| {
            let message = format!("{}: the room was opened for looking only", self.dir.display());
            Fault::could_not("cannot-write", message)
        })
    }

    /// Every entry after this one, whoever wrote it.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn entries_after(&self, seq: u64) -> Result<Vec<Entry>, Fault> {
        Ok(self.store.as_ref().map_or(Ok(Vec::new()), |store| store.entries_after(seq))?)
    }

    /// What other programs have written after this entry; costs next to nothing when they wrote nothing.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn news(&mut self, after: u64) -> Result<Vec<Entry>, Fault> {
        let Some(store) = &mut self.store else { return Ok(Vec::new()) };
        if store.changed() { Ok(store.entries_after(after)?) } else { Ok(Vec::new()) }
    }

    /// Keeps what was typed from the front of a box as a product file, and reads the catalogue again.
    ///
    /// # Errors
    /// What was typed is not a product, another file has it already, or the folder can't be written. Nothing changes.
    pub fn enrol(&mut self, front: &Front) -> Result<Arc<Catalogue>, Fault> {
        let file = front.file();
        crate::catalogue::product::read(&file, &front.text()).map_err(|faults| Fault::of_files(&faults))?;
        let folder = self.dir.join(files::CATALOGUE);
        let path = folder.join(&file);
        folder::absent(&path)?;
        files::write_whole(&path, &front.text())?;
        match files::catalogue(&folder) {
            Ok(catalogue) => {
                self.catalogue = Arc::new(catalogue);
                Ok(self.catalogue.clone())
            }
            Err(fault) => {
                // What does not go with the other files is taken back. Should that fail, the fault names the file.
                let _ = std::fs::remove_file(&path);
                Err(fault)
            }
        }
    }

    /// A case code that no case of this room has.
    ///
    /// # Errors
    /// The journal can't be read.
    pub fn spare_code(&self) -> Result<CaseCode, Fault> {
        loop {
            let code = Room::any_code();
            let taken = self.store.as_ref().map_or(Ok(false), |store| store.knows_case(&code))?;
            if !taken {
                return Ok(code);
            }
        }
    }

    /// A case code out of the blue: one in six million is taken already.
    pub fn any_code() -> CaseCode {
        let [a, b, c, d, e, ..] = *Uuid::new_v4().as_bytes();
        CaseCode::from_random([a, b, c, d, e])
    }

    /// Whether what was opened is still in its place: no journal was made since, and it was neither moved away nor
    /// replaced. A file that was moved can be read on, and would never change again.
    pub fn is_current(&self) -> bool {
        Room::is_there(&self.dir) && identity(&self.dir.join(files::JOURNAL)) == self.identity
    }

    /// When a product file last came into the room or left it.
    pub fn furnished(&self) -> Option<std::time::SystemTime> {
        std::fs::metadata(self.dir.join(files::CATALOGUE)).and_then(|folder| folder.modified()).ok()
    }

    /// The journal on disk; none where nothing was ever written.
    pub const fn store(&self) -> Option<&Store> {
        self.store.as_ref()
    }
}
