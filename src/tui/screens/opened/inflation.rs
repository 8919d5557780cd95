//! Inflations: the pressure or the diameter that is wanted, what the chart says of it, how long the balloon was up.

use super::keys::INFLATE;
use crate::case::Item;
use crate::catalogue::{Inflate, Pressures};
use crate::journal::{Fact, Inflation};
use crate::tui::keys::{ACCEPT, GO_OPENED};
use crate::tui::model::{Effects, Field, Form, Outcome, Question, Request, Session, open};
use crate::units::{self, Diameter, Figure, Pressure};

/// The largest diameter that was measured of the vessel in work.
fn vessel(session: &Session) -> Option<Diameter> {
    let lesion = session.work.lesion.as_ref()?;
    lesion.proximal_eem.or(lesion.proximal_lumen).or(lesion.distal_eem)
}

/// The pressures of this box, by the product's own chart.
pub fn pressures(session: &Session, item: &Item) -> Option<String> {
    let platform = session.platform_of(item.number)?;
    let top = platform.chart.as_ref().map(|chart| format!(" gives {}", chart.at_rated_burst()));
    let Some(Pressures { nominal, rated_burst }) = platform.pressures else {
        return Some(platform.marks());
    };
    Some(format!(
        "nominal {} atm gives {} · rated burst {} atm{} · chart diameter, in water",
        nominal,
        platform.diameter,
        rated_burst,
        top.unwrap_or_default()
    ))
}

/// Asks for the pressure; the seconds that the clock has measured stand there already.
pub fn ask_inflation(session: &mut Session, item: u32) -> Effects {
    let by_clock = session.item(item).and_then(|item| item.pressure_open);
    ask_pressure(session, item, by_clock.map(|seconds| seconds.to_string()).unwrap_or_default())
}

fn ask_pressure(session: &mut Session, item: u32, seconds: String) -> Effects {
    let fields = vec![
        Field::text("atm", "pressure", "", "atm"),
        Field::text("mm", "or for a diameter of", "", "mm: the pressure is worked out"),
        Field::text("seconds", "seconds", seconds, "how long it was up"),
    ];
    let name = session.item(item).map(|item| item.words()).unwrap_or_default();
    let chart = match session.platform_of(item) {
        Some(platform) => {
            let marks = platform.marks();
            if platform.pressures.is_some() {
                format!("{marks} atm; chart diameter, in water")
            } else {
                marks
            }
        }
        None => "No pressure chart: the catalogue does not know this box".to_string(),
    };
    let mut intro = vec![chart];
    // The lesion in work is not always the one that the box was opened for: a slip is seen before it is written.
    let lesions: Vec<String> =
        session.item(item).iter().flat_map(|item| &item.lesions).map(u8::to_string).collect();
    if !lesions.is_empty() && !lesions.contains(&session.lesion.to_string()) {
        intro.push(format!(
            "Written to lesion {}, the one in work; so far this box was on lesion {}.",
            session.lesion,
            lesions.join(", ")
        ));
    }
    let intro: Vec<&str> = intro.iter().map(String::as_str).collect();
    let form = Form::new(format!("Balloon up: {name}"), &intro, fields).by(INFLATE).surviving();
    let question = Question::new(form, move |session, form| accept_inflation(session, item, form));
    open(question.editing(move |session, form| inflate_changed(session, item, form)))
}

/// What the chart says, beside the field, while somebody types.
fn inflate_changed(session: &Session, item: u32, form: &mut Form) {
    let (atm, mm) = (form.value("atm"), form.value("mm"));
    let platform = session.platform_of(item).cloned();
    let by_pressure = platform.as_ref().zip(units::number(&atm)).map(|(platform, atm)| {
        let answer = Inflate::at(platform, Pressure::from_atm(atm));
        match answer.diameter_mm {
            Some(mm) => format!("atm = {:.2} mm", Figure(mm)),
            None => match platform.rated_burst() {
                None => "atm: RATED BURST NOT KNOWN".to_string(),
                Some(rated) if atm > rated.atm() => format!("atm: PAST RATED BURST {rated}"),
                Some(_) => "atm: outside the chart".to_string(),
            },
        }
    });
    let by_diameter = platform.as_ref().zip(units::number(&mm)).map(|(platform, mm)| {
        match Inflate::to(platform, Diameter::from_mm(mm)).whole_atm(platform) {
            Some((atm, Some(mm))) => format!("mm: {atm} atm gives {mm}"),
            _ => "mm: not reachable by this chart".to_string(),
        }
    });
    for (id, hint) in [
        ("atm", by_pressure.unwrap_or_else(|| "atm".into())),
        ("mm", by_diameter.unwrap_or_else(|| "mm: the pressure is worked out".into())),
    ] {
        if let Some(field) = form.field_mut(id) {
            field.hint = hint;
        }
    }
}

fn accept_inflation(session: &mut Session, item: u32, form: &Form) -> Outcome {
    let (atm, mm, seconds) = (form.value("atm"), form.value("mm"), form.value("seconds"));
    let platform = session.platform_of(item).cloned();
    let pressure = match (atm.is_empty(), mm.is_empty()) {
        (false, _) => {
            units::number(&atm).filter(|atm| *atm > 0.0 && *atm <= 40.0).map(Pressure::from_atm).ok_or_else(
                || format!("Pressure {atm:?} is not believed: type atmospheres, above 0 and up to 40"),
            )?
        }
        (true, false) => platform
            .as_ref()
            .zip(units::number(&mm))
            .and_then(|(platform, mm)| {
                // Up to a whole atmosphere only while that stays inside the vessel, else down.
                let wanted = Inflate::to(platform, Diameter::from_mm(mm));
                let vessel = vessel(session).filter(|vessel| vessel.mm() >= mm);
                match vessel {
                    Some(vessel) => wanted.whole_atm_within(platform, vessel).map(|(atm, _)| atm),
                    None => wanted.whole_atm(platform).map(|(atm, _)| atm),
                }
            })
            .ok_or_else(|| format!("{mm:?} mm is not reachable by this chart"))?,
        (true, true) => return Err("Type the pressure in atmospheres".into()),
    };
    let seconds = match seconds.as_str() {
        "" => None,
        text => Some(
            text.parse::<u32>()
                .ok()
                .filter(|s| *s <= 600)
                .ok_or_else(|| format!("{text:?}: whole seconds, up to 600"))?,
        ),
    };
    let rated_burst = platform.as_ref().and_then(|platform| platform.rated_burst());
    let past = rated_burst.filter(|rated| pressure.atm() > rated.atm() + units::TOLERANCE);
    let warned = form.refused.as_deref().is_some_and(|words| words.contains("RATED BURST"));
    if let Some(rated) = past.filter(|_| !warned) {
        return Err(format!(
            "{pressure} atm is PAST RATED BURST {rated}. If it happened, {} again writes it down",
            session.key(ACCEPT)
        ));
    }
    // Nobody can say that it is not past an unknown one: asked once of a box, and again above what went well.
    let went = session
        .item(item)
        .and_then(|item| item.inflations.iter().map(|one| one.inflation.at_atm.atm()).max_by(f64::total_cmp));
    let is_silent = platform.is_some() && rated_burst.is_none();
    if is_silent && !warned && went.is_none_or(|went| pressure.atm() > went + units::TOLERANCE) {
        return Err(format!(
            "RATED BURST NOT KNOWN of this product: compare {pressure} atm with the pack. {} again writes it down",
            session.key(ACCEPT)
        ));
    }
    let chart_mm = platform
        .as_ref()
        .and_then(|platform| Inflate::at(platform, pressure).diameter_mm)
        .map(Diameter::from_mm);
    let inflation = Inflation {
        at_atm: pressure,
        seconds,
        chart_mm,
        rated_burst_atm: rated_burst,
        lesion: Some(session.lesion),
    };
    Ok(session.write_in_shown_case(vec![Fact::Inflated { item, inflation }]))
}

/// It comes down: that is written, and the pressure is asked, the seconds filled in.
pub fn balloon_down(session: &mut Session, item: u32) -> Effects {
    let Some(up) = session.balloons_up().into_iter().find(|(up, _)| *up == item) else {
        return Vec::new();
    };
    let seconds = u32::try_from(session.seconds_since(up)).unwrap_or(u32::MAX);
    session.clocks.retain(|(held, _)| *held != up);
    let written = session.write_in_shown_case(vec![Fact::BalloonDown { item, seconds }]);
    let shown = vec![Request::Act(GO_OPENED), Request::ShowOpened(item)];
    [shown, ask_pressure(session, item, seconds.to_string()), written].concat()
}
