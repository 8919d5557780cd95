//! The rows of a release taken in, one at a time: only what carries a wanted product code is kept.

use super::report::{Outcome, Report};
use super::row::{Header, field_at, split};
use super::typed::{self, Typed};
use super::{Part, ProductCode};
use std::collections::HashMap;

const CODE_COLUMNS: [&str; 2] = ["PrimaryDI", "productCode"];
const SIZE_COLUMNS: [&str; 5] = ["PrimaryDI", "sizeType", "sizeUnit", "sizeValue", "sizeText"];
const IDENTIFIER_COLUMNS: [&str; 5] = ["PrimaryDI", "deviceId", "deviceIdType", "pkgQuantity", "pkgType"];
const DEVICE_COLUMNS: [&str; 8] = [
    "PrimaryDI",
    "brandName",
    "versionModelNumber",
    "catalogNumber",
    "companyName",
    "deviceCommDistributionStatus",
    "deviceCount",
    "deviceDescription",
];
/// Further ones may be missing.
const DEVICE_NEEDED: usize = 6;

/// A device that carries a wanted code, as far as it has been read.
#[derive(Debug, Default)]
pub(super) struct Device {
    /// Which of the wanted codes, and in which line of `productCodes.txt` each.
    pub codes: Vec<(usize, u64)>,
    pub row: Option<DeviceRow>,
    pub diameters: Vec<f64>,
    pub lengths: Vec<f64>,
    /// Among the diameters, those that were in words beside a length: no folded profile does.
    pub worded: Vec<f64>,
    /// Further identifiers of the same box, with their lines.
    pub further: Vec<(String, u64)>,
    /// Why nothing is taken of it.
    pub against: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct DeviceRow {
    pub line: u64,
    pub brand: String,
    pub version: String,
    pub catalogue_number: String,
    pub company: String,
    pub status: String,
    pub count: String,
    pub description: String,
}

impl Device {
    pub fn doubt(&mut self, why: impl Into<String>) {
        self.against.get_or_insert(why.into());
    }
}

/// A release as far as it has been fed. Feed the parts in the order of [`Part`]; each begins with its header.
#[derive(Debug)]
pub struct Import {
    pub(super) codes: Vec<ProductCode>,
    pub(super) devices: HashMap<Box<[u8]>, Device>,
    pub(super) report: Report,
    /// Boxes that are no longer sold are wanted too.
    pub(super) discontinued: bool,
    header: Option<(Part, Header, usize)>,
}

impl Import {
    /// Devices that carry at least one of these codes are kept.
    pub fn new(codes: Vec<ProductCode>) -> Import {
        Import {
            codes,
            devices: HashMap::new(),
            report: Report::default(),
            discontinued: false,
            header: None,
        }
    }

    /// Takes boxes that are no longer in commercial distribution as well: some may still be on the shelf.
    pub fn with_discontinued(self) -> Import {
        Import { discontinued: true, ..self }
    }

    /// Takes the first line of a file.
    ///
    /// # Errors
    /// A column that is needed is missing: in words.
    pub fn header(&mut self, part: Part, line: &[u8]) -> Result<(), String> {
        let (names, needed): (&[&str], usize) = match part {
            Part::Codes => (&CODE_COLUMNS, CODE_COLUMNS.len()),
            Part::Devices => (&DEVICE_COLUMNS, DEVICE_NEEDED),
            Part::Sizes => (&SIZE_COLUMNS, SIZE_COLUMNS.len()),
            Part::Identifiers => (&IDENTIFIER_COLUMNS, 3),
        };
        let header = Header::read(line, names, needed)?;
        let key = header.place(0).ok_or("the header has no column PrimaryDI")?;
        self.header = Some((part, header, key));
        Ok(())
    }

    /// Takes one further line, without its end. `number` counts lines from 1, the header being 1. Empty lines are no
    /// rows.
    #[inline]
    pub fn row(&mut self, line: &[u8], number: u64) {
        let Some((part, _, key)) = &self.header else { return };
        let (part, key) = (*part, *key);
        let line = line.strip_suffix(b"\r").unwrap_or(line);
        if line.is_empty() {
            return;
        }
        let di = field_at(line, key);
        if part == Part::Codes {
            self.code(di, line, number);
        } else if self.devices.contains_key(di) {
            self.wanted(part, di, line, number);
        } else {
            self.report.add(part, Outcome::Skipped);
        }
    }

    fn code(&mut self, di: &[u8], line: &[u8], number: u64) {
        let Some((_, header, _)) = &self.header else { return };
        let place = header.place(1).unwrap_or_default();
        let code = field_at(line, place);
        let Some(wanted) =
            self.codes.iter().position(|known| code.eq_ignore_ascii_case(known.code.as_bytes()))
        else {
            return self.report.add(Part::Codes, Outcome::Skipped);
        };
        if di.is_empty() || di.len() > 64 || split(line, header.columns).is_err() {
            let reason = "a wanted code in a row that can't be read";
            let di = String::from_utf8_lossy(di);
            return self.report.tell(Part::Codes, number, &di, Outcome::Doubtful, reason);
        }
        self.devices.entry(di.into()).or_default().codes.push((wanted, number));
        // Counted when it is known whether there is such a device.
    }

    #[cold]
    fn wanted(&mut self, part: Part, key: &[u8], line: &[u8], number: u64) {
        let Some((_, header, _)) = &self.header else { return };
        let Some(device) = self.devices.get_mut(key) else { return };
        let di = String::from_utf8_lossy(key).into_owned();
        let fields = match split(line, header.columns) {
            Ok(fields) => fields,
            Err(why) => {
                // A description that runs over two lines breaks a device's row: then nothing of it is certain.
                if part != Part::Identifiers {
                    device.doubt(format!("{part} line {number}: {why}"));
                }
                return self.report.tell(part, number, &di, Outcome::Doubtful, &why);
            }
        };
        let field = |column: usize| header.field(&fields, column);
        let (outcome, reason) = match part {
            Part::Codes => return,
            Part::Devices => {
                let row = DeviceRow {
                    line: number,
                    brand: tidy(field(1)),
                    version: tidy(field(2)),
                    catalogue_number: tidy(field(3)),
                    company: tidy(field(4)),
                    status: tidy(field(5)),
                    count: tidy(field(6)),
                    description: tidy(field(7)),
                };
                match &device.row {
                    None => {
                        // Its outcome is known when all files have been read.
                        device.row = Some(row);
                        return;
                    }
                    Some(first) if (DeviceRow { line: first.line, ..row.clone() }) == *first => {
                        (Outcome::Skipped, "the same row stands further up")
                    }
                    Some(first) => {
                        device.doubt(format!("lines {} and {number} tell it differently", first.line));
                        (Outcome::Doubtful, "another row of this device tells it differently")
                    }
                }
            }
            Part::Sizes => match typed::read(field(1), field(2), field(3), field(4)) {
                Typed::Diameter(mm) => {
                    device.diameters.push(mm);
                    (Outcome::Read, "")
                }
                Typed::Length(mm) => {
                    device.lengths.push(mm);
                    (Outcome::Read, "")
                }
                Typed::Size(diameter, length) => {
                    device.diameters.extend(diameter);
                    device.worded.extend(diameter.filter(|_| length.is_some()));
                    device.lengths.extend(length);
                    (Outcome::Read, "")
                }
                Typed::Unused(why) => (Outcome::Skipped, why),
                Typed::Doubtful(why) => (Outcome::Doubtful, why),
                Typed::Torn(why) => {
                    device.doubt(format!("deviceSizes.txt line {number}: {why}"));
                    (Outcome::Doubtful, why)
                }
            },
            Part::Identifiers => match field(2).to_ascii_lowercase().as_str() {
                "primary" => (Outcome::Read, ""),
                "secondary" => {
                    device.further.push((field(1).to_string(), number));
                    // Counted when it is known whose it is.
                    return;
                }
                "package" => (Outcome::Skipped, "a package of several boxes: its identifier is no box's"),
                "previous" => (Outcome::Skipped, "an identifier of an earlier version"),
                "unit of use" | "direct marking" => (Outcome::Skipped, "not the identifier of a box"),
                _ => (Outcome::Doubtful, "the type of this identifier is not known"),
            },
        };
        self.report.tell(part, number, &di, outcome, reason);
    }
}

/// Spaces run together count as one.
fn tidy(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
