//! Products as a table (CSV), one row a box, for people who live in spreadsheets.
//!
//! A table is turned into product files, and those are read as all product files are: every check is the same, and a
//! fault found there is told by the row and the column that it came from.

use super::{Catalogue, Platform, Product, product};
use crate::intake::{Fault, quoted, table};
use crate::measure::Kind;
use crate::units::{counted, number};
use std::collections::BTreeMap;
use std::fmt::Write;

/// The columns in the order in which they are written. What a product or a diameter has once may stand in its first
/// row alone.
pub const COLUMNS: [&str; 20] = [
    "product",
    "name",
    "maker",
    "kind",
    "material",
    "strut_um",
    "shaft_cm",
    "wire_in",
    "guide_min_id_in",
    "price",
    "verified",
    "diameter_mm",
    "crossing_mm",
    "expansion_limit_mm",
    "nominal_atm",
    "rated_burst_atm",
    "chart",
    "length_mm",
    "ref",
    "di",
];
const PRODUCT: usize = 0;
/// The columns of a product end before this one, those of a diameter before `LENGTH`.
const DIAMETER: usize = 11;
const CHART: usize = 16;
const LENGTH: usize = 17;
const REF: usize = 18;
const DI: usize = 19;
const TEXTS: [usize; 5] = [0, 1, 2, 3, 4];
const VERIFIED: usize = 10;

/// One product file to write.
#[derive(Debug, Clone, PartialEq)]
pub struct File {
    /// As it was read from `text`, every check passed.
    pub product: Product,
    /// The product file, to be written as it is.
    pub text: String,
}

/// A table to begin with: the columns, and one box as an example.
pub fn template() -> String {
    let example = [
        "fell",
        "Fell",
        "Lowfell (invented)",
        "drug-eluting stent",
        "cobalt-chromium",
        "78",
        "146",
        "0.014",
        "0.055",
        "",
        "yes",
        "2.75",
        "1.04",
        "3.40",
        "11",
        "18",
        "8:2.62 11:2.75 14:2.84 18:2.95",
        "29",
        "FL27529",
        "09521001275293",
    ];
    table::write(COLUMNS, std::iter::once(example.map(String::from)))
}

/// Every box of a catalogue as a row.
pub fn write(catalogue: &Catalogue) -> String {
    let mut rows = Vec::new();
    for product in &catalogue.products {
        for platform in &product.diameters {
            for pack in &platform.boxes {
                let length = pack.length.mm().to_string();
                rows.push(cells(product, Some(platform), [length, pack.reference.clone(), ids(&pack.di)]));
            }
        }
        for sundry in &product.sundries {
            let length = sundry.length.map(|length| length.mm().to_string()).unwrap_or_default();
            rows.push(cells(product, None, [length, sundry.reference.clone(), ids(&sundry.di)]));
        }
    }
    table::write(COLUMNS, rows.into_iter())
}

fn ids(di: &[crate::udi::DeviceId]) -> String {
    di.iter().map(|di| di.as_str()).collect::<Vec<_>>().join(" ")
}

fn cells(product: &Product, platform: Option<&Platform>, last: [String; 3]) -> [String; 20] {
    let value = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
    let rows = platform.and_then(|platform| platform.chart.as_ref()).map(|chart| {
        let rows = chart.rows.iter().map(|(atm, mm)| format!("{}:{}", atm.atm(), mm.mm()));
        rows.collect::<Vec<_>>().join(" ")
    });
    let [length, reference, di] = last;
    [
        product.id.clone(),
        product.name.clone(),
        product.maker.clone(),
        product.kind.to_string(),
        product.material.clone().unwrap_or_default(),
        value(product.strut_um),
        value(product.shaft_cm),
        value(product.wire.map(|wire| wire.inches())),
        value(product.guide_min_id.map(|bore| bore.inches())),
        value(product.price),
        if product.verified { "yes".into() } else { "no".into() },
        value(platform.map(|platform| platform.diameter.mm())),
        value(platform.and_then(|platform| platform.crossing).map(|mm| mm.mm())),
        value(platform.and_then(|platform| platform.expansion_limit).map(|mm| mm.mm())),
        value(platform.and_then(|platform| platform.nominal()).map(|atm| atm.atm())),
        value(platform.and_then(|platform| platform.rated_burst()).map(|atm| atm.atm())),
        rows.unwrap_or_default(),
        length,
        reference,
        di,
    ]
}

/// One row and the line on which it stands.
struct Row {
    line: usize,
    cells: [String; 20],
}

/// Reads a table: one product file for each product in it, by id.
///
/// # Errors
/// Every fault at once, each with its line and its column. Then nothing is taken.
pub fn read(file: &str, text: &str) -> Result<Vec<File>, Vec<Fault>> {
    let rows = rows(file, text)?;
    let mut products: BTreeMap<&str, Vec<&Row>> = BTreeMap::new();
    let mut faults = Vec::new();
    for row in &rows {
        if row.cells[PRODUCT].is_empty() {
            faults.push(fault(file, row.line, PRODUCT, "is missing"));
        }
        products.entry(&row.cells[PRODUCT]).or_default().push(row);
    }
    let mut files = Vec::new();
    for rows in products.into_values().filter(|rows| !rows[0].cells[PRODUCT].is_empty()) {
        let mut draft = Draft { file, text: String::new(), origin: Vec::new(), faults: Vec::new() };
        draft.product(&rows);
        let Draft { text, origin, faults: found, .. } = draft;
        if !found.is_empty() {
            faults.extend(found);
            continue;
        }
        match product::read(file, &text) {
            Ok(product) => files.push(File { product, text }),
            Err(found) => faults.extend(found.into_iter().map(|found| moved(file, found, &origin))),
        }
    }
    faults.sort_by_key(|fault| fault.line);
    if faults.is_empty() { Ok(files) } else { Err(faults) }
}

/// A fault of the product file, told by where the table says it.
fn moved(file: &str, found: Fault, origin: &[(usize, usize)]) -> Fault {
    let (line, column) = origin.get(found.line.saturating_sub(1)).copied().unwrap_or((1, PRODUCT));
    // A key that is missing stands on the first line of its table: the column is the key's own.
    let last = found.key.rsplit('.').next().unwrap_or_default();
    let key = last.split('[').next().unwrap_or_default();
    let key = if key == "mm" { "diameter_mm" } else { key };
    let named = COLUMNS.iter().position(|name| *name == key);
    Fault { key: COLUMNS[named.unwrap_or(column)].into(), line, file: file.into(), message: found.message }
}

fn fault(file: &str, line: usize, column: usize, message: impl Into<String>) -> Fault {
    Fault { file: file.into(), line, key: COLUMNS[column].into(), message: message.into() }
}

fn rows(file: &str, text: &str) -> Result<Vec<Row>, Vec<Fault>> {
    let mut rows = Vec::new();
    table::read(file, text, &COLUMNS, &[PRODUCT, 1, 2, 3, REF, DI], |row, _| {
        rows.push(Row { line: row.line, cells: std::array::from_fn(|column| row.cell(column).to_string()) });
    })?;
    Ok(rows)
}

/// A product file in the making, and the row and column that each of its lines came from.
struct Draft<'a> {
    file: &'a str,
    text: String,
    origin: Vec<(usize, usize)>,
    faults: Vec<Fault>,
}

impl Draft<'_> {
    fn line(&mut self, from: (usize, usize), text: &str) {
        // Memory takes all text.
        let _ = writeln!(self.text, "{text}");
        self.origin.push(from);
    }

    fn fault(&mut self, line: usize, column: usize, message: String) {
        self.faults.push(fault(self.file, line, column, message));
    }

    fn product(&mut self, rows: &[&Row]) {
        let first = rows[0];
        self.line((first.line, PRODUCT), "schema = 1");
        for column in 0..DIAMETER {
            self.once(rows, column);
        }
        if rows.iter().any(|row| row.cells[3] == Kind::Other.name()) {
            for row in rows {
                for column in DIAMETER..LENGTH {
                    if !row.cells[column].is_empty() {
                        self.fault(row.line, column, format!("a product of kind {} has none", Kind::Other));
                    }
                }
                self.line((row.line, LENGTH), "[[boxes]]");
                self.pack(row);
            }
            return;
        }
        let mut diameters: Vec<(String, Vec<&Row>)> = Vec::new();
        for row in rows {
            // 2.5 and 2,50 are one diameter.
            let cell = &row.cells[DIAMETER];
            let name = number(cell).map_or_else(|| cell.clone(), |mm| mm.to_string());
            match diameters.iter_mut().find(|(known, _)| *known == name) {
                Some((_, rows)) => rows.push(row),
                None => diameters.push((name, vec![row])),
            }
        }
        for (_, rows) in diameters {
            self.line((rows[0].line, DIAMETER), "[[diameter]]");
            for column in DIAMETER..=CHART {
                self.once(&rows, column);
            }
            for row in rows {
                self.line((row.line, LENGTH), "[[diameter.boxes]]");
                self.pack(row);
            }
        }
    }

    /// What stands once for several rows: the first that is not empty, and none that says otherwise.
    fn once(&mut self, rows: &[&Row], column: usize) {
        let Some(first) = rows.iter().find(|row| !row.cells[column].is_empty()) else { return };
        let cell = &first.cells[column];
        for row in rows {
            if !row.cells[column].is_empty() && row.cells[column] != *cell {
                let message = format!("{:?} here, {cell:?} in line {}", row.cells[column], first.line);
                self.fault(row.line, column, message);
            }
        }
        self.value(first, column);
    }

    fn pack(&mut self, row: &Row) {
        self.value(row, LENGTH);
        self.value(row, REF);
        let di: Vec<String> = row.cells[DI].split_whitespace().map(quoted).collect();
        self.line((row.line, DI), &format!("di = [{}]", di.join(", ")));
    }

    fn value(&mut self, row: &Row, column: usize) {
        let key = match column {
            PRODUCT => "id",
            DIAMETER => "mm",
            column => COLUMNS[column],
        };
        let cell = &row.cells[column];
        if cell.is_empty() {
            return;
        }
        let value = match column {
            VERIFIED => match cell.to_lowercase().as_str() {
                "yes" | "true" => Ok("true".to_string()),
                "no" | "false" => Ok("false".to_string()),
                _ => Err(format!("{cell:?} is neither yes nor no")),
            },
            CHART => chart(cell),
            REF => Ok(quoted(cell)),
            column if TEXTS.contains(&column) => Ok(quoted(cell)),
            _ => number(cell).map(|value| value.to_string()).ok_or(format!("{cell:?} is no number")),
        };
        match value {
            Ok(value) => self.line((row.line, column), &format!("{key} = {value}")),
            Err(message) => self.fault(row.line, column, message),
        }
    }
}

/// `8:2.62 11:2.75`, atm and mm.
fn chart(cell: &str) -> Result<String, String> {
    let pairs = cell.split_whitespace().map(|pair| {
        let (atm, mm) = pair.split_once(':').and_then(|(atm, mm)| Some((number(atm)?, number(mm)?)))?;
        Some(format!("[{atm}, {mm}]"))
    });
    let rows: Option<Vec<String>> = pairs.collect();
    let rows = rows.ok_or(format!("{cell:?} is no chart; write atm:mm, such as 8:2.62 11:2.75"))?;
    Ok(format!("[{}]", rows.join(", ")))
}

/// What a table would change in a catalogue, one line a thing, in words.
pub fn changes(old: &Catalogue, files: &[File]) -> Vec<String> {
    let mut lines = Vec::new();
    for File { product: new, .. } in files {
        let Some(old) = old.product(&new.id) else {
            let boxes = rows_of(new).len();
            lines.push(format!("{}: new, {}", new.id, counted(boxes, "box")));
            continue;
        };
        let (before, after) = (rows_of(old), rows_of(new));
        for (name, row) in &after {
            match before.get(name) {
                None => lines.push(format!("{}: {name} is new", new.id)),
                Some(then) => {
                    let differ = (0..COLUMNS.len()).filter(|column| then[*column] != row[*column]);
                    lines.extend(differ.map(|column| {
                        let (then, now) = (&then[column], &row[column]);
                        format!("{}: {name}: {}: {then:?} becomes {now:?}", new.id, COLUMNS[column])
                    }));
                }
            }
        }
        let gone = before.keys().filter(|name| !after.contains_key(*name));
        lines.extend(gone.map(|name| format!("{}: {name} goes", new.id)));
    }
    lines
}

/// The rows of a product by the catalogue number of each box.
fn rows_of(product: &Product) -> BTreeMap<String, [String; 20]> {
    let mut rows = BTreeMap::new();
    for platform in &product.diameters {
        for pack in &platform.boxes {
            let last = [pack.length.mm().to_string(), pack.reference.clone(), ids(&pack.di)];
            rows.insert(pack.reference.clone(), cells(product, Some(platform), last));
        }
    }
    for sundry in &product.sundries {
        let length = sundry.length.map(|length| length.mm().to_string()).unwrap_or_default();
        let last = [length, sundry.reference.clone(), ids(&sundry.di)];
        rows.insert(sundry.reference.clone(), cells(product, None, last));
    }
    rows
}
