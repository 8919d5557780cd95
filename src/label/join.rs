//! The symbols of a burst into the label of one box.
//!
//! Invariant: judges what holds over all symbols; reads no characters.

use super::symbol::{Claim, Symbol, not_a_label, refuse};
use super::{Label, LabelCode, PossibleReading, Refusal, System, Warning, gs1_item, hibc, place};

/// Joins the symbols of one box, and judges what holds over all of them.
pub(super) fn join(mut symbols: Vec<Symbol>, caps: bool) -> Result<Label, Refusal> {
    hibc::resolve(&mut symbols);
    let Some(first) = symbols.first() else { return Err(not_a_label(0)) };
    let mut label = Label::blank(first.system);
    apart(&symbols)?;
    if let Some(fault) =
        symbols.iter().find_map(|s| s.fault.clone().filter(|f| f.code == LabelCode::NotALabel))
    {
        return Err(fault);
    }
    if let Some(fault) = symbols.iter().find_map(|s| s.fault.clone()) {
        return Err(fault);
    }
    for symbol in &symbols {
        conflict(symbol)?;
    }
    hibc::links(&symbols)?;
    gs1_item::pairs(&symbols)?;
    let mut warnings: Vec<Warning> = Vec::new();
    let mut lines: Vec<String> = Vec::new();
    for symbol in symbols {
        if !lines.contains(&symbol.printed) {
            lines.push(symbol.printed);
        }
        for field in symbol.fields {
            if !label.fields.contains(&field) {
                label.fields.push(field);
            }
        }
        label.di = label.di.or(symbol.di);
        label.lot = label.lot.or(symbol.lot);
        label.serial = label.serial.or(symbol.serial);
        label.use_by = label.use_by.or(symbol.use_by);
        label.made = label.made.or(symbol.made);
        for reading in symbol.readings {
            if !label.readings.contains(&reading) {
                label.readings.push(reading);
            }
        }
        for warning in symbol.warnings {
            if !warnings.contains(&warning) {
                warnings.push(warning);
            }
        }
    }
    // One field is under the bars once, though several symbols carry it.
    label.printed = match label.system {
        System::Gs1 | System::Gs1DigitalLink => {
            label.fields.iter().map(|(id, value)| format!("({id}){value}")).collect()
        }
        System::Hibc | System::Isbt128 => lines.concat().trim_end().to_string(),
    };
    warn(&label, caps, &mut warnings);
    warnings.sort_by_key(|warning| warning.code);
    label.warnings = warnings;
    Ok(label)
}

/// Two boxes in one burst: a field with two values in two symbols.
pub(super) fn apart(symbols: &[Symbol]) -> Result<(), Refusal> {
    let family = |symbol: &Symbol| match symbol.system {
        System::Gs1DigitalLink => System::Gs1,
        other => other,
    };
    for (place, symbol) in symbols.iter().enumerate() {
        // What one standard says of a lot can't be tied to another's identifier.
        let strange = symbols[..place]
            .iter()
            .any(|other| crate::control::holds("standards-not-joined") && family(other) != family(symbol));
        if let Some(first) = symbol.claims.first().filter(|_| strange) {
            let message = format!(
                "At byte {} a label of another standard begins: scan one of the labels of the box.",
                first.at
            );
            return Err(refuse(LabelCode::TwoLabels, first.at, message));
        }
        for claim in &symbol.claims {
            let mut others = symbols[..place].iter().flat_map(|other| &other.claims);
            if others.any(|other| other.what == claim.what && other.value != claim.value) {
                return Err(refuse(
                    LabelCode::TwoLabels,
                    claim.at,
                    format!(
                        "At byte {} a second box begins, {} is another: scan one box at a time.",
                        claim.at,
                        place::claimed(&claim.what)
                    ),
                ));
            }
        }
    }
    for (place, open) in symbols.iter().enumerate() {
        let others = symbols.iter().enumerate().filter(|(other, _)| *other != place);
        if let Some(claim) =
            others.flat_map(|(_, other)| &other.claims).find(|claim| fits_no_reading(claim, &open.readings))
        {
            let message = format!(
                "{}, at byte {}, fits no reading of the other symbol: scan one box at a time.",
                place::first_word(&place::claimed(&claim.what)),
                claim.at
            );
            return Err(refuse(LabelCode::TwoLabels, claim.at, message));
        }
    }
    Ok(())
}

/// A symbol that lost a separator says this field in every reading, and in none of them with this value.
fn fits_no_reading(claim: &Claim, readings: &[PossibleReading]) -> bool {
    let code = if claim.what == "device identifier" { "01" } else { &claim.what };
    let said = |reading: &PossibleReading| reading.fields.iter().any(|(id, _)| id == code);
    let fits = |reading: &PossibleReading| {
        reading.fields.iter().any(|(id, value)| id == code && *value == claim.value)
    };
    !readings.is_empty() && readings.iter().all(said) && !readings.iter().any(fits)
}

/// One symbol that contradicts itself.
fn conflict(symbol: &Symbol) -> Result<(), Refusal> {
    for (place, claim) in symbol.claims.iter().enumerate() {
        let mut others = symbol.claims[..place].iter();
        if others.any(|other| other.what == claim.what && other.value != claim.value) {
            return Err(refuse(
                LabelCode::DuplicateAiConflict,
                claim.at,
                format!(
                    "{} stands twice with two values, the second at byte {}: this label can't be used as it is.",
                    place::first_word(&place::claimed(&claim.what)),
                    claim.at
                ),
            ));
        }
    }
    Ok(())
}

fn warn(label: &Label, caps: bool, warnings: &mut Vec<Warning>) {
    let contents = label.system == System::Gs1 && label.fields.iter().any(|(id, _)| id == "02");
    let mut add = |code, message: &str| warnings.push(Warning { code, message: message.into() });
    if !label.readings.is_empty() {
        let message = if label.system == System::Hibc {
            "This symbol can be read in two ways: scan it together with the other symbol of the same box."
        } else {
            "The scanner dropped a separator, so where a field ends is not known: type the printed text."
        };
        add(LabelCode::AmbiguousNoSeparator, message);
    }
    if contents {
        add(
            LabelCode::ContentsNotItem,
            "(02) names what is inside a carton, not this box: scan the box itself.",
        );
    } else if label.di.is_none() {
        add(
            LabelCode::SecondaryOnly,
            "This symbol has no device identifier: scan the other symbol of the same box.",
        );
    }
    // A carton of implants has no serial number of its own, the piece has: the FDA's printed example (UDI formats
    // by FDA-accredited issuing agency, 2017) is such a piece, with indicator 5.
    let piece = label.system == System::Gs1 && label.serial.is_some();
    if let Some(level) = label.packaging_level().filter(|level| *level > 0 && !piece) {
        add(
            LabelCode::PackagingLevel,
            &format!(
                "This identifier names a package of level {level}, not the single unit: scan the unit's box."
            ),
        );
    }
    if caps {
        add(
            LabelCode::CapsLock,
            "Caps lock is on, so the case of every letter was turned back: switch caps lock off.",
        );
    }
}
