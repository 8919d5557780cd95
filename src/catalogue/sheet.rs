//! Products as a table (CSV), one row a box, for people who live in spreadsheets.
//!
//! A table is turned into product files, and those are read as all product files are: every check is the same, and a
//! fault found there is told by the row and the column that it came from.

use super::keys::{BOX, DIAMETER, Key, PRODUCT};
use super::{Catalogue, Platform, Product, Sundry, product};
use crate::intake::{FileFault, table};
use crate::measure::Kind;
use crate::units::{counted, number};
use std::collections::{BTreeMap, HashMap};

/// Where the columns of a labelled diameter begin, and those of a box.
const OF_DIAMETER: usize = PRODUCT.len();
const OF_BOX: usize = PRODUCT.len() + DIAMETER.len();
/// The cells that name the product of a row and its kind.
const ID: usize = 0;
const KIND: usize = 3;

/// One product file to write.
#[derive(Debug, Clone, PartialEq)]
pub struct File {
    /// As it was read from `text`, every check passed.
    pub product: Product,
    /// The product file, to be written as it is.
    pub text: String,
}

/// One value for each key, in the order of the columns. What a product or a diameter has once may be in its first row
/// alone.
fn each<T>(
    product: impl Fn(&Key<Product>) -> T,
    diameter: impl Fn(&Key<Platform>) -> T,
    one_box: impl Fn(&Key<Sundry>) -> T,
) -> Vec<T> {
    PRODUCT.iter().map(product).chain(DIAMETER.iter().map(diameter)).chain(BOX.iter().map(one_box)).collect()
}

/// The columns in the order in which they are written.
pub fn columns() -> Vec<&'static str> {
    each(|key| key.column, |key| key.column, |key| key.column)
}

/// A table to begin with: the columns, and one box as an example.
pub fn template() -> String {
    let example = each(|key| key.example, |key| key.example, |key| key.example);
    table::write(columns(), [example])
}

/// Every box of a catalogue as a row.
pub fn write(catalogue: &Catalogue) -> String {
    table::write(columns(), catalogue.products.iter().flat_map(|product| rows_of(product, true)))
}

/// A product as the text of a product file.
pub fn text(product: &Product) -> String {
    let rows: Vec<SheetRow> =
        rows_of(product, false).into_iter().map(|cells| SheetRow { line: 0, cells }).collect();
    Draft::new("", &rows.iter().collect::<Vec<_>>()).text
}

/// Its boxes as rows, for a spreadsheet or as they are.
fn rows_of(product: &Product, spreadsheet: bool) -> Vec<Vec<String>> {
    let row = |platform: Option<&Platform>, sundry: &Sundry| {
        each(
            |key| key.cell(product, spreadsheet),
            |key| platform.map(|platform| key.cell(platform, spreadsheet)).unwrap_or_default(),
            |key| key.cell(sundry, spreadsheet),
        )
    };
    let sized = product.diameters.iter().flat_map(|platform| {
        platform.boxes.iter().map(move |pack| {
            let sundry =
                Sundry { length: Some(pack.length), reference: pack.reference.clone(), di: pack.di.clone() };
            row(Some(platform), &sundry)
        })
    });
    sized.chain(product.sundries.iter().map(|sundry| row(None, sundry))).collect()
}

/// One row and its line.
struct SheetRow {
    line: usize,
    cells: Vec<String>,
}

/// Reads a table: one product file for each product in it, by id.
///
/// # Errors
/// Every fault at once, each with its line and its column. Then nothing is taken.
pub fn read(file: &str, text: &str) -> Result<Vec<File>, Vec<FileFault>> {
    let columns = columns();
    let must = each(Key::must_have_column, Key::must_have_column, Key::must_have_column);
    let must: Vec<usize> = (0..columns.len()).filter(|column| must[*column]).collect();
    let mut rows = Vec::new();
    table::read(file, text, &columns, &must, |row, _| {
        let cells = (0..columns.len()).map(|column| row.cell(column).to_string());
        rows.push(SheetRow { line: row.line, cells: cells.collect() });
    })?;
    let mut products: BTreeMap<&str, Vec<&SheetRow>> = BTreeMap::new();
    for row in &rows {
        products.entry(&row.cells[ID]).or_default().push(row);
    }
    let nameless = products.remove("").unwrap_or_default();
    let mut faults: Vec<FileFault> =
        nameless.iter().map(|row| fault(file, row.line, columns[ID], "is missing")).collect();
    let mut files = Vec::new();
    for rows in products.into_values() {
        let Draft { text, lines, faults: found, .. } = Draft::new(file, &rows);
        if !found.is_empty() {
            faults.extend(found);
            continue;
        }
        match product::read(file, &text) {
            Ok(product) => files.push(File { product, text }),
            Err(found) => faults.extend(found.into_iter().map(|found| moved(file, found, &lines))),
        }
    }
    faults.sort_by_key(|fault| fault.line);
    if faults.is_empty() { Ok(files) } else { Err(faults) }
}

/// A fault of the product file, told by where the table says it.
fn moved(file: &str, found: FileFault, lines: &[usize]) -> FileFault {
    let line = lines.get(found.line.saturating_sub(1)).copied().unwrap_or(1);
    // The column is that of the last key on the way; what has no key of its own is the product's.
    let last = found.key.rsplit('.').next().unwrap_or_default();
    let name = last.split('[').next().unwrap_or_default();
    let column = each(|key| key.name, |key| key.name, |key| key.name).iter().position(|known| *known == name);
    fault(file, line, columns()[column.unwrap_or(ID)], found.message)
}

fn fault(file: &str, line: usize, column: &str, message: impl Into<String>) -> FileFault {
    FileFault { file: file.into(), line, key: column.into(), message: message.into() }
}

/// A product file in the making, and the row that each of its lines came from.
struct Draft<'a> {
    file: &'a str,
    text: String,
    lines: Vec<usize>,
    faults: Vec<FileFault>,
}

impl<'a> Draft<'a> {
    /// Of the rows of one product, at least one.
    fn new(file: &'a str, rows: &[&SheetRow]) -> Self {
        let mut draft = Draft { file, text: String::new(), lines: Vec::new(), faults: Vec::new() };
        draft.line(rows[0], "schema = 1");
        draft.once(PRODUCT, 0, rows);
        if rows.iter().any(|row| row.cells[KIND] == Kind::Other.name()) {
            for row in rows {
                let wrong = (OF_DIAMETER..OF_BOX).filter(|column| !row.cells[*column].is_empty());
                draft.faults.extend(wrong.map(|column| {
                    fault(
                        file,
                        row.line,
                        columns()[column],
                        format!("a product of kind {} has none", Kind::Other),
                    )
                }));
            }
            draft.boxes(rows);
            return draft;
        }
        let mut diameters: Vec<Vec<&SheetRow>> = Vec::new();
        let mut known: HashMap<String, usize> = HashMap::new();
        for row in rows {
            // 2.5 and 2,50 are one diameter.
            let cell = &row.cells[OF_DIAMETER];
            let name = number(cell).map_or_else(|| cell.clone(), |mm| mm.to_string());
            let place = *known.entry(name).or_insert(diameters.len());
            diameters.resize_with(diameters.len().max(place + 1), Vec::new);
            diameters[place].push(row);
        }
        for rows in diameters {
            draft.line(rows[0], "\n[[diameter]]");
            draft.once(DIAMETER, OF_DIAMETER, &rows);
            draft.boxes(&rows);
        }
        draft
    }

    fn line(&mut self, from: &SheetRow, text: &str) {
        self.text.push_str(text);
        self.text.push('\n');
        self.lines.extend(std::iter::repeat_n(from.line, 1 + text.matches('\n').count()));
    }

    /// What is once for several rows: the first cell that is not empty, and none that says otherwise.
    fn once<T>(&mut self, keys: &[Key<T>], first: usize, rows: &[&SheetRow]) {
        for (column, key) in (first..).zip(keys) {
            let mut given = rows.iter().filter(|row| !row.cells[column].is_empty());
            let Some(one) = given.next() else { continue };
            for other in given.filter(|row| row.cells[column] != one.cells[column]) {
                let message =
                    format!("{:?} here, {:?} in line {}", other.cells[column], one.cells[column], one.line);
                self.faults.push(fault(self.file, other.line, key.column, message));
            }
            if let Some(line) = self.value(key, column, one) {
                self.line(one, &line);
            }
        }
    }

    fn boxes(&mut self, rows: &[&SheetRow]) {
        self.line(rows[0], "boxes = [");
        for row in rows {
            let values: Vec<String> =
                (OF_BOX..).zip(BOX).filter_map(|(column, key)| self.value(key, column, row)).collect();
            self.line(row, &format!("  {{ {} }},", values.join(", ")));
        }
        self.line(rows[0], "]");
    }

    fn value<T>(&mut self, key: &Key<T>, column: usize, row: &SheetRow) -> Option<String> {
        key.line(&row.cells[column]).unwrap_or_else(|message| {
            self.faults.push(fault(self.file, row.line, key.column, message));
            None
        })
    }
}

/// What a table would change in a catalogue, one line a thing, in words.
pub fn changes(old: &Catalogue, files: &[File]) -> Vec<String> {
    let mut lines = Vec::new();
    for File { product: new, .. } in files {
        let after = by_reference(new);
        let Some(old) = old.product(&new.id) else {
            lines.push(format!("{}: new, {}", new.id, counted(after.len(), "box")));
            continue;
        };
        let before = by_reference(old);
        for (name, row) in &after {
            let Some(then) = before.get(name) else {
                lines.push(format!("{}: {name} is new", new.id));
                continue;
            };
            let cells =
                columns().into_iter().zip(then.iter().zip(row)).filter(|(_, (then, now))| then != now);
            lines.extend(cells.map(|(column, (then, now))| {
                format!("{}: {name}: {column}: {then:?} becomes {now:?}", new.id)
            }));
        }
        let gone = before.keys().filter(|name| !after.contains_key(*name));
        lines.extend(gone.map(|name| format!("{}: {name} goes", new.id)));
    }
    lines
}

/// The rows of a product by the catalogue number of each box; a further box of one number is counted.
fn by_reference(product: &Product) -> BTreeMap<String, Vec<String>> {
    let mut rows = BTreeMap::new();
    for row in rows_of(product, false) {
        let name = row[OF_BOX + 1].clone();
        let further = (2..).map(|count| format!("{name} ({count})"));
        let free = std::iter::once(name.clone()).chain(further).find(|name| !rows.contains_key(name));
        rows.extend(free.map(|name| (name, row)));
    }
    rows
}
