//! The carrier of a box's identifier (UDI) as people read it: what is printed under the bars.

use crate::journal::BoxRead;
use crate::label::{Raw, System};

/// The whole line; None where no identifier was read, or it is not known what was printed.
pub(super) fn printed(label: &BoxRead) -> Option<String> {
    label.di.as_ref()?;
    let bytes = label.raw.as_ref().and_then(Raw::bytes);
    let printed = label.printed.as_deref().map(clean).filter(|text| !text.is_empty());
    printed.or_else(|| printed_bytes(label, bytes.as_deref())).or_else(|| printed_gs1(label))
}

/// The line under the bars again, out of the fields that were kept (@gs1-strings: identifiers in brackets).
fn printed_gs1(label: &BoxRead) -> Option<String> {
    matches!(label.system, Some(System::Gs1 | System::Gs1DigitalLink)).then_some(())?;
    let mut line = format!("(01){}", label.di.as_ref()?.as_str());
    let day = |day: chrono::NaiveDate| day.format("%y%m%d").to_string();
    let fields = [
        ("(11)", label.made.map(day)),
        ("(17)", label.use_by.map(day)),
        ("(10)", label.lot.as_deref().map(clean)),
        ("(21)", label.serial.as_deref().map(clean)),
    ];
    for (identifier, value) in fields {
        if let Some(value) = value.filter(|value| !value.is_empty()) {
            line.push_str(identifier);
            line.push_str(&value);
        }
    }
    Some(line)
}

/// HIBC and ISBT 128 print what they encode; the symbology identifier (`]` and two more) is the scanner's own.
fn printed_bytes(label: &BoxRead, bytes: Option<&[u8]>) -> Option<String> {
    matches!(label.system, Some(System::Hibc | System::Isbt128)).then_some(())?;
    let text = std::str::from_utf8(bytes?).ok()?;
    let text = if text.starts_with(']') { text.get(3..)? } else { text };
    Some(clean(text)).filter(|text| !text.is_empty())
}

/// No control characters and no blanks around it: FHIR text holds none.
pub(super) fn clean(text: &str) -> String {
    let text: String = text.chars().filter(|character| !character.is_control()).collect();
    text.trim().to_string()
}
