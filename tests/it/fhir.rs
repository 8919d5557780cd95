//! The FHIR R4 collection: what R4 demands, and nobody's identity.

use crate::entries::*;
use boxcall::journal::{BoxRead, Fact, Fate, Unused};
use boxcall::label::{Arrival, Raw, System};
use boxcall::lesion::Measurements;
use boxcall::report::{self, CaseReport};
use serde_json::Value;

fn hex(text: &str) -> String {
    text.bytes().map(|byte| format!("{byte:02x}")).collect()
}

fn scanned(text: &str, label: BoxRead) -> BoxRead {
    let raw = Some(Raw { hex: hex(text), arrival: Arrival::Scanned });
    BoxRead { raw, system: Some(System::Gs1), ..label }
}

fn journal() -> Journal {
    let mut journal = Journal::case();
    let measured = Measurements { segment: Some("6".into()), ..Measurements::default() };
    journal.push(Fact::LesionMeasured { lesion: 1, measured });
    let printed = Some(format!("(01){FELL_30029}(17)271231(10)L1"));
    let stent = BoxRead { printed, ..fell(FELL_30029, 3.0, 29.0, "L1") };
    journal.open(1, None, scanned(&format!("]d201{FELL_30029}17271231\x1d10L1"), stent));
    journal.fate(1, Fate::Implanted);
    journal.open(2, None, scanned(&format!("01{FELL_30029}10L2"), fell(FELL_30029, 3.0, 29.0, "L2\u{1d}")));
    journal.fate(2, Fate::OpenedNotUsed { why: Unused::WouldNotCross });
    journal.open(3, None, beck());
    journal.fate(3, Fate::Used);
    journal.open(4, None, BoxRead::default());
    journal.open(5, None, beck());
    journal.fate(5, Fate::LostInPatient);
    journal.put_back(6, fell(FELL_30039, 3.0, 39.0, "L9"));
    journal.push(Fact::SignedOff { unsettled: 1, why: Some("named somebody".into()) });
    journal
}

fn bundle(journal: &Journal) -> Value {
    let case = journal.fold();
    let text = report::fhir(&CaseReport {
        case: &case,
        currency: "EUR",
        refill: Vec::new(),
        consigned: Vec::new(),
        to_return: Vec::new(),
        program: "boxcall 0.1.0",
        head: "00",
        anchor: boxcall::journal::Anchor { entry: 9, hash: [0; 32] },
        anchor_to_scan: "",
        journal: &boxcall::journal::Statement::of_nothing(),
        code_to_scan: "",
        links: &[],
        written: Journal::at(90),
    });
    serde_json::from_str(&text).unwrap()
}

fn of_kind<'a>(bundle: &'a Value, kind: &str) -> Vec<&'a Value> {
    let entries = bundle["entry"].as_array().unwrap().iter().map(|entry| &entry["resource"]);
    entries.filter(|resource| resource["resourceType"] == kind).collect()
}

/// Calls `look` with every value of the tree and the key under which it stands.
fn walk(key: &str, value: &Value, look: &mut impl FnMut(&str, &Value)) {
    look(key, value);
    match value {
        Value::Object(fields) => fields.iter().for_each(|(key, value)| walk(key, value, look)),
        Value::Array(items) => items.iter().for_each(|value| walk(key, value, look)),
        _ => {}
    }
}

/// HL7 FHIR R4 (4.0.1): Bundle bdl-7 (each fullUrl once), ele-1 (no empty value), references resolve inside a
/// collection that stands alone; the code lists of Procedure.status, Device.status, SupplyDelivery.status.
#[test]
fn the_collection_is_what_r4_demands() {
    for journal in [journal(), Journal::case()] {
        let bundle = bundle(&journal);
        assert_eq!((&bundle["resourceType"], &bundle["type"]), (&"Bundle".into(), &"collection".into()));
        let urls: Vec<&str> = bundle["entry"]
            .as_array()
            .unwrap()
            .iter()
            .map(|entry| entry["fullUrl"].as_str().unwrap())
            .collect();
        let mut distinct = urls.clone();
        distinct.sort_unstable();
        distinct.dedup();
        assert_eq!(distinct.len(), urls.len());
        walk("", &bundle, &mut |key, value| {
            let empty = match value {
                Value::Null => true,
                Value::String(text) => text.trim().is_empty() || text.chars().any(char::is_control),
                Value::Array(items) => items.is_empty(),
                Value::Object(fields) => fields.is_empty(),
                _ => false,
            };
            assert!(!empty, "{key}: {value}");
            if key == "reference" {
                assert!(urls.contains(&value.as_str().unwrap()), "{value} is not in this bundle");
            }
            assert!(!matches!(key, "family" | "given" | "birthDate"), "{key}: somebody's identity");
            assert!(!value.as_str().is_some_and(|text| text.contains("somebody")), "typed text left");
        });
        assert!(of_kind(&bundle, "Patient").is_empty());
        let procedure = of_kind(&bundle, "Procedure")[0];
        assert_eq!(procedure["subject"]["extension"][0]["valueCode"], "masked");
        assert_eq!(procedure["subject"]["reference"], Value::Null);
        for (kind, known) in [
            ("Procedure", &["completed", "in-progress"][..]),
            ("Device", &["active", "inactive", "unknown"][..]),
            ("SupplyDelivery", &["completed"][..]),
        ] {
            for resource in of_kind(&bundle, kind) {
                assert!(known.contains(&resource["status"].as_str().unwrap()), "{resource}");
            }
        }
    }
}

#[test]
fn every_opened_box_is_a_device_and_each_fate_has_its_place() {
    let bundle = bundle(&journal());
    let devices = of_kind(&bundle, "Device");
    let statuses: Vec<_> = devices.iter().map(|device| device["status"].as_str().unwrap()).collect();
    assert_eq!(statuses, ["active", "inactive", "inactive", "unknown", "unknown"]);
    let procedure = of_kind(&bundle, "Procedure")[0];
    let actions: Vec<_> = procedure["focalDevice"]
        .as_array()
        .unwrap()
        .iter()
        .map(|focal| focal["action"]["coding"][0]["code"].as_str().unwrap())
        .collect();
    assert_eq!(actions, ["implanted", "manipulated"]);
    assert_eq!(procedure["usedReference"].as_array().unwrap().len(), 1);
    assert_eq!(procedure["bodySite"][0]["text"], "segment 6");
    assert_eq!(of_kind(&bundle, "SupplyDelivery").len(), 2, "would not cross, and not settled");
    assert_eq!(devices[1]["note"][0]["text"], "opened, not used: would not cross");
    assert_eq!(devices[4]["note"][0]["text"], "lost in the patient");
    assert_eq!(devices[1]["lotNumber"], "L2");
}

/// The bytes as scanned, the separator in; base64 by Python's base64 module.
#[test]
fn the_carrier_keeps_the_bytes_as_scanned() {
    let bundle = bundle(&journal());
    let devices = of_kind(&bundle, "Device");
    let carrier = &devices[0]["udiCarrier"][0];
    assert_eq!(carrier["deviceIdentifier"], FELL_30029);
    assert_eq!(carrier["issuer"], "http://hl7.org/fhir/NamingSystem/gs1-di");
    assert_eq!(carrier["carrierAIDC"], "XWQyMDEwOTUyMTAwMTMwMDI5MjE3MjcxMjMxHTEwTDE=");
    assert_eq!(carrier["carrierHRF"], format!("(01){FELL_30029}(17)271231(10)L1"));
    assert_eq!(carrier["entryType"], "barcode");
    assert_eq!(devices[3]["udiCarrier"], Value::Null, "nothing was read of it");
}

#[test]
fn hibc_prints_what_it_encodes() {
    let mut journal = Journal::case();
    let label = BoxRead { di: Some(di("A99912345")), ..fell(FELL_30029, 3.0, 29.0, "L1") };
    let label = BoxRead { system: Some(System::Hibc), ..scanned("]C0+A999123457G", label) };
    journal.open(1, None, label);
    let bundle = bundle(&journal);
    let carrier = &of_kind(&bundle, "Device")[0]["udiCarrier"][0];
    assert_eq!(carrier["carrierHRF"], "+A999123457G");
    assert_eq!(carrier["issuer"], "http://hl7.org/fhir/NamingSystem/hibcc-dI");
}

#[test]
fn the_same_case_has_the_same_addresses() {
    let first = bundle(&journal());
    let mut later = journal();
    later.fate(4, Fate::NotFound);
    let later = bundle(&later);
    let urls = |bundle: &Value| {
        let entries = bundle["entry"].as_array().unwrap().clone();
        entries.into_iter().map(|entry| entry["fullUrl"].clone()).collect::<Vec<_>>()
    };
    assert_eq!(urls(&first), urls(&later));
}

/// HL7 FHIR R4 (4.0.1): Period, invariant per-1 (the start is not after the end); Device.type.
#[test]
fn a_clock_that_was_set_back_leaves_no_period_that_ends_before_it_starts() {
    let mut journal = journal();
    let procedure = |journal: &Journal| of_kind(&bundle(journal), "Procedure")[0]["performedPeriod"].clone();
    let before = procedure(&journal);
    assert!(before["start"].as_str() <= before["end"].as_str(), "{before}");
    journal.entries.last_mut().unwrap().at -= chrono::TimeDelta::days(1);
    let after = procedure(&journal);
    assert_eq!((after["start"].clone(), after.get("end")), (before["start"].clone(), None));
}

#[test]
fn a_device_says_what_kind_it_is_and_what_nobody_read_has_none() {
    let bundle = bundle(&journal());
    let types: Vec<&Value> =
        of_kind(&bundle, "Device").iter().map(|device| &device["type"]["text"]).collect();
    let stent = Value::from("drug-eluting stent");
    let balloon = Value::from("non-compliant balloon");
    assert_eq!(types, [&stent, &stent, &balloon, &Value::Null, &balloon]);
}
