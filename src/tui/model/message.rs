//! What reaches the state, and what it asks of the shell.

use super::pending::Draft;
use super::setup::{Answer, Ask};
use super::world::Wanted;
use crate::catalogue::Catalogue;
use crate::catalogue::enrol::Front;
use crate::journal::{CaseCode, Entry};
use crate::label::Arrival;
use crate::room::Behind;
use crate::tui::keys::Key;
use crate::tui::paint::Spot;
use chrono::{DateTime, FixedOffset};
use std::sync::Arc;

/// What reaches the state.
#[derive(Debug, Clone)]
pub enum Message {
    /// A key that was pressed by a person.
    Key(Key),
    /// A burst of characters; `complete` when it ended with a terminator.
    Scan {
        bytes: Vec<u8>,
        complete: bool,
        arrival: Arrival,
    },
    /// The mouse was clicked on this.
    Click(Spot),
    /// The wheel of the mouse was turned.
    Wheel {
        down: bool,
    },
    Tick(DateTime<FixedOffset>),
    /// These are on disk now: the answer to the first draft that waited, or to the only one.
    Written(Vec<Entry>),
    /// These were on disk before: the same draft was committed, and nobody was told.
    WrittenAlready(Vec<Entry>),
    /// Another program has written these to the room.
    News(Vec<Entry>),
    /// Nothing of it is on disk.
    NotWritten {
        draft: Draft,
        /// None where the disk was not asked: others wait before it.
        why: Option<String>,
    },
    /// The journal is not where it was opened.
    JournalGone,
    /// The journal was gone from its place, and lies there again.
    PutBack,
    /// What waits is in a file elsewhere, under these ids.
    Rescued {
        drafts: Vec<Draft>,
        place: String,
        leave: bool,
    },
    /// When the program starts: the last entry that a screen has shown.
    ShownUpTo(u64),
    /// Something could not be done, or has to be said of the journal when the program starts.
    Warned(String),
    /// A code that no case has yet.
    SpareCode(CaseCode),
    /// The shelf and the cases, read behind the first frame or once more.
    Arrived(Box<Behind>),
    NotArrived {
        why: String,
    },
    /// The entries of a case that is to be shown.
    CaseRead(Vec<Entry>),
    /// The journal does not hold.
    Broken(String),
    RecordWritten {
        code: CaseCode,
        place: String,
    },
    /// The box is in the catalogue now.
    Enrolled(Arc<Catalogue>),
    /// The room's folder answers the first steps.
    Furnished(Answer),
}

impl Message {
    /// A paste holds one label, whoever copied it.
    pub fn pasted(text: String) -> Message {
        Message::Scan { bytes: text.into_bytes(), complete: true, arrival: Arrival::Pasted }
    }
}

/// What the shell is to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    Write(Draft),
    /// Put the journal back in its place, if it is gone from there.
    PutBack,
    /// Write what waits into a file elsewhere: into this folder, or the user's own.
    Rescue {
        folder: Option<String>,
        leave: bool,
    },
    /// Keep what was typed from the front of a box as a product file.
    Enrol(Front),
    /// Something about the files of the room's folder.
    Furnish(Ask),
    /// Write the record of this case into the room's folder.
    Record(CaseCode),
    /// The spare code is used up.
    AnotherCode,
    /// Read what the screens lack.
    Read(Wanted),
    Leave,
}
