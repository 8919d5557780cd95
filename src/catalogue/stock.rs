//! The stock file (CSV): what is on hand, row by row.
//!
//! Header `di,lot,serial,use_by,shelf,count`, and `owner` if wanted; the columns are in any order. An owner is
//! `own`, `consigned`, or `borrowed from NAME`; an empty cell is `own`.

use super::{Catalogue, Owner, Piece};
use crate::intake::spreadsheet::text;
use crate::intake::{FileFault, table};
use crate::measure::{Caution, CautionCode};
use crate::udi::DeviceId;
use chrono::NaiveDate;
use std::collections::HashMap;
use std::fmt;
use std::str::FromStr;

/// The columns in the order in which they are written; the last may be left out.
pub const COLUMNS: [&str; 7] = ["di", "lot", "serial", "use_by", "shelf", "count", "owner"];
const WANTED: [usize; 6] = [0, 1, 2, 3, 4, 5];

/// A stock file to begin with, one piece as an example.
pub const TEMPLATE: &str = "di,lot,serial,use_by,shelf,count,owner\n\
                            09521001275293,FL62068,,2027-10-31,\"cupboard 1, shelf B\",2,own\n";

/// What a stock file says, checked. Cautions name things that the room should look at, and that stop nothing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stock {
    /// In the order of the file, a row each; those with a count of 0 too.
    pub pieces: Vec<Piece>,
    /// Each names the file, the line and the column.
    pub cautions: Vec<Caution>,
}

/// Reads a stock file. An identifier that no product has is a caution (`unknown-identifier`), not a fault: the
/// box is there all the same. So is a serial number that counts more than one piece (`serial-count`), or that stands
/// in two rows (`serial-twice`).
///
/// # Errors
/// Every fault at once, each with its line and its column.
pub fn read(file: &str, text: &str, catalogue: &Catalogue) -> Result<Stock, Vec<FileFault>> {
    let mut stock = Stock::default();
    let mut serials: HashMap<(DeviceId, String), usize> = HashMap::new();
    table::read(file, text, &COLUMNS, &WANTED, |row, faults| {
        let mut wrong = Vec::new();
        let piece = piece(|column| row.cell(column), &mut wrong);
        faults.extend(wrong.into_iter().map(|(column, message)| row.fault(column, message)));
        if let Some(piece) = piece {
            let twice = twice(&mut serials, &piece, row.line);
            let told = cautions(&piece, catalogue).chain(twice);
            let told = told
                .map(|(code, column, message)| Caution::new(code, row.fault(column, message).to_string()));
            stock.cautions.extend(told);
            stock.pieces.push(piece);
        }
    })?;
    Ok(stock)
}

/// One row, or what is wrong with it: column and message.
fn piece<'r>(cell: impl Fn(usize) -> &'r str, wrong: &mut Vec<(usize, String)>) -> Option<Piece> {
    let mut keep = |column: usize, message: String| wrong.push((column, message));
    let di = DeviceId::parse(cell(0))
        .map_err(|fault| keep(0, format!("{:?} is not a device identifier: {fault}", cell(0))))
        .ok();
    // A label may carry a serial number and no lot.
    for (column, stands) in [(1, !cell(2).is_empty()), (4, false)] {
        if cell(column).is_empty() && !stands {
            keep(column, "must not be empty".into());
        }
    }
    let use_by = date(cell(3));
    if use_by.is_none() {
        keep(3, format!("{:?} is not a date; write it as 2027-05-31", cell(3)));
    }
    let digits = !cell(5).is_empty() && cell(5).bytes().all(|byte| byte.is_ascii_digit());
    let count = if digits { cell(5).parse::<u32>().ok() } else { None };
    if count.is_none() {
        keep(5, format!("{:?} is not a count: a whole number, 0 or more", cell(5)));
    }
    let owner = cell(6).parse().map_err(|message| keep(6, message)).ok();
    let serial = Some(cell(2)).filter(|serial| !serial.is_empty()).map(str::to_string);
    if !wrong.is_empty() {
        return None;
    }
    let (lot, shelf) = (cell(1).to_string(), cell(4).to_string());
    Some(Piece { di: di?, lot, serial, use_by, shelf, count: count?, owner: owner? })
}

/// An ISO date with all its digits; `2027-5-31` may be a slip.
fn date(text: &str) -> Option<NaiveDate> {
    let shaped = text.len() == 10
        && text.bytes().enumerate().all(|(place, byte)| match place {
            4 | 7 => byte == b'-',
            _ => byte.is_ascii_digit(),
        });
    if shaped { NaiveDate::parse_from_str(text, "%Y-%m-%d").ok() } else { None }
}

impl fmt::Display for Owner {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Owner::Own => f.write_str("own"),
            Owner::Consigned => f.write_str("consigned"),
            Owner::Borrowed(lender) => write!(f, "borrowed from {lender}"),
        }
    }
}

impl FromStr for Owner {
    type Err = String;

    /// An empty text is `own`.
    fn from_str(text: &str) -> Result<Owner, String> {
        match text {
            "" | "own" => return Ok(Owner::Own),
            "consigned" => return Ok(Owner::Consigned),
            _ => {}
        }
        match text.strip_prefix("borrowed").and_then(|rest| rest.trim_start().strip_prefix("from ")) {
            Some(lender) if !lender.trim().is_empty() => Ok(Owner::Borrowed(lender.trim().into())),
            _ if text.starts_with("borrowed") => Err("borrowed from whom? Write: borrowed from NAME".into()),
            _ => Err(format!("{text:?} is not one of own, consigned, borrowed from NAME")),
        }
    }
}

fn cautions<'p>(
    piece: &'p Piece,
    catalogue: &Catalogue,
) -> impl Iterator<Item = (CautionCode, usize, String)> + use<'p> {
    let unknown = catalogue.find(&piece.di).is_none().then(|| {
        (
            CautionCode::UnknownIdentifier,
            0,
            format!("no product of the catalogue has the identifier {}", piece.di),
        )
    });
    let doubled = piece.serial.as_ref().filter(|_| piece.count > 1).map(|serial| {
        let message = format!("the serial number {serial} names one piece, the row counts {}", piece.count);
        (CautionCode::SerialCount, 2, message)
    });
    unknown.into_iter().chain(doubled)
}

/// A serial number names one piece: whether it is there in an earlier row too.
fn twice(
    seen: &mut HashMap<(DeviceId, String), usize>,
    piece: &Piece,
    line: usize,
) -> Option<(CautionCode, usize, String)> {
    let serial = piece.serial.clone().filter(|_| piece.count > 0)?;
    let message = format!("the serial number {serial} names one piece, and stands in line ");
    let first = seen.insert((piece.di.clone(), serial), line)?;
    Some((CautionCode::SerialTwice, 2, format!("{message}{first} too")))
}

/// The pieces as a stock file. A piece without a use-by date (its label shows none) is written with an empty
/// cell, which `read` refuses: somebody has to look at the box.
pub fn write(pieces: &[Piece]) -> String {
    let rows = pieces.iter().map(|piece| {
        [
            text(piece.di.as_str()),
            text(&piece.lot),
            text(piece.serial.as_deref().unwrap_or_default()),
            piece.use_by.map(|day| day.to_string()).unwrap_or_default(),
            text(&piece.shelf),
            piece.count.to_string(),
            text(&piece.owner.to_string()),
        ]
    });
    table::write(COLUMNS, rows)
}

/// Pieces on hand that are in date (up to and on the use-by day), by their identifiers.
#[derive(Debug)]
pub struct InDate<'a>(HashMap<&'a DeviceId, u32>);

impl<'a> InDate<'a> {
    /// Of these pieces on this day.
    pub fn new(pieces: &'a [Piece], today: NaiveDate) -> Self {
        let mut counts = HashMap::new();
        for piece in pieces.iter().filter(|piece| piece.in_date(today)) {
            let count: &mut u32 = counts.entry(&piece.di).or_default();
            *count = count.saturating_add(piece.count);
        }
        InDate(counts)
    }

    /// How many of a box: all its identifiers add up.
    pub fn count(&self, di: &[DeviceId]) -> u32 {
        di.iter().filter_map(|di| self.0.get(di)).copied().fold(0, u32::saturating_add)
    }
}
