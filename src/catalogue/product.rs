//! One product file: text in, one checked product out.

#![allow(clippy::cast_possible_truncation, reason = "a number of steps: small, whole and above 0")]

use super::keys::{self, CHART_MM, Context, PRESSURE_ATM};
use super::{Chart, Pack, Platform, Pressures, Product, Sundry};
use crate::intake::{self, At, FileFault, Place, Table};
use crate::measure::Kind;
use crate::udi::DeviceId;
use crate::units::{Diameter, Length, Pressure, TOLERANCE, at_least, plain, same};
use std::collections::HashMap;

/// Reads one product.
///
/// # Errors
/// Every fault of the file at once.
pub fn read(file: &str, text: &str) -> Result<Product, Vec<FileFault>> {
    intake::read(file, text, |table| Some(visit(table).product))
}

/// What a file gave, and the places of the things that may not be shared with another product.
pub(super) struct Draft {
    /// Not to be used where the file has faults: what they are of is missing in it.
    pub product: Product,
    id: At<String>,
    di: Vec<At<DeviceId>>,
}

/// Reads what can be read; `None` where the text is not TOML.
pub(super) fn draft(file: &str, text: &str) -> (Option<Draft>, Vec<FileFault>) {
    intake::walk(file, text, visit)
}

fn visit(table: &mut Table) -> Draft {
    table.schema(true);
    let kind = table.peek::<String>("kind").and_then(|name| Kind::from_name(&name));
    let verified = table.peek("verified") != Some(false);
    let mut context = Context { kind, verified, pressures: false, di: Vec::new() };
    let mut product = Product::blank();
    context.read(keys::PRODUCT, table, &mut product);
    // Ids go into commands and file names.
    let good = product.id.starts_with(|first: char| first.is_ascii_lowercase())
        && product.id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b"-_".contains(&b));
    if !good && !product.id.is_empty() {
        let rule = "lower-case letters, digits, - and _, a letter first";
        table.fault("id", format!("{:?} is not an id: {rule}", product.id));
    }
    match kind {
        Some(Kind::Other) => product.sundries = sundries(table, &mut context),
        Some(_) => product.diameters = diameters(table, &mut context),
        // Of an unknown kind nothing can be said to be missing.
        None => {
            table.tables("boxes");
            if table.has("diameter") {
                diameters(table, &mut context);
            }
        }
    }
    unique_identifiers(table, &context.di);
    let id = At { value: product.id.clone(), place: table.place("id") };
    Draft { product, id, di: context.di }
}

fn sundries(table: &mut Table, context: &mut Context) -> Vec<Sundry> {
    let read = |mut row: Table| {
        let mut sundry = Sundry { length: None, reference: String::new(), di: Vec::new() };
        context.read(keys::SUNDRY, &mut row, &mut sundry);
        row.finish();
        sundry
    };
    table.some_tables("boxes", "box").into_iter().flatten().map(read).collect()
}

fn diameters(table: &mut Table, context: &mut Context) -> Vec<Platform> {
    let mut platforms = Vec::new();
    let mut seen = HashMap::new();
    for mut row in table.some_tables("diameter", "diameter").into_iter().flatten() {
        let platform = platform(&mut row, context);
        once(&mut seen, platform.diameter.mm(), "diameter", &row, "mm");
        platforms.push(platform);
        row.finish();
    }
    platforms.sort_by(|a: &Platform, b| a.diameter.mm().total_cmp(&b.diameter.mm()));
    platforms
}

/// One size of a product or of a diameter is there once.
fn once(seen: &mut HashMap<i64, usize>, mm: f64, what: &str, row: &Table, key: &str) {
    let line = row.place(key).line;
    // To the nanometre.
    let nanometres = (mm * 1e6).round() as i64;
    if mm.is_finite()
        && let Some(first) = seen.insert(nanometres, line)
    {
        row.fault(key, format!("the {what} {} is in line {first} already", plain(mm)));
    }
}

/// One `[[diameter]]`. What could not be read is not a number, so that nothing more is said of it.
fn platform(row: &mut Table, context: &mut Context) -> Platform {
    context.pressures = ["nominal_atm", "rated_burst_atm", "chart"].iter().any(|key| row.has(key));
    let mut platform = Platform::blank();
    context.read(keys::DIAMETER, row, &mut platform);
    let Pressures { nominal, rated_burst } = platform.pressures.unwrap_or(Pressures::of(f64::NAN, f64::NAN));
    if rated_burst.atm() < nominal.atm() - TOLERANCE {
        row.fault("rated_burst_atm", format!("{rated_burst} atm is below the nominal {nominal} atm"));
    }
    let mm = platform.diameter.mm();
    let rows = row.list::<[f64; 2]>("chart");
    platform.chart = rows.and_then(|rows| chart(row, &rows, mm, nominal.atm(), rated_burst.atm()));
    // A chart that is faulty itself says nothing of the limit.
    let least = match &platform.chart {
        Some(chart) => Some((chart.at_rated_burst().mm(), "the chart's diameter at rated burst")),
        None if !row.has("chart") && mm.is_finite() => Some((mm, "the labelled diameter")),
        None => None,
    };
    if let (Some(limit), Some((least, what))) = (platform.expansion_limit.map(Diameter::mm), least)
        && !at_least(limit, least)
    {
        row.fault("expansion_limit_mm", format!("{limit} mm is below {what}, {least} mm"));
    }
    let mut seen = HashMap::new();
    for mut item in row.some_tables("boxes", "box").into_iter().flatten() {
        let mut draft = Sundry { length: None, reference: String::new(), di: Vec::new() };
        context.read(keys::BOX, &mut item, &mut draft);
        let length = draft.length.unwrap_or(Length::from_mm(f64::NAN));
        once(&mut seen, length.mm(), "length", &item, "length_mm");
        platform.boxes.push(Pack { length, reference: draft.reference, di: draft.di });
        item.finish();
    }
    platform.boxes.sort_by(|a, b| a.length.mm().total_cmp(&b.length.mm()));
    platform
}

/// The rows up to rated burst; later ones are checked and never used.
fn chart(row: &Table, rows: &[At<[f64; 2]>], mm: f64, nominal: f64, rated_burst: f64) -> Option<Chart> {
    if rows.is_empty() {
        row.fault("chart", "the chart has no rows; leave the key out where there is none");
        return None;
    }
    for At { value: [atm, mm], place } in rows {
        for (value, [least, most], unit) in [(atm, PRESSURE_ATM, "atm"), (mm, CHART_MM, "mm")] {
            if !(least..=most).contains(value) {
                row.fault_at(place, format!("{value} {unit} is out of range: {least} to {most} {unit}"));
            }
        }
    }
    for pair in rows.windows(2) {
        for (column, what, unit) in [(0, "pressures", "atm"), (1, "diameters", "mm")] {
            let [before, next] = [pair[0].value[column], pair[1].value[column]];
            if next <= before && crate::control::holds("chart-rises") {
                let message = format!("{what} must rise: {next} {unit} follows {before} {unit}");
                row.fault_at(&pair[1].place, message);
            }
        }
    }
    let at = |atm: f64| rows.iter().position(|row| same(row.value[0], atm));
    match at(nominal) {
        None if nominal.is_finite() => row.fault("chart", format!("no row is at nominal, {nominal} atm")),
        Some(index) if (rows[index].value[1] - mm).abs() > TOLERANCE => {
            let message = format!("the row at nominal holds {} mm, the label {mm} mm", rows[index].value[1]);
            row.fault_at(&rows[index].place, message);
        }
        _ => {}
    }
    let Some(last) = at(rated_burst) else {
        if rated_burst.is_finite() {
            row.fault("chart", format!("no row is at exactly rated burst, {rated_burst} atm"));
        }
        return None;
    };
    let used = rows[..=if crate::control::holds("rows-to-rated-burst") { last } else { rows.len() - 1 }]
        .iter()
        .map(|row| row.value);
    Some(Chart { rows: used.map(|[atm, mm]| (Pressure::from_atm(atm), Diameter::from_mm(mm))).collect() })
}

fn unique_identifiers(table: &Table, di: &[At<DeviceId>]) {
    let mut seen: HashMap<&DeviceId, &Place> = HashMap::new();
    for At { value, place } in di {
        match seen.get(value) {
            Some(first) => {
                table.fault_at(place, format!("{value} is in line {} already ({})", first.line, first.key));
            }
            None => _ = seen.insert(value, place),
        }
    }
}

/// Ids and identifiers that two files share: a fault at the later one, which names the earlier.
pub(super) fn shared(files: &[(String, String)], drafts: &[(usize, Draft)]) -> Vec<FileFault> {
    let mut faults = Vec::new();
    let mut owners: HashMap<&str, (usize, usize)> = HashMap::new();
    let mut own = |file: usize, text, place: &Place, what: &dyn Fn() -> String| {
        let first = *owners.entry(text).or_insert((file, place.line));
        // Twice in one file has been said there.
        if first.0 != file {
            let message =
                format!("{} belongs to another product already: {}:{}", what(), files[first.0].0, first.1);
            let Place { line, key } = place.clone();
            faults.push(FileFault { file: files[file].0.clone(), line, key, message });
        }
    };
    for (file, Draft { id, di, .. }) in drafts {
        // No identifier of a box has lower-case letters, and every id has.
        if !id.value.is_empty() {
            own(*file, id.value.as_str(), &id.place, &|| format!("the id {:?}", id.value));
        }
        for At { value, place } in di {
            own(*file, value.as_str(), place, &|| value.to_string());
        }
    }
    faults
}
