//! What is typed in a label's place: the label itself, the box, its front, the lot of a doubtful one.

use super::keys::*;
use crate::case::readback;
use crate::catalogue::Catalogue;
use crate::catalogue::enrol::Front;
use crate::journal::{BoxRead, Fact, Finding, same_text};
use crate::label::{Arrival, Label};
use crate::measure::Kind;
use crate::tui::keys::ACCEPT;
use crate::tui::model::{Effect, Effects, Field, Form, Judged, Outcome, Request, Session, ask};
use chrono::NaiveDate;
use std::sync::Arc;

pub fn ask_label() -> Effects {
    let fields = vec![Field::text("label", "label", "", "(01)…(17)…(10)…(21)…")];
    let intro = "Type what is printed under the code, with its brackets.";
    ask(Form::new("The label, typed", &[intro], fields).by(TYPE_LABEL), accept_typed_label)
}

fn accept_typed_label(_: &mut Session, form: &Form) -> Outcome {
    let text = form.required("label", "Nothing is typed")?;
    Ok(vec![Request::Scan { bytes: text.into_bytes(), arrival: Arrival::Typed }])
}

pub fn ask_box(session: &mut Session) -> Effects {
    let mut calls = vec!["no call".to_string()];
    calls
        .extend(session.world.waiting().iter().map(|call| format!("call {}: {}", call.number, call.words())));
    let fields = vec![
        Field::text("name", "product", "", "what the front of the box says"),
        Field::text("size", "size", "", "as 3.0x29; empty for a box without a size"),
        Field::text("ref", "REF", "", ""),
        Field::text("lot", "LOT", "", ""),
        Field::text("serial", "SN", "", ""),
        Field::text("use-by", "use by", "", "YYYY-MM-DD"),
        Field::one_of("call", "for", calls, 0),
        Field::one_of("what", "the box is", vec!["opened".into(), "at hand, unopened".into()], 0),
    ];
    let intro = "No label can be read: type what the box says. Only the product is needed.";
    ask(Form::new("The box, typed", &[intro], fields).by(TYPE_BOX).deciding(), accept_typed_box)
}

fn accept_typed_box(session: &mut Session, form: &Form) -> Outcome {
    let name = form.required("name", "Type what the front of the box says")?;
    let size = form.size("size")?;
    let day = |text: String| {
        text.parse::<NaiveDate>().map_err(|_| format!("{text:?} is not a date: type it as 2027-02-28"))
    };
    let use_by = form.given("use-by").map(day).transpose()?;
    let label = BoxRead {
        name,
        reference: form.given("ref"),
        diameter: size.map(|(diameter, _)| diameter),
        length: size.map(|(_, length)| length),
        lot: form.given("lot"),
        serial: form.given("serial"),
        use_by,
        ..BoxRead::default()
    };
    let waiting: Vec<u32> = session.world.waiting().iter().map(|call| call.number).collect();
    let call = form.chosen("call").checked_sub(1).and_then(|place| waiting.get(place).copied());
    let against = session.world.against_typed(&label).map(|back| back.finding);
    if let Some(big) = &against
        && !form.refused.as_ref().is_some_and(|words| words.starts_with(&big.to_string()))
    {
        let key = session.key(ACCEPT);
        return Err(format!("{big}: put it back. If it is opened all the same, {key} again writes it down"));
    }
    let item = item_read(session, &label);
    let finding = against.unwrap_or(Finding::NoLabelRead);
    let reason = Some("typed by hand".to_string());
    session.findings.held = None;
    Ok(if form.chosen("what") == 0 {
        let lesion = lesion_of_call(session, call).or(Some(session.lesion));
        let written = session.write(vec![Fact::BoxOpened {
            item,
            call,
            lesion,
            label,
            finding,
            reason,
            minutes_ago: None,
        }]);
        [vec![Request::ShowOpened(item)], written].concat()
    } else {
        session.write(vec![Fact::BoxAtHand { item, call, label, finding, reason }])
    })
}

/// A box that the catalogue does not know: its front is typed, and kept until somebody checks it.
pub fn ask_enrol(session: &mut Session) -> Effects {
    if !session.held().as_ref().is_some_and(Judged::is_unknown) {
        return session.say("Only a box that no product file has is enrolled");
    }
    let kinds = Kind::NAMES.iter().map(|name| name.to_string()).collect();
    let fields = vec![
        Field::text("name", "product", "", "what the front of the box says"),
        Field::one_of("kind", "kind", kinds, 0),
        Field::text("size", "size", "", "as 3.0x29; empty for kind other"),
        Field::text("ref", "REF", "", ""),
    ];
    let intro = "It becomes a product file of this room, marked unverified: such a box says CHECK BY EYE.";
    ask(Form::new("Enrol this box", &[intro], fields).by(ENROL), accept_enrol)
}

fn accept_enrol(session: &mut Session, form: &Form) -> Outcome {
    let Some(di) = session.held().and_then(|held| held.back.read.di) else {
        return Ok(Vec::new());
    };
    let name = form.required("name", "Type what the front of the box says")?;
    let kind = Kind::ALL.get(form.chosen("kind")).copied().unwrap_or(Kind::Other);
    let size = match kind {
        Kind::Other => None,
        _ => Some(form.size("size")?.ok_or("Type the size that is printed on the box")?),
    };
    Ok(vec![Effect::Enrol(Front { di, name, kind, size, reference: form.value("ref") }).into()])
}

/// The catalogue has grown: the box that is held is read back again.
pub fn enrolled(session: &mut Session, catalogue: Arc<Catalogue>) -> Effects {
    session.world.replace_catalogue(catalogue);
    session.judge();
    if let Some(Ok(label)) = session.findings.held.as_ref().map(|held| held.label.clone()) {
        session.hold(label, "Kept as a product file, unverified: compare every field with the box");
    }
    vec![Request::Close]
}

/// The lot of a doubtful label is read by eye and typed.
pub fn ask_lot() -> Effects {
    let fields = vec![Field::text("lot", "LOT on the box", "", "as it is printed")];
    let intro =
        "The scanner dropped a separator. One reading agrees with the shelf: read the printed LOT, type it.";
    ask(Form::new("The lot, by eye", &[intro], fields).deciding(), accept_lot)
}

fn accept_lot(session: &mut Session, form: &Form) -> Outcome {
    let typed = form.value("lot");
    let Some(label) = session.held().and_then(|held| held.doubtful) else {
        return Ok(Vec::new());
    };
    if !label.lot.as_deref().is_some_and(|lot| same_text(lot, &typed)) {
        return Err(format!("{typed:?} is not the lot of that reading: type the box, or put it back"));
    }
    let certain = Label { readings: Vec::new(), warnings: Vec::new(), ..label };
    session.hold(certain, "The lot was read by eye");
    Ok(Vec::new())
}

pub fn item_read(session: &Session, read: &BoxRead) -> u32 {
    let Some(case) = session.world.case.as_ref().filter(|case| case.signed.is_none()) else { return 1 };
    readback::known_item(read, Some(case)).unwrap_or_else(|| case.next_item_number())
}

pub fn lesion_of_call(session: &Session, call: Option<u32>) -> Option<u8> {
    let case = session.world.case.as_ref()?;
    let called = call.and_then(|number| case.calls.iter().find(|call| call.number == number));
    Some(called.and_then(|call| call.lesion).unwrap_or(session.lesion))
}
