//! Overlaps as placed: asked when a second stent is implanted in one lesion, and whenever somebody wants to say it.

use super::keys::OVERLAP;
use crate::case::Item;
use crate::journal::{Certainty, Fact, Overlap};
use crate::measure::Kind;
use crate::tui::keys::CLOSE;
use crate::tui::model::{Effects, Field, Form, Question, Session, open};
use crate::units::{self, Length, plain};

/// What the field of the overlap takes.
const HINT: &str = "mm; 0 edge to edge, -2 a gap of 2";
/// Where the sum will stand.
const NOTHING_TYPED: &str = "From end to end: type the overlap.";

/// The other stents of this lesion, the last one opened first.
fn others(session: &Session, item: u32, lesion: u8) -> Vec<&Item> {
    let stents = session.world.case.as_ref().map(|case| case.stents_in(lesion)).unwrap_or_default();
    stents.into_iter().rev().filter(|other| other.number != item).collect()
}

/// After "implanted": another stent of this lesion is there already, so how do the two lie?
pub fn ask_overlap_if_any(session: &mut Session, item: u32, lesion: Option<u8>) -> Effects {
    let is_stent = session.item(item).is_some_and(|item| item.label.kind.is_none_or(Kind::is_stent));
    match lesion.filter(|lesion| is_stent && !others(session, item, *lesion).is_empty()) {
        Some(lesion) => ask_overlap_in(session, item, lesion),
        None => Effects::new(),
    }
}

/// By its key, for the box under the cursor.
pub fn ask_overlap(session: &mut Session, item: u32) -> Effects {
    match lies_beside(session, item) {
        Some(lesion) => ask_overlap_in(session, item, lesion),
        None => session.say("An overlap is between two stents implanted in one lesion"),
    }
}

/// The lesion in which this stent is implanted with another.
pub fn lies_beside(session: &Session, item: u32) -> Option<u8> {
    let lesion = session.item(item)?.fate.as_ref()?.lesion?;
    let stents = session.world.case.as_ref()?.stents_in(lesion);
    (stents.len() > 1 && stents.iter().any(|stent| stent.number == item)).then_some(lesion)
}

fn ask_overlap_in(session: &Session, item: u32, lesion: u8) -> Effects {
    let others = others(session, item, lesion);
    let boxes = others.iter().map(|other| format!("box {}: {}", other.number, other.words())).collect();
    let own = session.item(item).map(Item::words).unwrap_or_default();
    let fields = vec![
        Field::text("mm", "overlap", "", HINT),
        // By eye until somebody says better.
        Field::one_of("how", "how known", vec!["estimated".into(), "measured".into()], 0),
        Field::one_of("side", "it lies", vec!["proximal to".into(), "distal to".into()], 0),
        Field::one_of("other", "the other one", boxes, 0),
    ];
    let later = session.key(CLOSE);
    let intro = format!("Lesion {lesion}, as placed. {later}: not known now; it can be said later.");
    let form = Form::new(format!("Overlap of {own}"), &[&intro, NOTHING_TYPED], fields).by(OVERLAP);
    let question = Question::new(form, move |session, form| {
        let overlap = overlap_typed(session, item, lesion, form)?;
        Ok(session.write_in_shown_case(vec![Fact::OverlapPlaced { overlap }]))
    });
    // What it comes to, above the field, while somebody types.
    open(question.editing(move |session, form| {
        let sum = overlap_typed(session, item, lesion, form).ok().and_then(|overlap| {
            let case = session.world.case.as_ref()?.with_overlap(overlap);
            case.laid().iter().find(|laid| laid.lesion == lesion).map(|laid| laid.words())
        });
        if let Some(line) = form.intro.get_mut(1) {
            *line = sum.unwrap_or_else(|| NOTHING_TYPED.into());
        }
    }))
}

/// What stands in the form.
///
/// # Errors
/// Why it can't be taken, in words.
fn overlap_typed(session: &Session, item: u32, lesion: u8, form: &Form) -> Result<Overlap, String> {
    let others = others(session, item, lesion);
    let other = others.get(form.chosen("other")).ok_or("The other stent is not implanted any more")?;
    let text = form.value("mm");
    let mm = units::number(&text).ok_or_else(|| format!("{text:?}: type millimetres, as 3 or -2"))?;
    let lengths = [session.item(item), Some(*other)].map(|item| item.and_then(|item| item.label.length));
    let shorter = lengths.into_iter().flatten().map(Length::mm).fold(f64::INFINITY, f64::min);
    let [_, longest] = session.world.policy.believed.length_mm;
    if !units::at_most(mm, shorter) {
        return Err(format!("{text} mm is more than the shorter of the two, {} mm", plain(shorter)));
    }
    if !units::at_most(mm.abs(), longest) {
        return Err(format!("{text} mm is not believed: at most {} mm", plain(longest)));
    }
    let (distal, proximal) = match form.chosen("side") {
        0 => (other.number, item),
        _ => (item, other.number),
    };
    let how = if form.chosen("how") == 1 { Certainty::Measured } else { Certainty::Estimated };
    Ok(Overlap { lesion, distal, proximal, mm: Length::from_mm(mm.abs()), gap: mm < 0.0, how })
}
