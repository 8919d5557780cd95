//! One product file: text in, one checked product out.

use super::platform::{self, Boxes, STRUT_UM};
use super::{Platform, Product, Sundry};
use crate::intake::{self, At, Fault, Place, Table};
use crate::measure::Kind;
use crate::udi::DeviceId;
use crate::units::{Inches, same};
use std::collections::HashMap;

/// A shaft or a wire is believed to be this long, in cm. Common practice, no source.
const SHAFT_CM: [f64; 2] = [20.0, 400.0];
/// A wire is believed to be this thick, in inches: 0.014 in coronary work, up to 0.038 for guides.
const WIRE_IN: [f64; 2] = [0.005, 0.045];
/// The bore of a guide is believed to lie here, in inches (5 Fr 0.058 to 8 Fr 0.091, widened).
pub(super) const BORE_IN: [f64; 2] = [0.03, 0.15];

/// Reads one product.
///
/// # Errors
/// Every fault of the file at once.
pub fn read(file: &str, text: &str) -> Result<Product, Vec<Fault>> {
    let (draft, faults) = draft(file, text);
    intake::settle(file, draft.and_then(|draft| draft.product), faults)
}

/// What a file gave, and where the things stand that may not be shared with another product.
pub(super) struct Draft {
    /// None where the file has faults.
    pub product: Option<Product>,
    id: Option<At<String>>,
    di: Vec<At<DeviceId>>,
}

/// Reads what can be read; `None` where the text is no TOML.
pub(super) fn draft(file: &str, text: &str) -> (Option<Draft>, Vec<Fault>) {
    intake::walk(file, text, visit)
}

/// The same without places, where nothing is wrong.
pub(super) fn quick_draft(text: &str) -> Option<Draft> {
    intake::quick(text, visit).filter(|draft| draft.product.is_some())
}

fn visit(table: &mut Table) -> Draft {
    schema(table, true);
    let mut di = Vec::new();
    // Asked first: what nobody has checked against the boxes yet may lack what only a leaflet tells.
    let verified = table.optional::<bool>("verified").is_none_or(|verified| verified.value);
    let id = table.words("id").and_then(|id| well_formed_id(table, id));
    let name = table.words("name");
    let maker = table.words("maker");
    let kind = table.words("kind").and_then(|kind| table.one_of(kind, Kind::NAMES, Kind::from_name));
    let kind = kind.map(|kind| kind.value);

    // A balloon's material is seldom printed, a wire has no shaft.
    let material = match kind {
        Some(kind) if kind.is_stent() && verified => table.words("material"),
        _ => table.optional("material"),
    };
    let sized = verified && kind.is_some_and(|kind| kind != Kind::Other);
    let shaft_cm = platform::number(table, "shaft_cm", SHAFT_CM, "cm", sized);
    let wire = platform::number(table, "wire_in", WIRE_IN, "in", sized);
    let strut_um = platform::number(table, "strut_um", STRUT_UM, "µm", false);
    let guide = platform::number(table, "guide_min_id_in", BORE_IN, "in", false);
    let price = table.optional::<f64>("price");
    if let Some(price) = price.as_ref().filter(|price| price.value < 0.0) {
        table.fault(&price.place, format!("a price is 0 or more, not {}", price.value));
    }

    let (diameters, sundries) = match kind {
        Some(Kind::Other) => (Some(Vec::new()), sundries(table, &mut di)),
        _ => (diameters(table, kind, verified, &mut di), Some(Vec::new())),
    };
    unique_identifiers(table, &di);
    let product = (|| {
        Some(Product {
            id: id.as_ref()?.value.clone(),
            name: name?.value,
            maker: maker?.value,
            kind: kind?,
            material: material.map(|material| material.value),
            strut_um,
            shaft_cm,
            wire: wire.map(Inches::new),
            guide_min_id: guide.map(Inches::new),
            price: price.map(|price| price.value),
            verified,
            diameters: diameters?,
            sundries: sundries?,
        })
    })();
    Draft { product, id, di }
}

/// The schema that this program knows is 1.
pub(super) fn schema(table: &mut Table, wanted: bool) {
    let schema = if wanted { table.required::<u32>("schema") } else { table.optional("schema") };
    if let Some(schema) = schema.filter(|schema| schema.value != 1) {
        table.fault(
            &schema.place,
            format!("schema {} is not known; this program reads schema 1", schema.value),
        );
    }
}

/// Ids go into commands and file names: lower-case letters, digits, `-` and `_`, a letter first.
fn well_formed_id(table: &Table, id: At<String>) -> Option<At<String>> {
    let good = id.value.starts_with(|first: char| first.is_ascii_lowercase())
        && id.value.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b"-_".contains(&b));
    if !good {
        let rule = "lower-case letters, digits, - and _, a letter first";
        table.fault(&id.place, format!("{:?} is no id: {rule}", id.value));
    }
    good.then_some(id)
}

fn diameters(
    table: &mut Table,
    kind: Option<Kind>,
    verified: bool,
    di: &mut Vec<At<DeviceId>>,
) -> Option<Vec<Platform>> {
    let Some(list) = table.tables("diameter") else {
        // Of an unknown kind nothing can be said to be missing.
        if kind.is_some() && !table.has("diameter") {
            table.missing("diameter");
        }
        if kind.is_none() {
            table.tables("boxes");
        }
        return None;
    };
    if list.value.is_empty() {
        table.fault(&list.place, "a product has at least one diameter");
    }
    let total = list.value.len();
    let mut seen: Vec<At<f64>> = Vec::new();
    let mut platforms = Vec::new();
    for mut row in list.value {
        let Boxes { platform, mm, identifiers } = platform::visit(&mut row, verified);
        if let Some(mm) = mm {
            if let Some(first) = seen.iter().find(|first| same(first.value, mm.value)) {
                let line = first.place.line;
                row.fault(&mm.place, format!("the diameter {:.2} stands in line {line} already", mm.value));
            }
            seen.push(mm);
        }
        di.extend(identifiers);
        platforms.extend(platform);
        row.finish();
    }
    platforms.sort_by(|a, b| a.diameter.mm().total_cmp(&b.diameter.mm()));
    (platforms.len() == total).then_some(platforms)
}

fn sundries(table: &mut Table, di: &mut Vec<At<DeviceId>>) -> Option<Vec<Sundry>> {
    let Some(list) = table.tables("boxes") else {
        if !table.has("boxes") {
            table.missing("boxes");
        }
        return None;
    };
    if list.value.is_empty() {
        table.fault(&list.place, "a product has at least one box");
    }
    let total = list.value.len();
    let mut sundries = Vec::new();
    for mut row in list.value {
        let (reference, identifiers) = platform::names(&mut row);
        // A wire is longer than any stent: only its sign is checked.
        let length = row.optional::<f64>("length_mm");
        if let Some(length) = length.as_ref().filter(|length| length.value <= 0.0) {
            row.fault(&length.place, format!("a length is more than 0 mm, not {}", length.value));
        }
        if let (Some(reference), Some(identifiers)) = (reference, &identifiers) {
            let di = identifiers.iter().map(|at| at.value.clone()).collect();
            let length = length.map(|length| crate::units::Length::from_mm(length.value));
            sundries.push(Sundry { length, reference, di });
        }
        di.extend(identifiers.into_iter().flatten());
        row.finish();
    }
    (sundries.len() == total).then_some(sundries)
}

fn unique_identifiers(table: &Table, di: &[At<DeviceId>]) {
    let mut seen: HashMap<&DeviceId, &Place> = HashMap::new();
    for at in di {
        if let Some(first) = seen.get(&at.value) {
            let (line, key) = (first.line, &first.key);
            table.fault(&at.place, format!("{} stands in line {line} already ({key})", at.value));
        } else {
            seen.insert(&at.value, &at.place);
        }
    }
}

/// Ids and identifiers that two files share: a fault at the later one, which names the earlier.
pub(super) fn shared(drafts: &[(String, Draft)]) -> Vec<Fault> {
    let mut faults = Vec::new();
    let mut ids: HashMap<&str, (&str, &Place)> = HashMap::new();
    let count = drafts.iter().map(|(_, draft)| draft.di.len()).sum();
    let mut owners: HashMap<&DeviceId, (&str, &Place)> = HashMap::with_capacity(count);
    for (file, draft) in drafts {
        let mut clash = |place: &Place, what: &str, first: (&str, &Place)| {
            let message = format!("{what} belongs to another product already: {}:{}", first.0, first.1.line);
            let Place { line, key } = place.clone();
            faults.push(Fault { file: file.clone(), line, key, message });
        };
        if let Some(id) = &draft.id {
            match ids.get(id.value.as_str()) {
                Some(first) => clash(&id.place, &format!("the id {:?}", id.value), *first),
                None => _ = ids.insert(&id.value, (file, &id.place)),
            }
        }
        for at in &draft.di {
            match owners.get(&at.value) {
                // Twice in one file has been said there.
                Some(first) if std::ptr::eq(first.0, file.as_str()) => {}
                Some(first) => clash(&at.place, at.value.as_str(), *first),
                None => _ = owners.insert(&at.value, (file, &at.place)),
            }
        }
    }
    faults
}
