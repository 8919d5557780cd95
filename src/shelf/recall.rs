//! The recall list (CSV): lots that are not to be used, as a maker's notice names them.
//!
//! Header `lot`, and `di` if wanted, in any order. A row without an identifier recalls that lot of any product.

use crate::intake::{FileFault, table};
use crate::journal::text_key;
use crate::udi::DeviceId;
use std::collections::HashSet;

const COLUMNS: [&str; 2] = ["lot", "di"];
const LOT: usize = 0;
const DI: usize = 1;

/// A lot, of one box or of any.
pub type RecalledLot = (Option<DeviceId>, String);

/// Reads a recall list; a row that is twice counts once.
///
/// # Errors
/// Every fault at once, each with its line and its column; then nothing of the list is taken.
pub fn read(file: &str, text: &str) -> Result<Vec<RecalledLot>, Vec<FileFault>> {
    let mut list: Vec<RecalledLot> = Vec::new();
    let mut known = HashSet::new();
    table::read(file, text, &COLUMNS, &[LOT], |row, faults| {
        let lot = row.cell(LOT);
        if lot.is_empty() {
            faults.push(row.fault(LOT, "must not be empty: an empty lot would recall nothing"));
        } else if lot.chars().any(char::is_control) {
            faults.push(row.fault(LOT, "holds a control character"));
        }
        let di = match row.cell(DI) {
            "" => None,
            text => match DeviceId::parse(text) {
                Ok(di) => Some(di),
                Err(fault) => {
                    faults.push(row.fault(DI, format!("{text:?} is not a device identifier: {fault}")));
                    None
                }
            },
        };
        if known.insert((di.clone(), text_key(lot))) {
            list.push((di, lot.into()));
        }
    })?;
    if list.is_empty() {
        let message = "no lot stands in this list".into();
        return Err(vec![FileFault { file: file.into(), line: 1, key: String::new(), message }]);
    }
    Ok(list)
}

/// Those of a list that another does not hold.
pub fn new_in<'a>(list: &'a [RecalledLot], known: &[RecalledLot]) -> Vec<&'a RecalledLot> {
    let key = |(di, lot): &RecalledLot| (di.clone(), text_key(lot));
    let known: HashSet<_> = known.iter().map(key).collect();
    list.iter().filter(|line| !known.contains(&key(line))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> Vec<String> {
        read("recall.csv", text).unwrap_err().iter().map(ToString::to_string).collect()
    }

    #[test]
    fn lots_with_and_without_an_identifier() {
        let list = read("recall.csv", "\u{feff}di,lot\n09521001300292,L1\n,L2\n\n, l2 \n").unwrap();
        assert_eq!(
            list,
            [(Some(DeviceId::parse("09521001300292").unwrap()), "L1".into()), (None, "L2".into())]
        );
    }

    #[test]
    fn every_fault_is_told_with_its_place_and_nothing_is_taken() {
        let faults = said("lot,di\nL1,09521001300293\n\n,09521001300292\nL2\n");
        assert_eq!(faults.len(), 3, "{faults:?}");
        assert!(faults[0].starts_with("recall.csv:2: di: "), "{faults:?}");
        assert!(faults[1].starts_with("recall.csv:4: lot: "), "{faults:?}");
        assert!(faults[2].starts_with("recall.csv:5: 1 cell "), "{faults:?}");
        assert!(said("lots\nL1\n")[0].contains("no such column"));
        assert!(said("lot\n")[0].contains("no lot"));
        assert!(said("lot;di\nL1;\n")[0].contains("commas"));
    }
}
