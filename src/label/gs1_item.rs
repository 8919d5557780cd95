//! GS1: what the fields say of a box, and which fields must or must not stand together.
//!
//! Invariant: fields in, a device's data out; reads no characters.

use super::carrier::text_of;
use super::gs1_elements::Elements;
use super::gs1_table::{self, Ai, answers};
use super::gs1_value;
use super::symbol::{Symbol, not_a_label, refuse};
use super::{LabelCode, PossibleReading, Refusal, System, dates, place};
use crate::udi::DeviceId;

impl Elements {
    /// The device's data of one symbol.
    pub(super) fn symbol(&self, system: System, year: i32) -> Symbol {
        let mut out = Symbol::new(system);
        out.fault = self.fault.clone();
        out.readings = self.readings.clone();
        for e in &self.found {
            let value = text_of(&e.value);
            let holds = gs1_value::check(e.ai, &e.value, year) == Ok(true);
            if !holds {
                out.bad_date(&place::gs1(e.ai));
            }
            // One claim of one name for a device identifier, whatever the standard.
            out.claim(if e.ai.code == "01" { "device identifier" } else { &e.ai.code }, &value, e.at);
            match e.ai.code.as_str() {
                "01" => match DeviceId::parse(&value) {
                    Ok(di) => out.di = Some(di),
                    Err(_) => out.fail(not_a_label(e.at)),
                },
                "10" => out.lot = Some(value.clone()),
                "21" => out.serial = Some(value.clone()),
                "17" => out.use_by = dates::yymmdd(&value, year, true),
                "11" => out.made = dates::yymmdd(&value, year, true),
                _ => {}
            }
            out.field(&e.ai.code, &value);
        }
        out
    }
}

/// What says which item it is: without any of these, the fields of a symbol wait for the other symbol.
const IDENTITIES: [&str; 5] = ["01", "02", "03", "8006", "8026"];

/// Does a field say what the item is, or something of an item? A company's own field, an order or a postcode does not.
/// What a lost separator leaves open counts if every reading says it.
pub(super) fn speaks_of_an_item(elements: &Elements) -> bool {
    let speaks = |code: &str| {
        let asks = |ai: &Ai| ai.needs.iter().flatten().any(|need| IDENTITIES.contains(&need.as_str()));
        IDENTITIES.contains(&code) || gs1_table::find(code).is_some_and(asks)
    };
    let read = |reading: &PossibleReading| reading.fields.iter().any(|(code, _)| speaks(code));
    elements.found.iter().any(|e| speaks(&e.ai.code))
        || (!elements.readings.is_empty() && elements.readings.iter().all(read))
}

/// Keys of things that are no device, and what belongs to them.
const NO_DEVICE: [&str; 15] = [
    "00", "253", "254", "255", "400", "401", "402", "403", "8002", "8003", "8004", "8007", "8010", "8017",
    "8020",
];

/// The fields of a box, over all its symbols.
struct Fields<'a> {
    /// Codes and where they stand.
    codes: Vec<(&'a str, usize)>,
    /// Nothing says what the box is: the symbol that does was not read.
    without_identity: bool,
}

impl Fields<'_> {
    fn holds(&self, pattern: &str) -> bool {
        self.codes.iter().any(|(code, _)| answers(code, pattern))
    }

    /// A number of something that is not a device, and nothing that a device's box says.
    fn no_device(&self) -> bool {
        let other =
            |code: &str| NO_DEVICE.contains(&code) || code.starts_with("41") || code.starts_with("43");
        self.without_identity && !self.codes.is_empty() && self.codes.iter().all(|(code, _)| other(code))
    }

    /// Does this field lack the others without which it may not stand? An identity that waits on the other symbol
    /// is not missing, but a count of contents is not without its contents.
    fn lacks(&self, ai: &Ai) -> bool {
        let code = ai.code.as_str();
        // 37 beside 01 is forbidden, which says more than that 02 is missing.
        if ai.needs.is_empty() || (code == "37" && self.holds("01")) {
            return false;
        }
        let awaited = self.without_identity && code != "37";
        let met = |need: &String| {
            self.holds(need) || pallet(code, need) || (awaited && IDENTITIES.contains(&need.as_str()))
        };
        !ai.needs.iter().any(|group| group.iter().all(met))
    }
}

/// Fields that need others or can't bear others, over all symbols of the box.
///
/// # Errors
/// `not-a-label` for the number of something else, `missing-pair`, `forbidden-pair`.
pub(super) fn pairs(symbols: &[Symbol]) -> Result<(), Refusal> {
    // The reader makes one claim a field, in the same order.
    let codes: Vec<(&str, usize)> = symbols
        .iter()
        .filter(|s| matches!(s.system, System::Gs1 | System::Gs1DigitalLink))
        .flat_map(|s| s.fields.iter().map(|(code, _)| code.as_str()).zip(s.claims.iter().map(|c| c.at)))
        .collect();
    let without_identity = !IDENTITIES.iter().any(|identity| codes.iter().any(|(code, _)| code == identity));
    let fields = Fields { codes, without_identity };
    if fields.no_device() {
        return Err(not_a_label(fields.codes.first().map_or(0, |(_, at)| *at)));
    }
    let known = || fields.codes.iter().filter_map(|(code, at)| Some((gs1_table::find(code)?, *at)));
    // A lost separator may hide the partner.
    let whole = symbols.iter().all(|s| s.readings.is_empty());
    if let Some((ai, at)) = known().find(|(ai, _)| whole && fields.lacks(ai)) {
        let message = format!(
            "{}, at byte {at}, may not stand without {}: scan the other symbol of the box with it.",
            place::first_word(&place::gs1(ai)),
            needs(ai)
        );
        return Err(refuse(LabelCode::MissingPair, at, message));
    }
    for (ai, at) in known() {
        let clash = |code: &str| code != ai.code && ai.forbids.iter().any(|pattern| answers(code, pattern));
        if let Some((other, _)) = fields.codes.iter().find(|(code, _)| clash(code)) {
            let message = format!(
                "{}, at byte {at}, may not stand beside {}: scan one box at a time.",
                place::first_word(&place::gs1(ai)),
                place::claimed(other)
            );
            return Err(refuse(LabelCode::ForbiddenPair, at, message));
        }
    }
    Ok(())
}

/// The standard wants a pallet's number beside 02 and 37. Cartons without it are met and harmless: none of the
/// three names this box.
fn pallet(code: &str, need: &str) -> bool {
    code == "37" && need == "00"
}

/// What it may not stand without, in words.
fn needs(ai: &Ai) -> String {
    let group = |group: &Vec<String>| {
        let kept: Vec<&str> =
            group.iter().map(String::as_str).filter(|need| !pallet(&ai.code, need)).collect();
        kept.join(" and ")
    };
    ai.needs.iter().map(group).collect::<Vec<_>>().join(", or ")
}
