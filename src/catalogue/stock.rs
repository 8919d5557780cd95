//! The stock file (CSV): what is on hand, row by row.
//!
//! Header `di,lot,serial,use_by,shelf,count`, and `owner` if wanted; the columns stand in any order. An owner is
//! `own`, `consigned`, or `borrowed from NAME`; an empty cell is `own`.

use super::{Catalogue, Owner, Piece};
use crate::intake::{Fault, table};
use crate::measure::Caution;
use crate::udi::DeviceId;
use chrono::NaiveDate;
use std::collections::{HashMap, HashSet};

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
/// box lies there all the same. So is a serial number that counts more than one piece (`serial-count`), or that stands
/// in two rows (`serial-twice`).
///
/// # Errors
/// Every fault at once, each with its line and its column.
pub fn read(file: &str, text: &str, catalogue: &Catalogue) -> Result<Stock, Vec<Fault>> {
    let identifiers: HashSet<&DeviceId> = catalogue.identifiers().collect();
    let mut stock = Stock::default();
    let mut serials: HashMap<(DeviceId, String), usize> = HashMap::new();
    table::read(file, text, &COLUMNS, &WANTED, |row, faults| {
        let mut wrong = Vec::new();
        let piece = piece(|column| row.cell(column), &mut wrong);
        faults.extend(wrong.into_iter().map(|(column, message)| row.fault(column, message)));
        if let Some(piece) = piece {
            let twice = twice(&mut serials, &piece, row.line);
            let told = cautions(&piece, &identifiers).chain(twice);
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
        .map_err(|fault| keep(0, format!("{:?} is no device identifier: {fault}", cell(0))))
        .ok();
    // A label may carry a serial number and no lot.
    for (column, stands) in [(1, !cell(2).is_empty()), (4, false)] {
        if cell(column).is_empty() && !stands {
            keep(column, "must not be empty".into());
        }
    }
    let use_by = date(cell(3));
    if use_by.is_none() {
        keep(3, format!("{:?} is no date; write it as 2027-05-31", cell(3)));
    }
    let digits = !cell(5).is_empty() && cell(5).bytes().all(|byte| byte.is_ascii_digit());
    let count = if digits { cell(5).parse::<u32>().ok() } else { None };
    if count.is_none() {
        keep(5, format!("{:?} is no count: a whole number, 0 or more", cell(5)));
    }
    let owner = owner(cell(6)).map_err(|message| keep(6, message)).ok();
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

/// Reads `own`, `consigned`, or `borrowed from NAME`; an empty text is `own`.
///
/// # Errors
/// What was given is none of them, or nobody is named after `borrowed`.
pub fn owner(text: &str) -> Result<Owner, String> {
    match text {
        "" | "own" => return Ok(Owner::Own),
        "consigned" => return Ok(Owner::Consigned),
        _ => {}
    }
    match text.strip_prefix("borrowed").and_then(|rest| rest.trim_start().strip_prefix("from ")) {
        Some(lender) if !lender.trim().is_empty() => Ok(Owner::Borrowed(lender.trim().into())),
        _ if text.starts_with("borrowed") => Err("borrowed from whom? Write: borrowed from NAME".into()),
        _ => Err(format!("{text:?} is none of own, consigned, borrowed from NAME")),
    }
}

fn cautions<'p>(
    piece: &'p Piece,
    known: &HashSet<&DeviceId>,
) -> impl Iterator<Item = (&'static str, usize, String)> + use<'p> {
    let unknown = (!known.contains(&piece.di)).then(|| {
        ("unknown-identifier", 0, format!("no product of the catalogue has the identifier {}", piece.di))
    });
    let doubled = piece.serial.as_ref().filter(|_| piece.count > 1).map(|serial| {
        let message = format!("the serial number {serial} names one piece, the row counts {}", piece.count);
        ("serial-count", 2, message)
    });
    unknown.into_iter().chain(doubled)
}

/// A serial number names one piece: whether it lies there in an earlier row too.
fn twice(
    seen: &mut HashMap<(DeviceId, String), usize>,
    piece: &Piece,
    line: usize,
) -> Option<(&'static str, usize, String)> {
    let serial = piece.serial.clone().filter(|_| piece.count > 0)?;
    let message = format!("the serial number {serial} names one piece, and stands in line ");
    let first = seen.insert((piece.di.clone(), serial), line)?;
    Some(("serial-twice", 2, format!("{message}{first} too")))
}

/// The pieces as a stock file. A piece without a use-by date (its label shows none) is written with an empty
/// cell, which `read` refuses: somebody has to look at the box.
pub fn write(pieces: &[Piece]) -> String {
    let rows = pieces.iter().map(|piece| {
        let owner = match &piece.owner {
            Owner::Own => "own".into(),
            Owner::Consigned => "consigned".into(),
            Owner::Borrowed(lender) => format!("borrowed from {lender}"),
        };
        [
            piece.di.to_string(),
            piece.lot.clone(),
            piece.serial.clone().unwrap_or_default(),
            piece.use_by.map(|day| day.to_string()).unwrap_or_default(),
            piece.shelf.clone(),
            piece.count.to_string(),
            owner,
        ]
    });
    table::write(COLUMNS, rows)
}

/// How many pieces of a box are on hand and in date (up to and on the use-by day): all its identifiers add up.
pub fn on_shelf(pieces: &[Piece], di: &[DeviceId], today: NaiveDate) -> u32 {
    let counted = pieces.iter().filter(|piece| di.contains(&piece.di) && piece.in_date(today));
    counted.fold(0, |sum, piece| sum.saturating_add(piece.count))
}
