//! What the first steps ask of the room's folder, and its answers.

use crate::catalogue::{Catalogue, Piece};
use crate::policy::Policy;
use crate::room::Furniture;
use std::sync::Arc;

/// What can be laid in a room; the text is a path as it was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Task {
    Guides,
    Policy,
    Products(String),
    Release(String),
    Stock(String),
}

/// What the first steps ask of the room's folder.
#[derive(Debug, Clone, PartialEq)]
pub enum Ask {
    /// Read and check; nothing is written.
    Look(Task),
    /// Write what was looked at last.
    Lay,
    /// A scanner has sent the separator of a label.
    ScannerSeen,
}

/// What comes back from the room's folder.
#[derive(Debug, Clone)]
pub enum Answer {
    /// What would be written, one change a line; nothing where nothing would change.
    Looked { task: Task, words: Vec<String>, changes: bool },
    /// Pieces that would be on hand, and the cautions of their file.
    Stock { from: String, pieces: Vec<Piece>, cautions: Vec<String> },
    /// It takes a while; so far this.
    Busy(String),
    /// The release in this folder has been read: it can be looked at.
    ReleaseRead(String),
    /// It is written, and the room was read again.
    Laid { catalogue: Arc<Catalogue>, policy: Arc<Policy>, furniture: Furniture },
    /// The room's files as they are now.
    Furniture(Furniture),
    /// What and where, one fault a line; nothing was written.
    Refused(String),
}
