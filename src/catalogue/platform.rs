//! One `[[diameter]]` of a product file, with its chart and its boxes.

use super::{Chart, Pack, Platform, Pressures};
use crate::intake::{At, Table};
use crate::policy::Believed;
use crate::udi::DeviceId;
use crate::units::{Diameter, Length, Pressure, at_least, plain, same};

/// Labelled diameters outside these, in mm, are slips.
const DIAMETER_MM: [f64; 2] = Believed::DEFAULT.diameter_mm;
/// Labelled lengths outside these, in mm, are slips.
const LENGTH_MM: [f64; 2] = Believed::DEFAULT.length_mm;
/// Struts run from about 50 to 200 µm, covered ones to more; widened. Common practice, no source.
pub(super) const STRUT_UM: [f64; 2] = [20.0, 600.0];
/// A coronary balloon is rated at 8 to 35 atm; widened. Common practice, no source.
const PRESSURE_ATM: [f64; 2] = [0.5, 60.0];
/// A folded profile is 0.4 to 1.5 mm; widened. Common practice, no source.
const CROSSING_MM: [f64; 2] = [0.2, 4.0];
/// The largest platforms are stretched to about 6 mm; widened.
const EXPANSION_MM: [f64; 2] = [1.0, 12.0];

/// Diameters of a chart, in mm: the labelled ones and what a balloon does below nominal and up to rated burst.
const CHART_MM: [f64; 2] = [0.5, 12.0];

/// What one `[[diameter]]` gave, and where the things stand that may occur once only.
pub(super) struct Boxes {
    pub platform: Option<Platform>,
    pub mm: Option<At<f64>>,
    pub identifiers: Vec<At<DeviceId>>,
}

/// Both pressures may be left out together, in a file that nobody has checked yet: a public database holds none.
pub(super) fn visit(row: &mut Table, verified: bool) -> Boxes {
    let mm = row.required::<f64>("mm").and_then(|mm| believable_diameter(row, mm));
    let crossing = number(row, "crossing_mm", CROSSING_MM, "mm", false);
    let limit = number_at(row, "expansion_limit_mm", EXPANSION_MM, "mm", false);
    let neither = !["nominal_atm", "rated_burst_atm", "chart"].iter().any(|key| row.has(key));
    let wanted = verified || !neither;
    let nominal = number_at(row, "nominal_atm", PRESSURE_ATM, "atm", wanted);
    let rated = number_at(row, "rated_burst_atm", PRESSURE_ATM, "atm", wanted);
    if let (Some(nominal), Some(rated)) = (&nominal, &rated)
        && !at_least(rated.value, nominal.value)
    {
        let [low, high] = [rated.value, nominal.value].map(plain);
        row.fault(&rated.place, format!("rated burst {low} atm lies below the nominal {high} atm"));
    }
    let had_chart = row.has("chart");
    let rows = row.list::<[f64; 2]>("chart");
    let chart = rows.and_then(|rows| chart(row, rows, &mm, &nominal, &rated));
    limit_holds(row, limit.as_ref(), mm.as_ref(), chart.as_ref(), had_chart);
    let mut identifiers = Vec::new();
    let boxes = boxes(row, &mut identifiers);
    let platform = (|| {
        Some(Platform {
            diameter: Diameter::from_mm(mm.as_ref()?.value),
            crossing: crossing.map(Diameter::from_mm),
            expansion_limit: limit.map(|limit| Diameter::from_mm(limit.value)),
            pressures: if wanted { Some(Pressures::of(nominal?.value, rated?.value)) } else { None },
            chart,
            boxes: boxes?,
        })
    })();
    Boxes { platform, mm, identifiers }
}

/// A number that must lie in a believed range, both ends within.
pub(super) fn number_at(
    table: &mut Table,
    key: &'static str,
    [least, most]: [f64; 2],
    unit: &str,
    wanted: bool,
) -> Option<At<f64>> {
    let number: At<f64> = if wanted { table.required(key) } else { table.optional(key) }?;
    if !(least..=most).contains(&number.value) {
        let message = format!("{} {unit} is not believable: {least} to {most} {unit}", number.value);
        table.fault(&number.place, message);
        return None;
    }
    Some(number)
}

pub(super) fn number(
    table: &mut Table,
    key: &'static str,
    range: [f64; 2],
    unit: &str,
    wanted: bool,
) -> Option<f64> {
    number_at(table, key, range, unit, wanted).map(|at| at.value)
}

fn believable_diameter(row: &Table, mm: At<f64>) -> Option<At<f64>> {
    let [least, most] = DIAMETER_MM;
    if (least..=most).contains(&mm.value) {
        return Some(mm);
    }
    let slip = match mm.value {
        value if (least..=most).contains(&(value / 10.0)) => "; a length, or a missing decimal point?",
        _ => "",
    };
    let value = plain(mm.value);
    row.fault(&mm.place, format!("{value} mm is no believable diameter: {least} to {most} mm{slip}"));
    None
}

fn chart(
    row: &Table,
    rows: At<Vec<At<[f64; 2]>>>,
    mm: &Option<At<f64>>,
    nominal: &Option<At<f64>>,
    rated: &Option<At<f64>>,
) -> Option<Chart> {
    if rows.value.is_empty() {
        row.fault(&rows.place, "the chart has no rows; leave the key out where there is none");
        return None;
    }
    for at in &rows.value {
        let [atm, diameter] = at.value;
        for (value, [least, most], unit) in [(atm, PRESSURE_ATM, "atm"), (diameter, CHART_MM, "mm")] {
            if !(least..=most).contains(&value) {
                row.fault(&at.place, format!("{value} {unit} is not believable: {least} to {most} {unit}"));
            }
        }
    }
    for pair in rows.value.windows(2) {
        let ([atm, diameter], [next_atm, next_diameter]) = (pair[0].value, pair[1].value);
        if next_atm <= atm {
            row.fault(&pair[1].place, format!("pressures must rise: {next_atm} atm follows {atm} atm"));
        }
        if next_diameter <= diameter {
            row.fault(
                &pair[1].place,
                format!("diameters must rise: {next_diameter} mm follows {diameter} mm"),
            );
        }
    }
    if let Some(nominal) = nominal {
        match (rows.value.iter().find(|at| same(at.value[0], nominal.value)), mm) {
            (None, _) => row.fault(&rows.place, format!("no row stands at nominal, {} atm", nominal.value)),
            (Some(at), Some(mm)) if !same(at.value[1], mm.value) => {
                let message =
                    format!("the row at nominal holds {} mm, the label {} mm", at.value[1], mm.value);
                row.fault(&at.place, message);
            }
            _ => {}
        }
    }
    let last = rated.as_ref()?.value;
    let Some(end) = rows.value.iter().position(|at| same(at.value[0], last)) else {
        row.fault(&rows.place, format!("no row stands at exactly rated burst, {last} atm"));
        return None;
    };
    let kept = rows.value[..=end].iter().map(|at| at.value);
    Some(Chart { rows: kept.map(|[atm, mm]| (Pressure::from_atm(atm), Diameter::from_mm(mm))).collect() })
}

fn limit_holds(
    row: &Table,
    limit: Option<&At<f64>>,
    mm: Option<&At<f64>>,
    chart: Option<&Chart>,
    had_chart: bool,
) {
    let Some(limit) = limit else { return };
    // A chart that is faulty itself says nothing of the limit.
    let (least, what) = match (chart, mm) {
        (Some(chart), _) => (chart.at_rated_burst().mm(), "the chart's diameter at rated burst"),
        (None, Some(mm)) if !had_chart => (mm.value, "the labelled diameter"),
        _ => return,
    };
    if !at_least(limit.value, least) {
        row.fault(&limit.place, format!("{} mm lies below {what}, {least} mm", limit.value));
    }
}

fn boxes(row: &mut Table, identifiers: &mut Vec<At<DeviceId>>) -> Option<Vec<Pack>> {
    let Some(list) = row.tables("boxes") else {
        if !row.has("boxes") {
            row.missing("boxes");
        }
        return None;
    };
    if list.value.is_empty() {
        row.fault(&list.place, "a diameter has at least one box");
    }
    let total = list.value.len();
    let mut lengths: Vec<At<f64>> = Vec::new();
    let mut packs = Vec::new();
    for mut item in list.value {
        let length = number_at(&mut item, "length_mm", LENGTH_MM, "mm", true);
        if let Some(length) = &length {
            if let Some(first) = lengths.iter().find(|first| same(first.value, length.value)) {
                let (value, line) = (plain(length.value), first.place.line);
                let message =
                    format!("the length {value} stands in line {line} already ({})", first.place.key);
                item.fault(&length.place, message);
            }
            lengths.push(length.clone());
        }
        let (reference, di) = names(&mut item);
        if let (Some(length), Some(reference), Some(di)) = (length, reference, &di) {
            let di = di.iter().map(|at| at.value.clone()).collect();
            packs.push(Pack { length: Length::from_mm(length.value), reference, di });
        }
        identifiers.extend(di.into_iter().flatten());
        item.finish();
    }
    packs.sort_by(|a, b| a.length.mm().total_cmp(&b.length.mm()));
    (packs.len() == total).then_some(packs)
}

/// The catalogue number and the identifiers of a box. A list without identifiers is taken: such a box can be
/// called, and its label is never told to be the SAME.
pub(super) fn names(item: &mut Table) -> (Option<String>, Option<Vec<At<DeviceId>>>) {
    let reference = item.words("ref").map(|reference| reference.value);
    if !item.has("di") {
        item.missing("di");
    }
    let Some(texts) = item.list::<String>("di") else { return (reference, None) };
    let total = texts.value.len();
    let mut identifiers = Vec::new();
    for text in texts.value {
        match DeviceId::parse(&text.value) {
            Ok(di) => identifiers.push(text.map(|_| di)),
            Err(fault) => {
                item.fault(&text.place, format!("{:?} is no device identifier: {fault}", text.value))
            }
        }
    }
    (reference, (identifiers.len() == total).then_some(identifiers))
}
