//! The protocol file: text in, one checked policy out.

use super::{Believed, Overlap, Par, PerMethod, Policy, Span, StandardError, Window};
use crate::intake::{self, At, Fault, Place, Table};
use crate::measure::{Kind, Method, Rule};
use crate::units::{Diameter, Length, at_most, same};

/// Reads a protocol. Keys that are left out keep their default.
///
/// # Errors
/// Every fault of the file at once.
pub fn read(file: &str, text: &str) -> Result<Policy, Vec<Fault>> {
    let (policy, faults) = intake::walk(file, text, visit);
    intake::settle(file, policy, faults)
}

fn visit(table: &mut Table) -> Policy {
    let mut policy = Policy::default();
    let schema = table.optional::<u32>("schema").filter(|schema| schema.value != 1);
    if let Some(schema) = schema {
        table.fault(
            &schema.place,
            format!("schema {} is not known; this program reads schema 1", schema.value),
        );
    }
    if table.has("currency")
        && let Some(currency) = table.words("currency")
    {
        policy.currency = currency.value;
    }
    judged(table, &mut policy.judged);
    within(table, "rule", |rows| {
        each_method(rows, &mut policy.rule, rule);
    });
    within(table, "error_mm", |rows| {
        each_method(rows, &mut policy.error, |rows, key, method| {
            error(rows, key, Policy::default().error.of(method))
        });
    });
    within(table, "margin_mm", |rows| {
        each_method(rows, &mut policy.margin, |rows, key, _| {
            number(rows, key, [0.0, 50.0], "mm").map(|margin| Length::from_mm(margin.value))
        });
    });
    within(table, "window", |rows| window(rows, &mut policy.window));
    within(table, "overlap_mm", |rows| overlap(rows, &mut policy.overlap));
    within(table, "span", |rows| span(rows, &mut policy.span));
    within(table, "believed", |rows| believed(rows, &mut policy.believed));
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

fn each_method<T>(
    rows: &mut Table,
    values: &mut PerMethod<T>,
    read: impl Fn(&mut Table, &'static str, Method) -> Option<T>,
) {
    for &method in Method::ALL {
        let slot = match method {
            Method::Angiography => &mut values.angiography,
            Method::Qca => &mut values.qca,
            Method::Ivus => &mut values.ivus,
            Method::Oct => &mut values.oct,
        };
        if let Some(value) = read(rows, method.name(), method) {
            *slot = value;
        }
    }
}

fn number(rows: &mut Table, key: &'static str, [least, most]: [f64; 2], unit: &str) -> Option<At<f64>> {
    let number = rows.optional::<f64>(key)?;
    if !(least..=most).contains(&number.value) {
        let (value, space) = (number.value, if unit.is_empty() { "" } else { " " });
        rows.fault(
            &number.place,
            format!("{value}{space}{unit} is out of range: {least} to {most}{space}{unit}"),
        );
    }
    Some(number)
}

fn judged(table: &mut Table, judged: &mut Vec<Kind>) {
    let Some(names) = table.list::<String>("judged") else { return };
    if names.value.is_empty() {
        table.fault(&names.place, "name at least one kind");
    }
    let mut kinds = Vec::new();
    for name in names.value {
        let Some(kind) = table.one_of(name, Kind::NAMES, Kind::from_name) else { continue };
        if !kind.value.is_stent() {
            table.fault(&kind.place, format!("{} is no stent, and only stents are judged", kind.value));
        } else if kinds.contains(&kind.value) {
            table.fault(&kind.place, format!("{} stands here twice", kind.value));
        }
        kinds.push(kind.value);
    }
    *judged = kinds;
}

fn rule(rows: &mut Table, key: &'static str, method: Method) -> Option<Rule> {
    let name = rows.optional::<String>(key)?;
    let rule = rows.one_of(name, Rule::NAMES, Rule::from_name)?;
    if rule.value.border() == crate::measure::Border::Eem && !method.shows_eem() {
        let message = format!("{} needs the EEM, which {} does not show", rule.value, method.label());
        rows.fault(&rule.place, message);
    }
    Some(rule.value)
}

fn error(rows: &mut Table, key: &'static str, default: StandardError) -> Option<StandardError> {
    let mut row = rows.table(key)?;
    let mut value = |key, most| {
        let value = row.optional::<f64>(key)?;
        if !(value.value > 0.0 && value.value <= most) {
            row.fault(
                &value.place,
                format!("a standard error is above 0 and at most {most} mm, not {}", value.value),
            );
        }
        Some(value.value)
    };
    let diameter = value("diameter", 2.0).map_or(default.diameter, Diameter::from_mm);
    let length = value("length", 20.0).map_or(default.length, Length::from_mm);
    row.finish();
    Some(StandardError { diameter, length })
}

/// Two numbers of which the first is not above the second.
fn ordered(rows: &mut Table, key: &'static str, unit: &str) -> Option<At<[f64; 2]>> {
    let pair = rows.optional::<[f64; 2]>(key)?;
    let [low, high] = pair.value;
    if low <= 0.0 {
        rows.fault(&pair.place, format!("both ends must be above 0, not {low} {unit}").trim_end());
    }
    if low > high {
        rows.fault(&pair.place, format!("the lower end comes first: {low} is above {high}"));
    }
    Some(pair)
}

fn window(rows: &mut Table, window: &mut Window) {
    if let Some(step) = number(rows, "step_mm", [0.01, 2.0], "mm") {
        window.step = Diameter::from_mm(step.value);
    }
    if let Some(down) = number(rows, "next_size_down_mm", [0.0, 2.0], "mm") {
        window.next_size_down = Diameter::from_mm(down.value);
    }
    if let Some(ratio) = ordered(rows, "ratio", "") {
        if ratio.value[1] > 2.0 {
            let message = format!("{} times the reference is out of range: at most 2", ratio.value[1]);
            rows.fault(&ratio.place, message);
        }
        window.ratio = ratio.value;
    }
}

fn overlap(rows: &mut Table, overlap: &mut Overlap) {
    let mut place = None;
    let mut slot = |key, length: &mut Length| {
        if let Some(value) = number(rows, key, [0.0, 50.0], "mm") {
            *length = Length::from_mm(value.value);
            place.get_or_insert(value.place);
        }
    };
    slot("planned", &mut overlap.planned);
    slot("least", &mut overlap.least);
    slot("most", &mut overlap.most);
    // With the defaults for what is left out: `planned = 6` alone is above the default largest overlap.
    let Overlap { planned, least, most } = overlap;
    if !(at_most(least.mm(), planned.mm()) && at_most(planned.mm(), most.mm())) {
        let place = place.unwrap_or_else(|| rows.place().clone());
        rows.fault(
            &place,
            format!("planned {planned} mm must lie between least {least} mm and most {most} mm"),
        );
    }
}

fn span(rows: &mut Table, span: &mut Span) {
    if let Some(step) = number(rows, "largest_step_mm", [0.0, 4.0], "mm") {
        span.largest_step = Diameter::from_mm(step.value);
    }
    if let Some(devices) = rows.optional::<u32>("max_devices") {
        if !(1..=12).contains(&devices.value) {
            rows.fault(&devices.place, format!("{} is out of range: 1 to 12 devices", devices.value));
        }
        span.max_devices = devices.value as usize;
    }
    if let Some(mix) = rows.optional::<bool>("mix_products") {
        span.mix_products = mix.value;
    }
}

fn believed(rows: &mut Table, believed: &mut Believed) {
    for (key, unit, range) in [
        ("diameter_mm", "mm", &mut believed.diameter_mm),
        ("length_mm", "mm", &mut believed.length_mm),
        ("area_mm2", "mm²", &mut believed.area_mm2),
    ] {
        if let Some(pair) = ordered(rows, key, unit) {
            *range = pair.value;
        }
    }
}

fn par(rows: &Table) -> Vec<Par> {
    let mut par: Vec<(Par, Place)> = Vec::new();
    for (item, pieces) in rows.entries::<u32>() {
        let entry = Par { item: item.trim().to_string(), pieces: pieces.value };
        if entry.item.is_empty() {
            rows.fault(&pieces.place, "name a size, as 3.00x29, or a REF");
        }
        if let Some((diameter, length)) = entry.size() {
            if !believable(diameter, length) {
                let message = format!("{item:?} is no believable size; write diameter x length, as 3.00x29");
                rows.fault(&pieces.place, message);
            }
            let twin = |other: &Par| {
                let size = other.size();
                size.is_some_and(|(d, l)| same(d.mm(), diameter.mm()) && same(l.mm(), length.mm()))
            };
            if let Some((_, first)) = par.iter().find(|(other, _)| twin(other)) {
                rows.fault(&pieces.place, format!("this size stands in line {} already", first.line));
            }
        }
        par.push((entry, pieces.place));
    }
    par.into_iter().map(|(par, _)| par).collect()
}

/// The limits of labelled sizes are those of the catalogue, not those that a room believes of its vessels.
fn believable(diameter: Diameter, length: Length) -> bool {
    let Believed { diameter_mm, length_mm, .. } = Believed::DEFAULT;
    let within = |[least, most]: [f64; 2], value| (least..=most).contains(&value);
    within(diameter_mm, diameter.mm()) && within(length_mm, length.mm())
}
