//! The protocol file: text in, one checked policy out.

use super::{Believed, Overlap, Par, PerMethod, Policy};
use crate::intake::{self, At, FileFault, Place, Table};
use crate::measure::{Border, Kind, Law, Method, Rule};
use crate::units::{Diameter, Length, at_most, same};

/// Labelled diameters are made in steps of 0.25 and 0.5 mm: a window wider than two of the larger is a slip. Common
/// practice, no source.
const STEP_MM: [f64; 2] = [0.01, 1.0];
/// Above 1.3 of the reference a device counts as an axial miss (@costa-2008).
const LARGEST_RATIO: f64 = 1.3;

/// Reads a protocol. Keys that are left out keep their default.
///
/// # Errors
/// Every fault of the file at once.
pub fn read(file: &str, text: &str) -> Result<Policy, Vec<FileFault>> {
    intake::read(file, text, |table| Some(visit(table)))
}

fn visit(table: &mut Table) -> Policy {
    let mut policy = Policy::default();
    table.schema(false);
    if table.has("currency") {
        policy.currency = table.words("currency").unwrap_or_default();
    }
    judged(table, &mut policy.judged);
    within(table, "rule", |rows| each_method(rows, &mut policy.rule, rule));
    within(table, "error_mm", |rows| {
        each_method(rows, &mut policy.error, |rows, method, error| {
            within(rows, method.name(), |row| {
                number(row, "diameter", [0.001, 2.0], &mut error.diameter, Diameter::from_mm);
                number(row, "length", [0.001, 20.0], &mut error.length, Length::from_mm);
            });
        });
    });
    within(table, "margin_mm", |rows| {
        each_method(rows, &mut policy.margin, |rows, method, margin| {
            number(rows, method.name(), [0.0, 50.0], margin, Length::from_mm);
        });
    });
    within(table, "window", |rows| {
        number(rows, "step_mm", STEP_MM, &mut policy.window.step, Diameter::from_mm);
        number(rows, "next_size_down_mm", [0.0, 1.0], &mut policy.window.next_size_down, Diameter::from_mm);
        ordered(rows, "ratio", LARGEST_RATIO, &mut policy.window.ratio);
    });
    within(table, "overlap_mm", |rows| overlap(rows, &mut policy.overlap));
    within(table, "span", |rows| {
        if let Some(step) = rows.number("largest_step_mm", [0.0, 4.0], "mm", false) {
            policy.span.largest_step = Some(Diameter::from_mm(step));
        }
        if let Some(devices) = rows.optional::<u32>("max_devices") {
            if !(1..=12).contains(&devices) {
                rows.fault("max_devices", format!("{devices} is out of range: 1 to 12 devices"));
            }
            policy.span.max_devices = devices as usize;
        }
        policy.span.mix_products = rows.optional("mix_products").unwrap_or(policy.span.mix_products);
    });
    within(table, "rank", |rows| {
        share(rows, "steady_at_least", &mut policy.rank.steady_at_least);
        number(rows, "long_mm", [0.0, 150.0], &mut policy.rank.long, Length::from_mm);
    });
    within(table, "branch", |rows| {
        policy.branch_law = rows.one_of("law", Law::NAMES, Law::from_name).unwrap_or(policy.branch_law);
    });
    within(table, "post_dilate", |rows| {
        number(rows, "near_mm", [0.0, 0.5], &mut policy.near, Diameter::from_mm);
    });
    within(table, "landing", |rows| {
        share(rows, "plaque_burden", &mut policy.plaque_burden);
    });
    within(table, "believed", |rows| {
        ordered(rows, "diameter_mm", f64::INFINITY, &mut policy.believed.diameter_mm);
        ordered(rows, "length_mm", f64::INFINITY, &mut policy.believed.length_mm);
        ordered(rows, "area_mm2", f64::INFINITY, &mut policy.believed.area_mm2);
    });
    if let Some(rows) = table.table("par") {
        policy.par = par(&rows);
    }
    policy
}

/// Visits a table, if it is there, and reports what it should not hold.
fn within<'a>(table: &mut Table<'a>, key: &'static str, visit: impl FnOnce(&mut Table<'a>)) {
    if let Some(mut rows) = table.table(key) {
        visit(&mut rows);
        rows.finish();
    }
}

fn each_method<T>(rows: &mut Table, values: &mut PerMethod<T>, read: impl Fn(&mut Table, Method, &mut T)) {
    read(rows, Method::Angiography, &mut values.angiography);
    read(rows, Method::Qca, &mut values.qca);
    read(rows, Method::Ivus, &mut values.ivus);
    read(rows, Method::Oct, &mut values.oct);
}

/// A measure in millimetres that takes the place of its default.
fn number<T>(rows: &mut Table, key: &'static str, range: [f64; 2], into: &mut T, of: fn(f64) -> T) {
    if let Some(value) = rows.number(key, range, "mm", false) {
        *into = of(value);
    }
}

/// A number from 0 to 1 that takes the place of its default.
fn share(rows: &mut Table, key: &'static str, into: &mut f64) {
    if let Some(value) = rows.number(key, [0.0, 1.0], "", false) {
        *into = value;
    }
}

fn judged(table: &mut Table, judged: &mut Vec<Kind>) {
    let Some(names) = table.list::<String>("judged") else { return };
    if names.is_empty() {
        table.fault("judged", "name at least one kind");
    }
    judged.clear();
    for name in names {
        let Some(kind) = table.word(&name, Kind::NAMES, Kind::from_name) else { continue };
        if !kind.is_stent() {
            table.fault_at(&name.place, format!("{kind} is not a stent, and only stents are judged"));
        } else if judged.contains(&kind) {
            table.fault_at(&name.place, format!("{kind} is here twice"));
        }
        judged.push(kind);
    }
}

fn rule(rows: &mut Table, method: Method, rule: &mut Rule) {
    let Some(named) = rows.one_of(method.name(), Rule::NAMES, Rule::from_name) else { return };
    if named.border() == Border::Eem && !method.shows_eem() {
        let message = format!("{named} needs the EEM, which {} does not show", method.label());
        rows.fault(method.name(), message);
    }
    *rule = named;
}

/// Two numbers above 0, of which the first is not above the second.
fn ordered(rows: &mut Table, key: &'static str, most: f64, into: &mut [f64; 2]) {
    let Some([low, high]) = rows.optional::<[f64; 2]>(key) else { return };
    if low <= 0.0 {
        rows.fault(key, format!("both ends must be above 0, not {low}"));
    }
    if low > high {
        rows.fault(key, format!("the lower end comes first: {low} is above {high}"));
    }
    if high > most {
        rows.fault(key, format!("{high} is out of range: at most {most}"));
    }
    *into = [low, high];
}

fn overlap(rows: &mut Table, overlap: &mut Overlap) {
    let Overlap { planned, least, most } = overlap;
    for (key, length) in [("planned", &mut *planned), ("least", &mut *least), ("most", &mut *most)] {
        number(rows, key, [0.0, 50.0], length, Length::from_mm);
    }
    // With the defaults for what is left out: `planned = 6` alone is above the default largest overlap.
    if !(at_most(least.mm(), planned.mm()) && at_most(planned.mm(), most.mm())) {
        let key = ["planned", "least", "most"].into_iter().find(|key| rows.has(key));
        let message = format!("planned {planned} mm must be between least {least} mm and most {most} mm");
        rows.fault(key.unwrap_or("planned"), message);
    }
}

fn par(rows: &Table) -> Vec<Par> {
    let mut par: Vec<(Par, Place)> = Vec::new();
    for (item, At { value: pieces, place }) in rows.entries::<u32>() {
        let entry = Par { item: item.trim().to_string(), pieces };
        if entry.item.is_empty() {
            rows.fault_at(&place, "name a size, as 3.00x29, or a REF");
        }
        if let Some((diameter, length)) = entry.size() {
            // The limits of labelled sizes are those of the catalogue, not those that a room believes of its vessels.
            let Believed { diameter_mm: [thin, wide], length_mm: [short, long], .. } = Believed::DEFAULT;
            if !((thin..=wide).contains(&diameter.mm()) && (short..=long).contains(&length.mm())) {
                let message =
                    format!("{item:?} is not a believable size; write diameter x length, as 3.00x29");
                rows.fault_at(&place, message);
            }
            let twin = |other: &Par| {
                let size = other.size();
                size.is_some_and(|(d, l)| same(d.mm(), diameter.mm()) && same(l.mm(), length.mm()))
            };
            if let Some((_, first)) = par.iter().find(|(other, _)| twin(other)) {
                rows.fault_at(&place, format!("this size is in line {} already", first.line));
            }
        }
        par.push((entry, place));
    }
    par.into_iter().map(|(par, _)| par).collect()
}
