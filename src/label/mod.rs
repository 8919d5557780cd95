//! What the box says.
//!
//! Invariant: characters and instants in, fields out; knows no catalogue, no case and no key of a terminal.

pub mod burst;
pub mod card;
mod carrier;
mod code;
mod dates;
mod envelope;
mod gs1;
mod gs1_elements;
mod gs1_item;
mod gs1_table;
mod gs1_value;
mod hibc;
mod hibc_data;
mod isbt;
mod join;
mod layout;
mod link;
pub mod pair;
mod place;
mod read;
mod symbol;
pub mod write;

pub use code::{LabelCode, Refusal, Warning};
pub use pair::{Supported, support};
pub use read::{Settings, holds_separator, read};

use crate::udi::{DeviceId, Issuer};
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

/// A label that was read. A field that it lacks, or that is doubtful, is `None`. In JSON the object of `read --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Label {
    /// The standard by which it was read.
    pub system: System,
    /// The device identifier: which box of which product.
    pub di: Option<DeviceId>,
    /// Batch or lot number.
    pub lot: Option<String>,
    /// Serial number.
    pub serial: Option<String>,
    /// In date up to and on this day.
    pub use_by: Option<NaiveDate>,
    /// Date of production.
    pub made: Option<NaiveDate>,
    /// Identifiers and raw values, in reading order.
    pub fields: Vec<(String, String)>,
    /// The soft codes of the reader; the first is the gravest.
    pub warnings: Vec<Warning>,
    /// Where a lost separator leaves several readings open: all of them, for people to compare with the box.
    #[serde(skip)]
    pub readings: Vec<PossibleReading>,
    /// The line under the bars, without control characters: what [`Label::human_readable`] gives.
    #[serde(skip)]
    pub printed: String,
}

/// One way in which a label with a lost separator can be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PossibleReading {
    /// Identifiers and raw values, in reading order.
    pub fields: Vec<(String, String)>,
}

impl Label {
    /// A label that says nothing yet.
    pub fn blank(system: System) -> Self {
        Label {
            system,
            di: None,
            lot: None,
            serial: None,
            use_by: None,
            made: None,
            fields: Vec::new(),
            warnings: Vec::new(),
            readings: Vec::new(),
            printed: String::new(),
        }
    }

    /// The line under the bars: GS1 with its identifiers in round brackets, HIBC with its check characters and
    /// without stars, a check character that is a space written `_`. No control characters.
    pub fn human_readable(&self) -> String {
        self.printed.clone()
    }

    /// Only the second of two symbols was read: the device identifier is on the other.
    pub fn is_only_secondary(&self) -> bool {
        self.has_warning(LabelCode::SecondaryOnly)
    }

    /// Who gave out the identifier, by the standard that the label follows.
    pub fn issuer(&self) -> Issuer {
        match self.system {
            System::Gs1 | System::Gs1DigitalLink => Issuer::Gs1,
            System::Hibc => Issuer::Hibc,
            System::Isbt128 => Issuer::Iccbba,
        }
    }

    /// 0 is the single unit, 1 to 8 a package of some level, 9 a variable quantity; `None` without a device
    /// identifier and for ISBT 128. A package's identifier is not the unit's: look both up.
    pub fn packaging_level(&self) -> Option<u8> {
        let di = self.di.as_ref()?.as_str();
        let digit = match self.issuer() {
            Issuer::Gs1 => di.chars().next(),
            Issuer::Hibc => di.chars().next_back(),
            Issuer::Iccbba => None,
        };
        digit.and_then(|c| c.to_digit(10)).and_then(|level| u8::try_from(level).ok())
    }

    /// Whether this soft code was met.
    pub fn has_warning(&self, code: LabelCode) -> bool {
        self.warnings.iter().any(|warning| warning.code == code)
    }

    /// The gravest soft code, or `ok`.
    pub fn code(&self) -> &'static str {
        self.warnings.first().map_or("ok", |warning| warning.code.name())
    }
}

/// Bytes of a label as they came, and how: what the journal keeps of a reading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Raw {
    /// Lower-case hexadecimal, two digits a byte.
    pub hex: String,
    /// How the bytes came.
    pub arrival: Arrival,
}

impl Raw {
    /// The bytes written down as they are.
    pub fn new(bytes: &[u8], arrival: Arrival) -> Self {
        Raw { hex: hex::encode(bytes), arrival }
    }

    /// The bytes again; `None` if the text is not hexadecimal.
    pub fn bytes(&self) -> Option<Vec<u8>> {
        hex::decode(&self.hex).ok()
    }
}
