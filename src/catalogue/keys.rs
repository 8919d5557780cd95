//! The keys of a product file, each once. The reader of product files, the columns of a table (CSV), its template and
//! the list of changes follow these; a key that is added here is in all of them.

use super::{Chart, Platform, Pressures, Product, Sundry};
use crate::intake::{At, Table, quoted, spreadsheet};
use crate::measure::Kind;
use crate::policy::Believed;
use crate::udi::DeviceId;
use crate::units::{Diameter, Inches, Length, Pressure, number};
use Form::{Boolean, Identifiers, Number, PressureChart, Text, Word};
use Must::{Always, IfOnePressure, IfSized, IfVerified, IfVerifiedStent, Never};
use std::convert::identity;

/// The bore of a guide is believed to be in this range, in inches (5 Fr 0.058 to 8 Fr 0.091, widened).
pub(super) const BORE_IN: [f64; 2] = [0.03, 0.15];
/// A coronary balloon is rated at 8 to 35 atm; widened. Common practice, no source.
pub(super) const PRESSURE_ATM: [f64; 2] = [0.5, 60.0];
/// Diameters of a chart, in mm: the labelled ones and what a balloon does below nominal and up to rated burst.
pub(super) const CHART_MM: [f64; 2] = [0.5, 12.0];

/// One key of a product, of a labelled diameter or of a box.
pub(super) struct Key<T: 'static> {
    /// In a product file.
    pub name: &'static str,
    /// Over its column in a table (CSV).
    pub column: &'static str,
    must: Must,
    /// Its cell in the template.
    pub example: &'static str,
    form: Form<T>,
}

/// When a key must be there.
#[derive(Clone, Copy)]
enum Must {
    Always,
    /// Where a product has sizes.
    IfSized,
    /// In a product with sizes that somebody has compared with the boxes.
    IfVerified,
    IfVerifiedStent,
    /// In a verified product, and where the other pressure or a chart is there.
    IfOnePressure,
    Never,
}

/// What a key holds, with its unit and its range, both ends believed; how it is read off a value and put into one.
enum Form<T: 'static> {
    Text(fn(&T) -> Option<&str>, fn(&mut T, String)),
    Word(fn(&T) -> Kind, fn(&mut T, Kind)),
    Boolean(fn(&T) -> bool, fn(&mut T, bool)),
    Number(&'static str, [f64; 2], fn(&T) -> Option<f64>, fn(&mut T, f64)),
    /// Rows of atm and mm; the reader of product files puts it into the value, once it is compared with the rest.
    PressureChart(fn(&T) -> Option<&Chart>),
    Identifiers(fn(&T) -> &[DeviceId], fn(&mut T, Vec<DeviceId>)),
}

const fn key<T>(name: &'static str, must: Must, example: &'static str, form: Form<T>) -> Key<T> {
    Key { name, column: name, must, example, form }
}

/// A measure in an `Option` of the type that its unit has.
macro_rules! number {
    ($unit:literal, $range:expr, $field:ident, $get:path, $new:path) => {
        Number($unit, $range, |it| it.$field.map($get), |it, value| it.$field = Some($new(value)))
    };
}

/// Of the product: in a table once, in the first row of the product.
pub(super) const PRODUCT: &[Key<Product>] = &[
    Key { column: "product", ..key("id", Always, "fell", Text(|it| Some(&it.id), |it, id| it.id = id)) },
    key("name", Always, "Fell", Text(|it| Some(&it.name), |it, name| it.name = name)),
    key("maker", Always, "Lowfell (invented)", Text(|it| Some(&it.maker), |it, maker| it.maker = maker)),
    key("kind", Always, "drug-eluting stent", Word(|it| it.kind, |it, kind| it.kind = kind)),
    // A balloon's material is seldom printed.
    key(
        "material",
        IfVerifiedStent,
        "cobalt-chromium",
        Text(|it| it.material.as_deref(), |it, text| it.material = Some(text)),
    ),
    // Struts are about 50 to 200 µm, covered ones more; widened. Common practice, no source.
    key("strut_um", Never, "78", number!("µm", [20.0, 600.0], strut_um, identity, identity)),
    // Common practice, no source. A wire has no shaft.
    key("shaft_cm", IfVerified, "146", number!("cm", [20.0, 400.0], shaft_cm, identity, identity)),
    // 0.014 in coronary work, up to 0.038 for guides.
    key("wire_in", IfVerified, "0.014", number!("in", [0.005, 0.045], wire, Inches::inches, Inches::new)),
    key("guide_min_id_in", Never, "0.055", number!("in", BORE_IN, guide_min_id, Inches::inches, Inches::new)),
    key("price", Never, "900", number!("", [0.0, f64::INFINITY], price, identity, identity)),
    key("verified", Never, "yes", Boolean(|it| it.verified, |it, verified| it.verified = verified)),
];

/// Of a labelled diameter: in a table once, in its first row.
pub(super) const DIAMETER: &[Key<Platform>] = &[
    Key { column: "diameter_mm", ..key("mm", IfSized, "2.75", LABELLED) },
    // A folded profile is 0.4 to 1.5 mm; widened. Common practice, no source.
    key("crossing_mm", Never, "1.04", number!("mm", [0.2, 4.0], crossing, Diameter::mm, Diameter::from_mm)),
    // The largest platforms are stretched to about 6 mm; widened.
    key(
        "expansion_limit_mm",
        Never,
        "3.40",
        number!("mm", [1.0, 12.0], expansion_limit, Diameter::mm, Diameter::from_mm),
    ),
    key("nominal_atm", IfOnePressure, "11", NOMINAL),
    key("rated_burst_atm", IfOnePressure, "18", RATED_BURST),
    key("chart", Never, "8:2.62 11:2.75 14:2.84 18:2.95", PressureChart(|it| it.chart.as_ref())),
];

const LABELLED: Form<Platform> = Number(
    "mm",
    Believed::DEFAULT.diameter_mm,
    |it| Some(it.diameter.mm()),
    |it, mm| it.diameter = Diameter::from_mm(mm),
);
const NOMINAL: Form<Platform> = Number(
    "atm",
    PRESSURE_ATM,
    |it| it.nominal().map(Pressure::atm),
    |it, atm| pressures(it).nominal = Pressure::from_atm(atm),
);
const RATED_BURST: Form<Platform> = Number(
    "atm",
    PRESSURE_ATM,
    |it| it.rated_burst().map(Pressure::atm),
    |it, atm| pressures(it).rated_burst = Pressure::from_atm(atm),
);

/// Of a box with a labelled size.
pub(super) const BOX: &[Key<Sundry>] = &[length(Believed::DEFAULT.length_mm), REF, DI];
/// Of a wire, a coil: longer than any stent, where it has a length.
pub(super) const SUNDRY: &[Key<Sundry>] = &[length([0.1, f64::INFINITY]), REF, DI];

const REF: Key<Sundry> =
    key("ref", Always, "FL27529", Text(|it| Some(&it.reference), |it, text| it.reference = text));
/// Perhaps an empty list: such a box can be called, and its label is never told to be the SAME.
const DI: Key<Sundry> = key("di", Always, "09521001275293", Identifiers(|it| &it.di, |it, di| it.di = di));

const fn length(range: [f64; 2]) -> Key<Sundry> {
    key("length_mm", IfSized, "29", number!("mm", range, length, Length::mm, Length::from_mm))
}

impl Product {
    /// What holds where a product file says nothing.
    pub(super) const fn blank() -> Product {
        Product {
            id: String::new(),
            name: String::new(),
            maker: String::new(),
            kind: Kind::Other,
            material: None,
            strut_um: None,
            shaft_cm: None,
            wire: None,
            guide_min_id: None,
            price: None,
            verified: true,
            diameters: Vec::new(),
            sundries: Vec::new(),
        }
    }
}

impl Platform {
    /// Of no diameter yet.
    pub(super) const fn blank() -> Platform {
        Platform {
            diameter: Diameter::from_mm(f64::NAN),
            crossing: None,
            expansion_limit: None,
            pressures: None,
            chart: None,
            boxes: Vec::new(),
        }
    }
}

/// Both become known, or the file is at fault.
fn pressures(platform: &mut Platform) -> &mut Pressures {
    platform.pressures.get_or_insert(Pressures::of(f64::NAN, f64::NAN))
}

impl Must {
    /// Whether a key of this kind must be in a file.
    fn holds(self, file: &Context) -> bool {
        let stent = matches!(file.kind, Some(kind) if kind.is_stent());
        let sized = !matches!(file.kind, None | Some(Kind::Other));
        match self {
            Always => true,
            IfSized => sized,
            IfVerified => file.verified && sized,
            IfVerifiedStent => file.verified && stent,
            IfOnePressure => file.verified || file.pressures,
            Never => false,
        }
    }
}

/// What is known of a file while its keys are read.
pub(super) struct Context {
    /// None where the file names none that is known.
    pub kind: Option<Kind>,
    /// Somebody has compared the file with the boxes. One that nobody has may lack what only a leaflet tells.
    pub verified: bool,
    /// A pressure or a chart is in the table that is being read.
    pub pressures: bool,
    /// Every identifier so far.
    pub di: Vec<At<DeviceId>>,
}

impl Context {
    /// Of a product that says nothing of itself: what must be there all the same, is a column that must be there.
    const NOTHING: Context = Context { kind: None, verified: false, pressures: false, di: Vec::new() };

    /// Reads every key of these; what is wrong or missing is a fault, and leaves the value as it was.
    pub fn read<T>(&mut self, keys: &[Key<T>], table: &mut Table, into: &mut T) {
        for key in keys {
            let (name, must) = (key.name, key.must.holds(self));
            match &key.form {
                Text(_, set) if must => table.words(name).into_iter().for_each(|text| set(into, text)),
                Text(_, set) => table.optional(name).into_iter().for_each(|text| set(into, text)),
                Word(_, set) => {
                    table.wanted(name);
                    let kind = table.one_of(name, Kind::NAMES, Kind::from_name);
                    kind.into_iter().for_each(|kind| set(into, kind));
                }
                Boolean(_, set) => table.optional(name).into_iter().for_each(|truth| set(into, truth)),
                Number(unit, range, _, set) => {
                    let value = table.number(name, *range, unit, must);
                    value.into_iter().for_each(|value| set(into, value));
                }
                Identifiers(_, set) => set(into, self.identifiers(name, table)),
                PressureChart(_) => {}
            }
        }
    }

    fn identifiers(&mut self, key: &'static str, table: &mut Table) -> Vec<DeviceId> {
        table.wanted(key);
        let mut identifiers = Vec::new();
        for At { value: text, place } in table.list::<String>(key).unwrap_or_default() {
            match DeviceId::parse(&text) {
                Ok(value) => {
                    identifiers.push(value.clone());
                    self.di.push(At { value, place });
                }
                Err(fault) => table.fault_at(&place, format!("{text:?} is not a device identifier: {fault}")),
            }
        }
        identifiers
    }
}

impl<T> Key<T> {
    /// Whether a table (CSV) must have its column.
    pub fn must_have_column(&self) -> bool {
        self.must.holds(&Context::NOTHING)
    }

    /// As a table (CSV) shows it; empty where it is not known. `spreadsheet`: so that one leaves a text as it is.
    pub fn cell(&self, of: &T, spreadsheet: bool) -> String {
        let cell = self.plain(of);
        if spreadsheet && !matches!(self.form, Number(..) | Boolean(..)) {
            spreadsheet::text(&cell)
        } else {
            cell
        }
    }

    fn plain(&self, of: &T) -> String {
        match &self.form {
            Text(get, _) => get(of).unwrap_or_default().to_string(),
            Word(get, _) => get(of).to_string(),
            Boolean(get, _) => if get(of) { "yes" } else { "no" }.to_string(),
            Number(_, _, get, _) => get(of).map(|value| value.to_string()).unwrap_or_default(),
            PressureChart(get) => {
                let rows = get(of).map_or(&[][..], |chart| &chart.rows);
                let rows = rows.iter().map(|(atm, mm)| format!("{}:{}", atm.atm(), mm.mm()));
                rows.collect::<Vec<_>>().join(" ")
            }
            Identifiers(get, _) => get(of).iter().map(DeviceId::as_str).collect::<Vec<_>>().join(" "),
        }
    }

    /// A cell as a product file writes it, `key = value`; none where it is empty, but for a list.
    ///
    /// # Errors
    /// The cell can't be read: in words.
    pub fn line(&self, cell: &str) -> Result<Option<String>, String> {
        let value = match &self.form {
            Identifiers(..) => {
                let di: Vec<String> = cell.split_whitespace().map(quoted).collect();
                format!("[{}]", di.join(", "))
            }
            _ if cell.is_empty() => return Ok(None),
            Text(..) | Word(..) => quoted(cell),
            Boolean(..) => match cell.to_lowercase().as_str() {
                "yes" | "true" => "true".into(),
                "no" | "false" => "false".into(),
                _ => return Err(format!("{cell:?} is neither yes nor no")),
            },
            Number(..) => number(cell).ok_or(format!("{cell:?} is not a number"))?.to_string(),
            PressureChart(_) => {
                let row = |pair: &str| {
                    let (atm, mm) = pair.split_once(':')?;
                    Some(format!("[{}, {}]", number(atm)?, number(mm)?))
                };
                let rows: Option<Vec<String>> = cell.split_whitespace().map(row).collect();
                let message = || format!("{cell:?} is not a chart; write atm:mm, such as 8:2.62 11:2.75");
                format!("[{}]", rows.ok_or_else(message)?.join(", "))
            }
        };
        Ok(Some(format!("{} = {value}", self.name)))
    }
}

#[cfg(test)]
mod tests;
