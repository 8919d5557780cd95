//! Tables (CSV) as spreadsheets write them: the columns in any order, each row with its line, every fault in one run.

#![allow(clippy::cast_possible_truncation, reason = "bytes and lines of a file on a machine of 64 bits")]

use super::spreadsheet::unquoted;
use super::{FileFault, hint, steers};
use crate::units::counted;
use csv::{Position, ReaderBuilder, StringRecord, Trim};

/// Characters of a cell that a message shows.
const SHOWN: usize = 40;

/// One row that has as many cells as the header.
#[derive(Debug, Clone, Copy)]
pub struct Row<'a> {
    /// From 1.
    pub line: usize,
    file: &'a str,
    columns: &'a [&'a str],
    places: &'a [Option<usize>],
    record: &'a StringRecord,
}

impl<'a> Row<'a> {
    /// What stands in a column, by its place in the list of columns, without the apostrophe that keeps a spreadsheet
    /// from changing it; empty where the table lacks it.
    pub fn cell(&self, column: usize) -> &'a str {
        unquoted(self.places[column].and_then(|place| self.record.get(place)).unwrap_or(""))
    }

    /// What is wrong in a column of this row.
    pub fn fault(&self, column: usize, message: impl Into<String>) -> FileFault {
        at(self.file, self.line, self.columns[column], message)
    }
}

/// The same the other way: a table with these columns and rows.
///
/// # Panics
/// Never: memory takes every row, and all rows are equally long.
pub fn write<C: AsRef<[u8]>, T: AsRef<[u8]>>(
    columns: impl IntoIterator<Item = C>,
    rows: impl IntoIterator<Item = impl IntoIterator<Item = T>>,
) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(columns).expect("a row of text goes into memory");
    for row in rows {
        writer.write_record(row).expect("a row of text goes into memory");
    }
    let bytes = writer.into_inner().expect("memory is flushed without a fault");
    String::from_utf8(bytes).expect("text stays text")
}

/// Hands over each row in turn; what is wrong in it, `each` adds to the faults. `columns` are the names known here,
/// `wanted` the places of those that must be there.
///
/// # Errors
/// Every fault of the header; else every fault of the rows, in the order of their lines.
pub fn read(
    file: &str,
    text: &str,
    columns: &[&str],
    wanted: &[usize],
    mut each: impl FnMut(Row, &mut Vec<FileFault>),
) -> Result<(), Vec<FileFault>> {
    // Spreadsheets put a byte-order mark in front.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = ReaderBuilder::new().flexible(true).trim(Trim::All).from_reader(text.as_bytes());
    let header = match reader.headers() {
        Ok(header) => header.clone(),
        Err(error) => return Err(vec![at(file, 1, "", format!("not valid CSV: {error}"))]),
    };
    let places = places(file, &header, columns, wanted)?;
    let mut faults = Vec::new();
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                let line = error.position().map_or(1, Position::line) as usize;
                faults.push(at(file, line, "", format!("not valid CSV: {error}")));
                continue;
            }
        };
        let line = record.position().map_or(1, |start| line_of(start, text));
        if let Some(cell) = unseen(&record) {
            let message = format!(
                "the cell that begins with {:?} holds a line break, a tab or another character that is not printed, \
                 or its quotation mark is not closed: type it again",
                cell.chars().take_while(|c| !steers(*c)).take(SHOWN).collect::<String>()
            );
            faults.push(at(file, line, "", message));
        } else if record.len() == header.len() {
            each(Row { line, file, columns, places: &places, record: &record }, &mut faults);
        } else {
            let message =
                format!("{} under {}", counted(record.len(), "cell"), counted(header.len(), "column"));
            faults.push(at(file, line, "", message));
        }
    }
    if faults.is_empty() || !crate::control::holds("recall-list-whole-or-not") { Ok(()) } else { Err(faults) }
}

/// A cell with a character that nobody sees and no label has.
fn unseen(record: &StringRecord) -> Option<&str> {
    record.iter().find(|cell| cell.chars().any(steers))
}

/// Where each of the columns is in the file.
fn places(
    file: &str,
    header: &StringRecord,
    columns: &[&str],
    wanted: &[usize],
) -> Result<Vec<Option<usize>>, Vec<FileFault>> {
    if header.len() == 1
        && let Some(found) = header[0].chars().find(|c| [';', '\t'].contains(c))
    {
        let found = if found == ';' { "semicolons" } else { "tabs" };
        let message = format!("{found} stand between the columns: save the table as CSV with commas");
        return Err(vec![at(file, 1, "", message)]);
    }
    let mut faults = Vec::new();
    let mut places = vec![None; columns.len()];
    for (place, name) in header.iter().enumerate() {
        match columns.iter().position(|column| *column == name) {
            None => faults.push(at(file, 1, name, format!("no such column{}", hint(name, columns)))),
            Some(column) if places[column].is_some() => faults.push(at(file, 1, name, "stands twice")),
            Some(column) => places[column] = Some(place),
        }
    }
    let missing = wanted.iter().filter(|column| places[**column].is_none());
    faults.extend(missing.map(|column| at(file, 1, columns[*column], "this column is missing")));
    if faults.is_empty() { Ok(places) } else { Err(faults) }
}

/// The line on which a record stands: its position counts from before the empty lines that were skipped.
fn line_of(start: &Position, text: &str) -> usize {
    let rest = text.as_bytes().get(start.byte() as usize..).unwrap_or_default();
    let skipped = rest.iter().take_while(|byte| matches!(byte, b'\n' | b'\r')).filter(|&&byte| byte == b'\n');
    start.line() as usize + skipped.count()
}

fn at(file: &str, line: usize, column: &str, message: impl Into<String>) -> FileFault {
    FileFault { file: file.into(), line, key: column.into(), message: message.into() }
}
