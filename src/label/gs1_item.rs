//! GS1: what the fields say of a box, and which fields must or must not stand together.
//!
//! Invariant: fields in, a device's data out; reads no characters.

use super::carrier::text_of;
use super::gs1::{Element, Elements};
use super::gs1_table::{self, answers};
use super::gs1_value;
use super::symbol::{Symbol, not_a_label, refuse};
use super::{Refusal, System, dates};
use crate::udi::DeviceId;

/// Identifiers and raw values.
pub(super) fn pairs_of(elements: &[Element]) -> Vec<(String, String)> {
    elements.iter().map(|e| (e.ai.code.clone(), text_of(&e.value))).collect()
}

/// The device's data of one symbol.
pub(super) fn symbol(system: System, elements: &Elements, year: i32) -> Symbol {
    let mut out = Symbol::new(system);
    out.fault = elements.fault.clone();
    out.readings = elements.readings.clone();
    for e in &elements.found {
        let value = text_of(&e.value);
        let holds = gs1_value::check(e.ai, &e.value, year) == Ok(true);
        if !holds {
            out.bad_date(&format!("({}) {}", e.ai.code, e.ai.title));
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

/// The parts of a whole that a second symbol may bring: without a device identifier they wait for the other one.
const IDENTITIES: [&str; 5] = ["01", "02", "03", "8006", "8026"];

/// Keys of things that are no device, and what belongs to them.
const NO_DEVICE: [&str; 15] = [
    "00", "253", "254", "255", "400", "401", "402", "403", "8002", "8003", "8004", "8007", "8010", "8017",
    "8020",
];

/// Fields that need others or can't bear others, over all symbols of the box.
pub(super) fn pairs(symbols: &[Symbol]) -> Result<(), Refusal> {
    let codes: Vec<(&str, usize)> = symbols
        .iter()
        .filter(|s| matches!(s.system, System::Gs1 | System::Gs1DigitalLink))
        .flat_map(|s| s.fields.iter().map(|(code, _)| code.as_str()).zip(s.claims.iter().map(|c| c.at)))
        .collect();
    let holds = |pattern: &str| codes.iter().any(|(code, _)| answers(code, pattern));
    let without_identity = !IDENTITIES.iter().any(|code| holds(code));
    if without_identity
        && !codes.is_empty()
        && codes
            .iter()
            .all(|(code, _)| NO_DEVICE.contains(code) || code.starts_with("41") || code.starts_with("43"))
    {
        return Err(not_a_label(codes.first().map_or(0, |(_, at)| *at)));
    }
    // A lost separator may hide the partner.
    if symbols.iter().all(|s| s.readings.is_empty()) {
        for (code, at) in &codes {
            let Some(ai) = gs1_table::find(code) else { continue };
            let met = |need: &str| holds(need) || (without_identity && IDENTITIES.contains(&need));
            let mut groups = ai.needs.iter().map(|group| group.iter().filter(|need| !skipped(code, need)));
            // 37 beside 01 is forbidden, which says more than that 02 is missing.
            let excused = ai.needs.is_empty() || (*code == "37" && holds("01"));
            let satisfied = if *code == "02" || *code == "37" || *code == "8026" {
                ai.needs.iter().any(|group| group.iter().all(|need| skipped(code, need) || holds(need)))
            } else {
                groups.any(|mut group| group.all(|need| met(need)))
            };
            if !excused && !satisfied {
                let needs: Vec<String> = groups_named(code, &ai.needs);
                return Err(refuse(
                    "missing-pair",
                    *at,
                    format!(
                        "({code}) at byte {at} may not stand without {}: scan the other symbol of the box with it.",
                        needs.join(", or ")
                    ),
                ));
            }
        }
    }
    for (code, at) in &codes {
        let Some(ai) = gs1_table::find(code) else { continue };
        for pattern in &ai.forbids {
            if let Some((other, _)) = codes.iter().find(|(other, _)| other != code && answers(other, pattern))
            {
                return Err(refuse(
                    "forbidden-pair",
                    *at,
                    format!("({code}) at byte {at} may not stand beside ({other}): scan one box at a time."),
                ));
            }
        }
    }
    Ok(())
}

/// A pallet's number beside 02 and 37 is what the standard wants; cartons without it are met, and are harmless:
/// neither names this box.
fn skipped(code: &str, need: &str) -> bool {
    code == "37" && need == "00"
}

fn groups_named(code: &str, groups: &[Vec<String>]) -> Vec<String> {
    let named = |group: &Vec<String>| {
        let kept: Vec<&str> = group.iter().map(String::as_str).filter(|need| !skipped(code, need)).collect();
        kept.join(" and ")
    };
    groups.iter().map(named).collect()
}
