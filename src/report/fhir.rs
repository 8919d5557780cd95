//! The record as a FHIR R4 collection: one Device a box, one Procedure, one SupplyDelivery for what was opened
//! and neither implanted nor used. Nobody's identity: the subject that R4 demands is said to be masked.
//!
//! Source: HL7 FHIR R4 (4.0.1), resources Bundle, Procedure, Device, SupplyDelivery. No text that somebody typed
//! goes into a note: it could name a person.

use super::CaseReport;
use super::udi::{clean, printed};
use crate::case::{Case, Item, OverlapKept, StentLayout, fate_words, label_words, overlap_words};
use crate::deference::LONG;
use crate::journal::{BoxRead, Fate};
use crate::label::{Arrival, Raw, System};
use base64::prelude::{BASE64_STANDARD as STANDARD, Engine};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

/// Opened boxes only: what was put back never left the cupboard for good.
pub fn fhir(report: &CaseReport) -> String {
    let case = report.case;
    let boxes = case.opened();
    let mut entries = vec![entry(case, "procedure", procedure(case, &boxes))];
    for item in &boxes {
        entries.push(entry(case, &device_name(item), device(case, item)));
        if !is_on_procedure(item) {
            entries.push(entry(case, &format!("supply-{}", item.number), supply(case, item)));
        }
    }
    let mut bundle = json!({
        "resourceType": "Bundle",
        "meta": { "tag": [
            {
                "system": "urn:boxcall:journal",
                "code": if report.journal.holds { "holds" } else { "does-not-hold" },
                "display": report.journal.to_string(),
            },
            { "system": "urn:boxcall:journal-head", "code": report.anchor.to_string() },
        ] },
        "type": "collection",
        "timestamp": report.written.to_rfc3339(),
        "identifier": { "system": "urn:boxcall:export", "value": format!("{}/{}", case.code, last_entry(case)) },
        "entry": entries,
    });
    leave_out_empty(&mut bundle);
    // A tree of text and numbers can always be written.
    serde_json::to_string_pretty(&bundle).map(|text| text + "\n").unwrap_or_default()
}

/// What is not known is left out: R4 allows no null, no empty text and no empty list (ele-1).
fn leave_out_empty(value: &mut Value) {
    let said = |value: &mut Value| {
        leave_out_empty(value);
        !matches!(value, Value::Null) && *value != json!("") && *value != json!([])
    };
    match value {
        Value::Object(fields) => fields.retain(|_, value| said(value)),
        Value::Array(list) => list.retain_mut(said),
        _ => {}
    }
}

fn last_entry(case: &Case) -> u64 {
    case.story.last().map_or(0, |line| line.seq)
}

fn entry(case: &Case, name: &str, resource: Value) -> Value {
    json!({ "fullUrl": url(case, name), "resource": resource })
}

/// The same box of the same case has the same address in every export (@uuid-8, out of a hash).
fn url(case: &Case, name: &str) -> String {
    let hash = Sha256::digest(format!("boxcall/{}/{name}", case.code));
    let mut bytes = [0; 16];
    bytes.iter_mut().zip(hash).for_each(|(byte, hashed)| *byte = hashed);
    format!("urn:uuid:{}", uuid::Builder::from_custom_bytes(bytes).into_uuid())
}

fn device_name(item: &Item) -> String {
    format!("device-{}", item.number)
}

fn reference(case: &Case, item: &Item) -> Value {
    json!({ "reference": url(case, &device_name(item)), "type": "Device" })
}

/// Implanted, used and lost boxes are on the procedure itself.
fn is_on_procedure(item: &Item) -> bool {
    matches!(fate(item), Some(Fate::Implanted | Fate::Used | Fate::LostInPatient))
}

fn fate(item: &Item) -> Option<Fate> {
    item.fate.as_ref().map(|kept| kept.fate)
}

fn procedure(case: &Case, boxes: &[&Item]) -> Value {
    let with = |wanted: Fate| boxes.iter().filter(move |item| fate(item) == Some(wanted));
    let focal = |item: &Item, action: &str| {
        json!({
            "action": { "coding": [{ "system": "http://hl7.org/fhir/device-action", "code": action }] },
            "manipulated": reference(case, item),
        })
    };
    let implanted = with(Fate::Implanted).map(|item| focal(item, "implanted"));
    // Lost in the patient: R4 has no code of its own for it; the device's note says it.
    let lost = with(Fate::LostInPatient).map(|item| focal(item, "manipulated"));
    let segments = case.lesions.values().filter_map(|measured| measured.segment.as_deref()).map(clean);
    let sites = segments
        .filter(|segment| !segment.is_empty())
        .map(|segment| json!({ "text": format!("segment {segment}") }));
    let stents = with(Fate::Implanted).next().is_some();
    // A clock that was set back may show the signature before the beginning, which a Period may not (per-1).
    let end = case.signed.as_ref().filter(|signed| signed.at >= case.begun);
    let overlaps = |laid: &StentLayout| -> Vec<Value> {
        let note = |kept: &&OverlapKept| json!({ "time": kept.at.to_rfc3339(), "text": overlap_words(&kept.overlap) });
        let sum = json!({ "text": format!("lesion {}: {}", laid.lesion, laid.words()) });
        laid.overlaps.iter().map(note).chain([sum]).collect()
    };
    json!({
        "resourceType": "Procedure",
        "identifier": [{ "system": "urn:boxcall:case", "value": case.code.as_str() }],
        "status": if case.signed.is_some() { "completed" } else { "in-progress" },
        "code": { "text": if stents { "Coronary stent implantation" } else { "Coronary intervention" } },
        "subject": {
            "extension": [{
                "url": "http://hl7.org/fhir/StructureDefinition/data-absent-reason",
                "valueCode": "masked",
            }],
            "type": "Patient",
            "display": "not recorded by this system",
        },
        "performedPeriod": {
            "start": case.begun.to_rfc3339(),
            "end": end.map(|signed| signed.at.to_rfc3339()),
        },
        "bodySite": sites.collect::<Vec<_>>(),
        "focalDevice": implanted.chain(lost).collect::<Vec<_>>(),
        "usedReference": with(Fate::Used).map(|item| reference(case, item)).collect::<Vec<_>>(),
        "note": case.laid().iter().flat_map(overlaps).chain([json!({ "text": LONG })]).collect::<Vec<_>>(),
    })
}

fn device(case: &Case, item: &Item) -> Value {
    let label = &item.label;
    let text = |text: &Option<String>| text.as_deref().map(clean);
    let sizes = [
        ("nominal diameter", label.diameter.map(|diameter| diameter.mm())),
        ("length", label.length.map(|length| length.mm())),
    ];
    let note = match fate(item) {
        Some(Fate::Implanted | Fate::Used) => None,
        Some(fate) => Some(fate_words(fate)),
        None => Some("opened; what became of it is not settled".into()),
    };
    let time = item.fate.as_ref().map(|kept| kept.at).or(item.opened_at).map(|at| at.to_rfc3339());
    json!({
        "resourceType": "Device",
        // Its number in the case: a note on the procedure speaks of boxes by their numbers.
        "identifier": [{ "system": "urn:boxcall:box", "value": format!("{}/{}", case.code, item.number) }],
        "udiCarrier": [carrier(label)],
        "status": status(fate(item)),
        "manufacturer": text(&label.maker),
        "manufactureDate": label.made,
        "expirationDate": label.use_by,
        "lotNumber": text(&label.lot),
        "serialNumber": text(&label.serial),
        "modelNumber": text(&label.reference),
        "type": label.kind.map(|kind| json!({ "text": kind })),
        "deviceName": [{ "name": clean(&label_words(label)), "type": "user-friendly-name" }],
        "property": sizes.into_iter().filter_map(|(name, mm)| Some(property(name, mm?))).collect::<Vec<_>>(),
        "note": [note.map(|note| json!({ "text": note, "time": time }))],
    })
}

fn status(fate: Option<Fate>) -> &'static str {
    match fate {
        Some(Fate::Implanted) => "active",
        Some(Fate::Used | Fate::OpenedNotUsed { .. }) => "inactive",
        Some(Fate::LostInPatient | Fate::NotFound) | None => "unknown",
    }
}

fn property(name: &str, mm: f64) -> Value {
    json!({
        "type": { "text": name },
        "valueQuantity": [{ "value": mm, "unit": "mm", "system": "http://unitsofmeasure.org", "code": "mm" }],
    })
}

/// Only where an identifier was read: a carrier without one says nothing.
fn carrier(label: &BoxRead) -> Option<Value> {
    let di = label.di.as_ref()?;
    let issuer = label.system.map(|system| match system {
        System::Gs1 | System::Gs1DigitalLink => "http://hl7.org/fhir/NamingSystem/gs1-di",
        // So spelt in R4.
        System::Hibc => "http://hl7.org/fhir/NamingSystem/hibcc-dI",
        System::Isbt128 => "http://hl7.org/fhir/NamingSystem/iccbba-other-di",
    });
    let scanned = |raw: &Raw| if raw.arrival == Arrival::Scanned { "barcode" } else { "manual" };
    Some(json!({
        "deviceIdentifier": di.as_str(),
        "issuer": issuer,
        // @base64, with padding.
        "carrierAIDC": label.raw.as_ref().and_then(Raw::bytes).map(|bytes| STANDARD.encode(bytes)),
        "carrierHRF": printed(label),
        "entryType": label.raw.as_ref().map(scanned),
    }))
}

fn supply(case: &Case, item: &Item) -> Value {
    json!({
        "resourceType": "SupplyDelivery",
        "identifier": [{ "system": "urn:boxcall:opened", "value": format!("{}/{}", case.code, item.number) }],
        "status": "completed",
        "type": {
            "coding": [{ "system": "http://terminology.hl7.org/CodeSystem/supply-item-type", "code": "device" }],
        },
        "suppliedItem": { "quantity": { "value": 1 }, "itemReference": reference(case, item) },
        "occurrenceDateTime": item.opened_at.map(|at| at.to_rfc3339()),
    })
}
