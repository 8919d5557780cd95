//! A label written: the element string of GS1, the line under the bars, and the symbol itself.
//!
//! Invariant: writes only what `read` reads back as the same; knows no catalogue and no terminal.
//!
//! Sources: @gs1-strings (order and separators), @gs1-syntax-dictionary (lengths, set 82), @iso-16022 (the symbol,
//! through the crate `datamatrix`).

use super::carrier::{Ch, GS};
use super::dates;
use super::gs1_table;
use super::gs1_value::{self, ValueFault};
use crate::udi::{DeviceId, Issuer};
use crate::units::counted;
use chrono::{Datelike, NaiveDate};
use datamatrix::{DataMatrixBuilder, SymbolList, data::DataEncodingError};
use thiserror::Error;

/// What a written label says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Content {
    /// A GTIN: HIBC and ISBT 128 are read, not written.
    pub di: DeviceId,
    /// 1 to 20 characters of set 82.
    pub lot: Option<String>,
    /// 1 to 20 characters of set 82.
    pub serial: Option<String>,
    /// From 49 years before the year of writing to 50 after it.
    pub use_by: Option<NaiveDate>,
}

/// Why a label can't be written, or a symbol can't be drawn.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WriteError {
    /// The identifier is not a GTIN.
    #[error("{di} is no GTIN: give the GTIN of 8, 12, 13 or 14 digits")]
    NoGtin {
        /// As it was given.
        di: String,
    },
    /// The field is there but has no character.
    #[error("the {field} is empty: leave it out, or give what is printed")]
    Empty {
        /// In words.
        field: &'static str,
    },
    /// The field is longer than its greatest length.
    #[error("the {field} is longer than {}: compare it with the box", counted(*greatest, "character"))]
    TooLong {
        /// In words.
        field: &'static str,
        /// In characters.
        greatest: usize,
    },
    /// A character that is not in set 82, at a character of the field (from 0).
    #[error("character {} of the {field} can't stand on a GS1 label: compare it with the box", at + 1)]
    Charset {
        /// In words.
        field: &'static str,
        /// Characters before it.
        at: usize,
    },
    /// The field holds `<GS>`, which scanners send for a separator: it would be read as two fields.
    #[error("the {field} holds <GS>, which a scanner sends for a separator: compare it with the box")]
    Separator {
        /// In words.
        field: &'static str,
    },
    /// Two digits can't say this year to a reader of the year given.
    #[error("two digits can't say the year of {use_by}: it lies too far from this year")]
    Century {
        /// As it was given.
        use_by: NaiveDate,
    },
    /// No symbol holds so much.
    #[error("this is too long for a Data Matrix: give shorter fields")]
    TooMuch,
}

/// The element string as a symbol carries it: 01, then 17, then 10, then 21, with GS (0x1D) behind the lot when a
/// serial follows. Fields of fixed length are first, so that no other separator is due. The FNC1 with which the
/// symbol opens is not among the bytes: a reader sends it as `]d2`, see [`scanned`].
///
/// `year` is the year of writing; it bounds the use-by date as [`super::Settings::year`] does for the reader.
///
/// # Errors
/// [`WriteError`], the first in the order identifier, use-by, lot, serial.
pub fn element_string(content: &Content, year: i32) -> Result<Vec<u8>, WriteError> {
    let fields = fields(content, year)?;
    let mut text = String::new();
    let mut open = false;
    for (code, value) in fields {
        if open {
            text.push(GS);
        }
        text.push_str(code);
        text.push_str(&value);
        open = !gs1_table::find(code).is_some_and(|ai| ai.predefined);
    }
    Ok(text.into_bytes())
}

/// The line under the bars, identifiers in round brackets.
///
/// # Errors
/// As [`element_string`].
pub fn human_readable(content: &Content, year: i32) -> Result<String, WriteError> {
    Ok(fields(content, year)?.iter().map(|(code, value)| format!("({code}){value}")).collect())
}

/// What a scanner sends for the symbol of these bytes: `]d2` and the bytes.
pub fn scanned(element_string: &[u8]) -> Vec<u8> {
    [b"]d2", element_string].concat()
}

/// Identifiers and values in the order of writing.
fn fields(content: &Content, year: i32) -> Result<Vec<(&'static str, String)>, WriteError> {
    if content.di.issuer() != Issuer::Gs1 {
        return Err(WriteError::NoGtin { di: content.di.to_string() });
    }
    let mut fields = vec![("01", content.di.to_string())];
    if let Some(day) = content.use_by {
        if dates::full_year(day.year().rem_euclid(100), year) != day.year() {
            return Err(WriteError::Century { use_by: day });
        }
        fields.push(("17", day.format("%y%m%d").to_string()));
    }
    for (code, field, value) in [("10", "lot", &content.lot), ("21", "serial", &content.serial)] {
        if let Some(value) = value {
            fits(code, field, value, year)?;
            fields.push((code, value.clone()));
        }
    }
    Ok(fields)
}

/// The reader's own rule for the value, so that the two can't part.
fn fits(code: &str, field: &'static str, value: &str, year: i32) -> Result<(), WriteError> {
    if value.contains("<GS>") {
        return Err(WriteError::Separator { field });
    }
    let chars: Vec<Ch> = value.chars().enumerate().map(|(at, c)| Ch { c, at }).collect();
    let Some(ai) = gs1_table::find(code) else { return Ok(()) };
    match gs1_value::check(ai, &chars, year) {
        Ok(_) => Ok(()),
        Err((ValueFault::TooLong, _)) => Err(WriteError::TooLong { field, greatest: ai.greatest() }),
        Err((ValueFault::Empty | ValueFault::Truncated, _)) => Err(WriteError::Empty { field }),
        Err((_, at)) => Err(WriteError::Charset { field, at }),
    }
}

/// The modules of a symbol, without quiet zone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Matrix {
    width: usize,
    bits: Vec<bool>,
}

/// A Data Matrix (ECC 200) that is marked as GS1: FNC1 is first. A GS inside is written as GS, which GS1 allows
/// as well as FNC1 and which readers give out alike.
///
/// # Errors
/// [`WriteError::TooMuch`].
pub fn gs1_matrix(element_string: &[u8]) -> Result<Matrix, WriteError> {
    encode(element_string, true)
}

/// A plain Data Matrix (ECC 200), as the command card has them.
///
/// # Errors
/// [`WriteError::TooMuch`].
pub fn plain_matrix(bytes: &[u8]) -> Result<Matrix, WriteError> {
    encode(bytes, false)
}

fn encode(bytes: &[u8], gs1: bool) -> Result<Matrix, WriteError> {
    // Square ones only: they are what labels of implants show. No macros: they would hide an envelope's characters.
    let symbol = DataMatrixBuilder::new()
        .with_symbol_list(SymbolList::default().enforce_square())
        .with_macros(false)
        .with_fnc1_start(gs1)
        .encode(bytes)
        .map_err(|_: DataEncodingError| WriteError::TooMuch)?;
    let bitmap = symbol.bitmap();
    Ok(Matrix { width: bitmap.width(), bits: bitmap.bits().to_vec() })
}

/// The quiet zone of every picture, in modules. ISO/IEC 16022 asks for one; two forgive a cramped screen.
pub const QUIET: usize = 2;

/// What a terminal shows where nothing is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    /// Light letters on a dark screen: the light modules are drawn.
    Dark,
    /// Dark letters on a light screen: the dark modules are drawn.
    Light,
}

impl Matrix {
    /// In modules.
    pub fn width(&self) -> usize {
        self.width
    }

    /// In modules.
    pub fn height(&self) -> usize {
        self.bits.len() / self.width.max(1)
    }

    /// Is this module dark? Column and row from 0 at the top left; outside the symbol all is light.
    pub fn dark(&self, column: usize, row: usize) -> bool {
        column < self.width && self.bits.get(row * self.width + column).copied().unwrap_or(false)
    }

    /// Counted from the corner of the quiet zone.
    fn dark_in_frame(&self, x: usize, y: usize) -> bool {
        x.checked_sub(QUIET).zip(y.checked_sub(QUIET)).is_some_and(|(column, row)| self.dark(column, row))
    }

    /// Dark modules as one path of SVG, a module one unit; the symbol's corner is at (x, y).
    pub(super) fn path(&self, x: usize, y: usize) -> String {
        let mut path = String::new();
        for row in 0..self.height() {
            let mut column = 0;
            while column < self.width {
                let run = (column..self.width).take_while(|c| self.dark(*c, row)).count();
                if run > 0 {
                    path.push_str(&format!("M{} {}h{run}v1h-{run}z", x + column, y + row));
                }
                column += run.max(1);
            }
        }
        path
    }

    /// A picture of its own with quiet zone, `module` millimetres a module (0.25 to 1 is usual).
    pub fn svg(&self, module: f64) -> String {
        let (width, height) = (self.width + 2 * QUIET, self.height() + 2 * QUIET);
        let mm = |modules: usize| modules as f64 * module;
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{:.2}mm\" height=\"{:.2}mm\" \
             viewBox=\"0 0 {width} {height}\" shape-rendering=\"crispEdges\">\n\
             <rect width=\"{width}\" height=\"{height}\" fill=\"white\"/>\n<path d=\"{}\" fill=\"black\"/>\n</svg>\n",
            mm(width),
            mm(height),
            self.path(QUIET, QUIET)
        )
    }

    /// A picture of half blocks, two rows a line, with quiet zone.
    pub fn half_blocks(&self, ground: Ground) -> String {
        let drawn = |x, y| self.dark_in_frame(x, y) == (ground == Ground::Light);
        let mut text = String::new();
        for y in (0..self.height() + 2 * QUIET).step_by(2) {
            for x in 0..self.width + 2 * QUIET {
                text.push(match (drawn(x, y), drawn(x, y + 1)) {
                    (true, true) => '█',
                    (true, false) => '▀',
                    (false, true) => '▄',
                    (false, false) => ' ',
                });
            }
            text.push('\n');
        }
        text
    }

    /// A picture of `##` and spaces, two columns a module, with quiet zone. For eyes and files: whether a scanner
    /// reads it from a screen depends on the letters.
    pub fn ascii(&self, ground: Ground) -> String {
        let mut text = String::new();
        for y in 0..self.height() + 2 * QUIET {
            for x in 0..self.width + 2 * QUIET {
                let drawn = self.dark_in_frame(x, y) == (ground == Ground::Light);
                text.push_str(if drawn { "##" } else { "  " });
            }
            text.push('\n');
        }
        text
    }
}
