//! The record as a table: one row a box, safe to open in a spreadsheet.

use super::{CaseReport, asked_as, lesions, verdict_at_call};
use crate::case::{Item, ItemState, fate_words};
use crate::catalogue::Owner;
use chrono::{DateTime, FixedOffset};

const HEADER: [&str; 28] = [
    "case",
    "box",
    "state",
    "at_hand_at",
    "opened_at",
    "product",
    "name",
    "kind",
    "ref",
    "diameter_mm",
    "length_mm",
    "di",
    "lot",
    "serial",
    "use_by",
    "asked_as",
    "verdict_at_call",
    "read_back",
    "reason",
    "lesions",
    "inflations_atm",
    "fate",
    "fate_lesion",
    "price",
    "currency",
    "owner",
    "shelf",
    "entry",
];

/// One row a box, put back and unopened ones included. Times are RFC 3339, numbers not rounded.
pub fn csv(report: &CaseReport) -> String {
    let mut writer = csv::WriterBuilder::new().from_writer(Vec::new());
    let rows = report.case.items.iter().map(|item| row(report, item));
    // Writing to memory can't fail, and the arrays make every row as long as the header.
    let mut write = |row: [String; 28]| writer.write_record(row.map(harmless)).is_ok();
    write(HEADER.map(String::from));
    for row in rows {
        write(row);
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8_lossy(&bytes).into_owned()
}

fn row(report: &CaseReport, item: &Item) -> [String; 28] {
    let label = &item.label;
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let number = |number: Option<f64>| number.map(|number| number.to_string()).unwrap_or_default();
    let time = |time: Option<DateTime<FixedOffset>>| time.map(|time| time.to_rfc3339()).unwrap_or_default();
    let pressures: Vec<String> =
        item.inflations.iter().map(|one| one.inflation.at_atm.atm().to_string()).collect();
    let fate = item.fate.as_ref();
    let opened = item.state == ItemState::Opened;
    [
        report.case.code.to_string(),
        item.number.to_string(),
        state_words(item.state).into(),
        time(item.at_hand_at),
        time(item.opened_at),
        text(&label.product),
        label.name.clone(),
        label.kind.map(|kind| kind.to_string()).unwrap_or_default(),
        text(&label.reference),
        number(label.diameter.map(|diameter| diameter.mm())),
        number(label.length.map(|length| length.mm())),
        label.di.as_ref().map(|di| di.to_string()).unwrap_or_default(),
        text(&label.lot),
        text(&label.serial),
        label.use_by.map(|date| date.to_string()).unwrap_or_default(),
        asked_as(report.case, item),
        verdict_at_call(report.case, item),
        item.finding.clone(),
        text(&item.reason),
        lesions(item),
        pressures.join(" "),
        fate.map(|kept| fate_words(kept.fate)).unwrap_or(if opened { "not settled" } else { "" }.into()),
        fate.and_then(|kept| kept.lesion).map(|lesion| lesion.to_string()).unwrap_or_default(),
        number(label.price),
        label.price.map(|_| report.currency.to_string()).unwrap_or_default(),
        label.owner.as_ref().map(owner_words).unwrap_or_default(),
        text(&label.shelf),
        item.seq.to_string(),
    ]
}

pub(super) fn state_words(state: ItemState) -> &'static str {
    match state {
        ItemState::AtHand => "at hand",
        ItemState::Opened => "opened",
        ItemState::PutBack => "put back",
    }
}

pub(super) fn owner_words(owner: &Owner) -> String {
    match owner {
        Owner::Own => "own".into(),
        Owner::Consigned => "consigned".into(),
        Owner::Borrowed(from) => format!("borrowed from {from}"),
    }
}

/// A cell that a spreadsheet would take for a formula gets a quote in front (OWASP, "CSV injection": = + - @,
/// tab, carriage return, line feed and the full-width forms).
fn harmless(cell: String) -> String {
    const DANGEROUS: [char; 11] = ['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'];
    if cell.starts_with(DANGEROUS) { format!("'{cell}") } else { cell }
}

#[cfg(test)]
mod tests {
    use super::harmless;

    /// OWASP, "CSV injection".
    #[test]
    fn a_formula_is_made_harmless() {
        for cell in ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "＝1"] {
            assert_eq!(harmless(cell.into()), format!("'{cell}"));
        }
        for cell in ["", "L1", "1-2", "'=1", " x"] {
            assert_eq!(harmless(cell.into()), cell);
        }
    }
}
