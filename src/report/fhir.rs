//! The record as a FHIR R4 collection: one Device a box, one Procedure, one SupplyDelivery for what was opened
//! and neither implanted nor used. Nobody's identity: the subject that R4 demands is said to be masked.
//!
//! Source: HL7 FHIR R4 (4.0.1), resources Bundle, Procedure, Device, SupplyDelivery. No text that somebody typed
//! goes into a note: it could name a person.

use super::CaseReport;
use super::udi::{bytes, clean, printed};
use crate::case::{Case, Item, fate_words, label_words, overlap_words};
use crate::deference::LONG;
use crate::journal::{BoxRead, Fate};
use crate::label::{Arrival, System};
use serde_json::{Map, Value, json};
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
    let bundle = json!({
        "resourceType": "Bundle",
        "type": "collection",
        "timestamp": report.written.to_rfc3339(),
        "identifier": { "system": "urn:boxcall:export", "value": format!("{}/{}", case.code, last_entry(case)) },
        "entry": entries,
    });
    // A tree of text and numbers can always be written.
    serde_json::to_string_pretty(&bundle).map(|text| text + "\n").unwrap_or_default()
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

/// Implanted, used and lost boxes stand on the procedure itself.
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
    let focal: Vec<Value> = implanted.chain(lost).collect();
    let used: Vec<Value> = with(Fate::Used).map(|item| reference(case, item)).collect();
    let sites: Vec<Value> = case
        .lesions
        .values()
        .filter_map(|measured| measured.segment.as_deref())
        .map(clean)
        .filter(|segment| !segment.is_empty())
        .map(|segment| json!({ "text": format!("segment {segment}") }))
        .collect();
    let stents = with(Fate::Implanted).next().is_some();
    let mut period = json!({ "start": case.begun.to_rfc3339() });
    // A clock that was set back may show the signature before the beginning, which a Period may not (per-1).
    if let Some(signed) = case.signed.as_ref().filter(|signed| signed.at >= case.begun) {
        period["end"] = json!(signed.at.to_rfc3339());
    }
    let mut resource = json!({
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
        "performedPeriod": period,
    });
    let notes: Vec<Value> =
        case.laid()
            .iter()
            .flat_map(|laid| {
                let placed = laid.overlaps.iter().map(
                    |kept| json!({ "time": kept.at.to_rfc3339(), "text": overlap_words(&kept.overlap) }),
                );
                let sum = json!({ "text": format!("lesion {}: {}", laid.lesion, laid.words()) });
                placed.chain([sum]).collect::<Vec<_>>()
            })
            .collect();
    let notes = notes.into_iter().chain([json!({ "text": LONG })]).collect();
    // An empty list is not allowed (ele-1).
    for (key, list) in [("bodySite", sites), ("focalDevice", focal), ("usedReference", used), ("note", notes)]
    {
        if !list.is_empty() {
            resource[key] = Value::Array(list);
        }
    }
    resource
}

fn device(case: &Case, item: &Item) -> Value {
    let label = &item.label;
    let mut fields = Map::new();
    let mut put = |key: &str, value: Value| {
        fields.insert(key.into(), value);
    };
    put("resourceType", json!("Device"));
    // Its number in the case: a note on the procedure speaks of boxes by their numbers.
    put(
        "identifier",
        json!([{ "system": "urn:boxcall:box", "value": format!("{}/{}", case.code, item.number) }]),
    );
    if let Some(carrier) = carrier(label) {
        put("udiCarrier", json!([carrier]));
    }
    put("status", json!(status(fate(item))));
    let texts = [
        ("manufacturer", label.maker.as_deref().map(clean)),
        ("manufactureDate", label.made.map(|date| date.to_string())),
        ("expirationDate", label.use_by.map(|date| date.to_string())),
        ("lotNumber", label.lot.as_deref().map(clean)),
        ("serialNumber", label.serial.as_deref().map(clean)),
        ("modelNumber", label.reference.as_deref().map(clean)),
    ];
    for (key, text) in texts {
        if let Some(text) = text.filter(|text| !text.is_empty()) {
            put(key, json!(text));
        }
    }
    if let Some(kind) = label.kind {
        put("type", json!({ "text": kind.to_string() }));
    }
    put("deviceName", json!([{ "name": clean(&label_words(label)), "type": "user-friendly-name" }]));
    let sizes = [
        ("nominal diameter", label.diameter.map(|diameter| diameter.mm())),
        ("length", label.length.map(|length| length.mm())),
    ];
    let sizes: Vec<Value> = sizes.into_iter().filter_map(|(name, mm)| Some(property(name, mm?))).collect();
    if !sizes.is_empty() {
        put("property", Value::Array(sizes));
    }
    let note = match fate(item) {
        Some(Fate::Implanted | Fate::Used) => None,
        Some(fate) => Some(fate_words(fate)),
        None => Some("opened; what became of it is not settled".into()),
    };
    if let Some(note) = note {
        let time = item.fate.as_ref().map(|kept| kept.at).or(item.opened_at);
        let mut value = json!({ "text": note });
        if let Some(time) = time {
            value["time"] = json!(time.to_rfc3339());
        }
        put("note", json!([value]));
    }
    Value::Object(fields)
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
    let mut carrier = json!({ "deviceIdentifier": di.as_str() });
    if let Some(system) = label.system {
        carrier["issuer"] = json!(match system {
            System::Gs1 | System::Gs1DigitalLink => "http://hl7.org/fhir/NamingSystem/gs1-di",
            // So spelt in R4.
            System::Hibc => "http://hl7.org/fhir/NamingSystem/hibcc-dI",
            System::Isbt128 => "http://hl7.org/fhir/NamingSystem/iccbba-other-di",
        });
    }
    let bytes = label.raw.as_ref().and_then(bytes).filter(|bytes| !bytes.is_empty());
    if let Some(bytes) = &bytes {
        carrier["carrierAIDC"] = json!(base64(bytes));
    }
    if let Some(printed) = printed(label) {
        carrier["carrierHRF"] = json!(printed);
    }
    if let Some(raw) = &label.raw {
        carrier["entryType"] = json!(if raw.arrival == Arrival::Scanned { "barcode" } else { "manual" });
    }
    Some(carrier)
}

fn supply(case: &Case, item: &Item) -> Value {
    let mut resource = json!({
        "resourceType": "SupplyDelivery",
        "identifier": [{ "system": "urn:boxcall:opened", "value": format!("{}/{}", case.code, item.number) }],
        "status": "completed",
        "type": {
            "coding": [{ "system": "http://terminology.hl7.org/CodeSystem/supply-item-type", "code": "device" }],
        },
        "suppliedItem": { "quantity": { "value": 1 }, "itemReference": reference(case, item) },
    });
    if let Some(at) = item.opened_at {
        resource["occurrenceDateTime"] = json!(at.to_rfc3339());
    }
    resource
}

/// @base64, with padding.
fn base64(bytes: &[u8]) -> String {
    const ALPHABET: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let at = |place: usize| u32::from(chunk.get(place).copied().unwrap_or(0));
        let word = at(0) << 16 | at(1) << 8 | at(2);
        for place in 0..4 {
            let sextet = (word >> (18 - 6 * place)) & 63;
            text.push(if place <= chunk.len() { ALPHABET[sextet as usize] as char } else { '=' });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// @base64.
    #[test]
    fn base64_as_in_the_rfc() {
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }
}
