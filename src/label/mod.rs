//! What the box says.
//!
//! Invariant: characters and instants in, fields out; knows no catalogue, no case and no key of a terminal.

use crate::measure::Caution;
use crate::udi::DeviceId;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

crate::measure::words! {
    /// The standard that a label follows.
    System {
        Gs1 = "gs1",
        Gs1DigitalLink = "gs1-digital-link",
        Hibc = "hibc",
        Isbt128 = "isbt128",
    }
}

crate::measure::words! {
    /// How the characters of a label reached us.
    Arrival { Scanned = "scanned", Pasted = "pasted", Typed = "typed" }
}

/// A label that was read. A field that it lacks, or that is doubtful, is `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    pub system: System,
    pub di: Option<DeviceId>,
    pub lot: Option<String>,
    pub serial: Option<String>,
    pub use_by: Option<NaiveDate>,
    pub made: Option<NaiveDate>,
    /// Identifiers and raw values, in reading order.
    pub fields: Vec<(String, String)>,
    /// The soft codes of the reader; the first is the gravest.
    pub warnings: Vec<Caution>,
}

/// A label from which nothing is taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// A hard code, such as `check-digit`.
    pub code: String,
    pub message: String,
    /// Bytes from 0; none where naming a place would echo a person's data.
    pub position: Option<usize>,
}

/// Bytes of a label as they came, and how: what the journal keeps of a reading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Raw {
    /// Lower-case hexadecimal, two digits a byte.
    pub hex: String,
    pub arrival: Arrival,
}
