//! The recall list (CSV): lots that are not to be used, as a maker's notice names them.
//!
//! Header `lot`, and `di` if wanted, in any order. A row without an identifier recalls that lot of any product.

use crate::intake::{Fault, hint};
use crate::journal::same_text;
use crate::udi::DeviceId;

const COLUMNS: [&str; 2] = ["lot", "di"];

/// A lot, of one box or of any.
pub type RecalledLot = (Option<DeviceId>, String);

/// Reads a recall list; a row that stands twice counts once.
///
/// # Errors
/// Every fault at once, each with its line and its column; then nothing of the list is taken.
pub fn read(file: &str, text: &str) -> Result<Vec<RecalledLot>, Vec<Fault>> {
    // Spreadsheets put a byte-order mark in front.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let at = |line: u64, column: &str, message: String| Fault {
        file: file.into(),
        line: line as usize,
        key: column.into(),
        message,
    };
    let mut reader =
        csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let header = match reader.headers() {
        Ok(header) => header.clone(),
        Err(error) => return Err(vec![at(1, "", format!("this is no CSV: {error}"))]),
    };
    let mut faults = Vec::new();
    if header.len() == 1 && header[0].contains([';', '\t']) {
        return Err(vec![at(1, "", "the columns must be separated by commas".into())]);
    }
    for (place, name) in header.iter().enumerate() {
        if !COLUMNS.contains(&name) {
            faults.push(at(1, name, format!("no such column{}", hint(name, &COLUMNS))));
        } else if header.iter().take(place).any(|earlier| earlier == name) {
            faults.push(at(1, name, "stands twice".into()));
        }
    }
    let place = |column: &str| header.iter().position(|name| name == column);
    let (lots, identifiers) = (place("lot"), place("di"));
    if lots.is_none() {
        faults.push(at(1, "lot", "this column is missing".into()));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut list: Vec<RecalledLot> = Vec::new();
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                let line = error.position().map_or(1, csv::Position::line);
                faults.push(at(line, "", format!("this is no CSV: {error}")));
                continue;
            }
        };
        let line = record.position().map_or(1, |start| line_of(start, text));
        if record.len() != header.len() {
            faults.push(at(line, "", format!("{} cells under {} columns", record.len(), header.len())));
            continue;
        }
        let cell = |place: Option<usize>| place.and_then(|place| record.get(place)).unwrap_or_default();
        let lot = cell(lots);
        if lot.is_empty() {
            faults.push(at(line, "lot", "must not be empty: an empty lot would recall nothing".into()));
        } else if lot.chars().any(char::is_control) {
            faults.push(at(line, "lot", "holds a control character".into()));
        }
        let di = match cell(identifiers) {
            "" => None,
            text => match DeviceId::parse(text) {
                Ok(di) => Some(di),
                Err(fault) => {
                    faults.push(at(line, "di", format!("{text:?} is no device identifier: {fault}")));
                    None
                }
            },
        };
        if !is_in(&list, &di, lot) {
            list.push((di, lot.into()));
        }
    }
    if faults.is_empty() && list.is_empty() {
        faults.push(at(1, "", "no lot stands in this list".into()));
    }
    if faults.is_empty() { Ok(list) } else { Err(faults) }
}

/// Whether a list holds this very line.
pub fn is_in(list: &[RecalledLot], di: &Option<DeviceId>, lot: &str) -> bool {
    list.iter().any(|(of, known)| of == di && same_text(known, lot))
}

/// The line on which a record stands: its position counts from before the empty lines that were skipped.
fn line_of(start: &csv::Position, text: &str) -> u64 {
    let rest = text.as_bytes().get(start.byte() as usize..).unwrap_or_default();
    let skipped = rest.iter().take_while(|byte| matches!(byte, b'\n' | b'\r')).filter(|&&byte| byte == b'\n');
    start.line() + skipped.count() as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> Vec<String> {
        read("recall.csv", text).unwrap_err().iter().map(ToString::to_string).collect()
    }

    #[test]
    fn lots_with_and_without_an_identifier() {
        let list = read("recall.csv", "\u{feff}di,lot\n09521001300285,L1\n,L2\n\n, l2 \n").unwrap();
        assert_eq!(
            list,
            [(Some(DeviceId::parse("09521001300285").unwrap()), "L1".into()), (None, "L2".into())]
        );
    }

    #[test]
    fn every_fault_is_told_with_its_place_and_nothing_is_taken() {
        let faults = said("lot,di\nL1,09521001300286\n\n,09521001300285\nL2\n");
        assert_eq!(faults.len(), 3, "{faults:?}");
        assert!(faults[0].starts_with("recall.csv:2: di: "), "{faults:?}");
        assert!(faults[1].starts_with("recall.csv:4: lot: "), "{faults:?}");
        assert!(faults[2].starts_with("recall.csv:5: 1 cells"), "{faults:?}");
        assert!(said("lots\nL1\n")[0].contains("no such column"));
        assert!(said("lot\n")[0].contains("no lot"));
        assert!(said("lot;di\nL1;\n")[0].contains("commas"));
    }
}
