//! A lesion longer than the longest device: sets of overlapping devices out of today's shelf, and their calls. The one
//! under the cursor is drawn to scale.

use super::state::NEXT_LESION;
use crate::catalogue::Piece;
use crate::fit::Verdict;
use crate::fit::placed_device::{self, PlacedDevice};
use crate::fit::span::{self, Options, Placed, Plan};
use crate::journal::{Fact, Readiness, Recorded, Wanted};
use crate::lesion::{self, Lesion, Measurements};
use crate::tui::columns::padded;
use crate::tui::keys::*;
use crate::tui::model::{
    Canvas, Component, Effects, Field, Form, List, Outcome, Screen, Session, Spanned, ask, close, go, open,
};
use crate::tui::paint::{Drawn, Spot, framed, middle, put_lines, rows, theme, vessel, wrapped};
use crate::units::{self, Decimal, Diameter, Length, at_most, by_count, counted, plain, shown_with};
use ratatui::prelude::*;

place! {
    PLACE: "Plans for a long lesion", Own, within EVERYWHERE;
    DOWN => "next plan", "the next plan";
    UP => "", "the plan before";
    ACCEPT => "call them", "call every device of this plan, distal first";
    TOGETHER = new("plan-together", ["t"])
        => "all lesions", "every measured lesion of this case out of one shelf";
    IN_ALREADY = new("plan-in-already", ["i"])
        => "in already", "what is left to span beside the stents that are in: where they lie is asked";
    CLOSE => "back", "back to the grid; nothing is called";
}

/// The fields of the devices that are in already: more of them lie in no lesion.
const FIELDS: [&str; 6] = ["in-1", "in-2", "in-3", "in-4", "in-5", "in-6"];

/// Plans as they are offered.
#[derive(Debug, Clone, Default)]
pub struct Plans {
    title: String,
    plans: Vec<Offered>,
    /// Why there is none, what would make one possible, and what else is to be told.
    none: Vec<String>,
    cursor: usize,
    /// They belong together, one for each lesion: all of them are called, or none.
    together: bool,
}

/// One plan: what is called, and where each device lies.
#[derive(Debug, Clone, PartialEq)]
struct Offered {
    words: String,
    /// The same as the journal has it, with a decimal point.
    recorded: String,
    /// The lesion that it spans, and its number in the case.
    lesion: Lesion,
    number: u8,
    /// Distal first; what is in already stands among them.
    devices: Vec<PlacedDevice>,
    /// What is to be called, distal first, and the verdict on each where it is to lie.
    wanted: Vec<(Wanted, Verdict)>,
}

impl Component for Plans {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        match action {
            TOGETHER => plan_together(session),
            IN_ALREADY => ask_in_already(session),
            ACCEPT => call_plans(session, self),
            _ => Effects::new(),
        }
    }

    fn list<'a>(&'a mut self, _: &'a mut Session) -> Option<List<'a>> {
        Some(List::new(&mut self.cursor, self.plans.len()))
    }

    fn offers(&self, session: &Session, action: Action) -> bool {
        match action {
            TOGETHER => session.world.case.as_ref().is_some_and(|case| case.lesions.len() > 1),
            IN_ALREADY => !session.in_already().is_empty(),
            _ => true,
        }
    }

    fn drawn<'a>(&'a self, session: &'a Session) -> Option<Drawn<'a>> {
        let lesion = session.work.lesion.as_ref()?;
        let plan = self.plans.get(self.cursor);
        let devices = plan.map(|plan| plan.devices.clone()).unwrap_or_default();
        Some(Drawn { lesion: plan.map_or(lesion, |plan| &plan.lesion), devices, whose: String::new() })
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, hits, .. }: Canvas) {
        let wide = area.width.min(110).saturating_sub(2).max(78);
        let inside = framed(buffer, middle(area, wide, area.height.min(28)), &self.title);
        let room = inside.width.saturating_sub(2);
        let mut lines: Vec<Line> = Vec::new();
        for text in &self.none {
            let told = wrapped(text, inside.width.saturating_sub(2));
            lines.extend(told.into_iter().map(|text| Line::styled(format!(" {text}"), theme::WARNING)));
        }
        for (place, plan) in self.plans.iter().enumerate() {
            let here = place == self.cursor;
            // Plans that belong together are called together: none stands out, and each is read to its end.
            let style = if here && !self.together { theme::CURSOR } else { theme::PLAIN };
            let told =
                if here || self.together { wrapped(&plan.words, room) } else { vec![plan.words.clone()] };
            for (row, text) in told.iter().enumerate() {
                let mark = if here && row == 0 { "▸" } else { " " };
                let at = u16::try_from(lines.len()).unwrap_or(u16::MAX);
                hits.add_rows(inside, at, [Spot::Row(place)]);
                lines.push(Line::styled(format!("{mark}{}", padded(text, room)), style));
            }
        }
        let taken = put_lines(buffer, inside, lines);
        if let Some(drawn) = self.drawn(session).filter(|_| !self.plans.is_empty()) {
            let left = inside.height.saturating_sub(taken + 1).min(vessel::MOST_ROWS);
            let below = rows(inside, taken + 1, left);
            let below = Rect { x: below.x + 1, width: below.width.saturating_sub(2), ..below };
            vessel::draw(&drawn, below, buffer);
        }
    }
}

/// Plans for the lesion in work, beside what lies in it already.
pub fn plan_this(session: &mut Session, already: &[(Placed, String)]) -> Effects {
    if let Some(why) = session.world.shelf.unread() {
        return session.say(why);
    }
    let Some(lesion) = session.work.lesion.clone() else {
        return session.say("Measure the lesion first: then its plans are worked out");
    };
    let world = &session.world;
    let kinds = &world.policy.judged;
    let pieces: Vec<Piece> = world.shelf.pieces().into_iter().cloned().collect();
    let placed = already.iter().map(|(placed, _)| *placed).collect();
    let options = Options { placed, ..Options::default() };
    let today = world.today();
    let spanned = span::plan(&world.catalogue, kinds, &lesion, &world.policy, Some(&pieces), today, &options);
    let plans: Vec<Offered> = spanned
        .plans
        .iter()
        .map(|plan| {
            let mut offered = offered(session, plan, &lesion, session.lesion);
            offered.devices.extend(already.iter().map(|(placed, name)| PlacedDevice {
                begins: placed.at,
                ends: Length::from_mm(placed.at.mm() + placed.length.mm()),
                diameter: placed.diameter,
                name: format!("{name}, in already"),
            }));
            offered.devices.sort_by(|a, b| a.begins.mm().total_cmp(&b.begins.mm()));
            offered
        })
        .collect();
    let mut none: Vec<String> = spanned.cautions.iter().map(|caution| caution.message.clone()).collect();
    if plans.is_empty() {
        let longest = match spanned.longest_mm {
            Some(mm) => format!("The shelf covers at most {} mm", plain(mm)),
            None if already.is_empty() => "No device fits along this lesion".to_string(),
            None => "The shelf has nothing that spans the rest".to_string(),
        };
        none.insert(0, longest);
        none.extend(spanned.one_more.as_ref().map(|device| {
            let size = (Diameter::from_mm(device.diameter_mm), Length::from_mm(device.length_mm));
            let name = session.product_name(device.product);
            format!("One more {} × {} {name} would make a plan", size.0, size.1)
        }));
    }
    let title = if already.is_empty() {
        format!("Lesion {}: devices that overlap, distal on the left", session.lesion)
    } else {
        format!("Lesion {}: what is left to span, distal on the left", session.lesion)
    };
    open(Plans { title, plans, none, cursor: 0, together: false })
}

/// One plan in the words and places of the screen.
fn offered(session: &Session, plan: &Plan, lesion: &Lesion, number: u8) -> Offered {
    let name = |id: &str| session.product_name(id);
    let wanted = |device: &span::Device| Wanted {
        product: Some(device.product.to_string()),
        name: Some(name(device.product)),
        diameter: Some(Diameter::from_mm(device.diameter_mm)),
        length: Some(Length::from_mm(device.length_mm)),
        kind: session.world.catalogue.product(device.product).map(|product| product.kind),
        reference: None,
    };
    let most = session.world.policy.overlap.most;
    let words = || match plan.devices.len() {
        0 => "what is in already covers the length".to_string(),
        count => {
            let devices = counted(count, "device");
            let covered = plain(plan.covered_mm);
            let overlaps: Vec<String> = plan.overlaps_mm.iter().map(|mm| plain(*mm)).collect();
            let overlaps = match overlaps.as_slice() {
                [] => String::new(),
                overlaps => format!(", overlap {} mm", overlaps.join(" and ")),
            };
            let on_branch = match plan.overlaps_on_branch {
                0 => "",
                _ => ", an overlap on the side branch",
            };
            // What a row of the list has no room for is its end: the proof, not the caution.
            let proved = span::proved(plan.optimal);
            let short = if plan.covers_at_largest_overlap {
                String::new()
            } else {
                format!(", too short at {most} mm of overlap")
            };
            let spans = by_count(count, "spans", "span");
            format!("{devices} {spans} {covered} mm{overlaps}{on_branch}{short}, {proved}")
        }
    };
    Offered {
        words: words(),
        recorded: shown_with(Decimal::Point, words),
        lesion: lesion.clone(),
        number,
        devices: placed_device::of_plan(plan, name),
        wanted: plan.devices.iter().filter_map(|d| Some((wanted(d), d.lies?.verdict))).collect(),
    }
}

/// The calls of a plan, distal first, in one write: all of them are there or none. Plans that belong together are
/// called together.
fn call_plans(session: &mut Session, plans: &Plans) -> Effects {
    let chosen: Vec<Offered> = match plans.plans.get(plans.cursor) {
        Some(_) if plans.together => plans.plans.clone(),
        Some(plan) => vec![plan.clone()],
        None => return Vec::new(),
    };
    if chosen.iter().all(|plan| plan.wanted.is_empty()) {
        return session.say("What is in already covers the length, so nothing is called");
    }
    let first = match session.world.open_case() {
        Some(_) => session.world.case.as_ref().map_or(1, |case| case.next_call_number()),
        None => 1,
    };
    let mut facts = Vec::new();
    if session.world.open_case().is_none() && session.work.measured != Measurements::default() {
        facts.push(Fact::LesionMeasured { lesion: session.lesion, measured: session.work.measured.clone() });
    }
    let devices = chosen
        .iter()
        .flat_map(|plan| plan.wanted.iter().map(move |(wanted, verdict)| (plan, wanted, verdict)));
    facts.extend((first..).zip(devices).map(|(call, (plan, wanted, verdict))| Fact::Called {
        call,
        lesion: Some(plan.number),
        wanted: wanted.clone(),
        readiness: Readiness::Asked,
        verdict: Some(Recorded::Known(*verdict)),
        why: Some(format!("one of a span: {}", plan.recorded)),
    }));
    let of_this = chosen.iter().find(|plan| plan.number == session.lesion);
    session.work.spanned =
        of_this.map(|plan| Spanned { lesion: plan.lesion.clone(), devices: plan.devices.clone() });
    close(go(Screen::Fetch, session.write(facts)))
}

/// Every lesion of the case that is measured, with its number.
fn measured_lesions(session: &Session) -> Vec<(u8, Lesion)> {
    let Some(case) = &session.world.case else { return Vec::new() };
    let checked =
        |measured| lesion::check(measured, &session.world.policy, &session.world.catalogue.guides).ok();
    case.lesions.iter().filter_map(|(number, measured)| Some((*number, checked(measured)?))).collect()
}

/// One shelf for every lesion of the case: fewest devices in all, then least excess in all.
fn plan_together(session: &mut Session) -> Effects {
    let lesions = measured_lesions(session);
    if lesions.len() < 2 {
        let key = session.key(NEXT_LESION);
        return session.say(format!("Only one lesion is measured in this case: {key} turns to the next"));
    }
    let world = &session.world;
    let named: Vec<(String, Lesion)> =
        lesions.iter().map(|(number, lesion)| (number.to_string(), lesion.clone())).collect();
    let pieces: Vec<Piece> = world.shelf.pieces().into_iter().cloned().collect();
    let (kinds, policy, today) = (&world.policy.judged, &world.policy, world.today());
    let together = span::together(&world.catalogue, kinds, &named, policy, Some(&pieces), today, None);
    let plans: Vec<Offered> = lesions
        .iter()
        .zip(&together.lesions)
        .filter_map(|((number, lesion), of_lesion)| {
            let mut offered = offered(session, of_lesion.plans.first()?, lesion, *number);
            for text in [&mut offered.words, &mut offered.recorded] {
                text.insert_str(0, &format!("lesion {number}: "));
            }
            Some(offered)
        })
        .collect();
    let words = match (together.devices, together.excess_mm) {
        (Some(devices), Some(excess)) => {
            let proved = span::proved(together.optimal);
            format!("In all {}, {} mm more than needed, {proved}", counted(devices, "device"), plain(excess))
        }
        _ => "No choice from this shelf spans every lesion".to_string(),
    };
    let title = format!("{} out of one shelf, distal on the left", counted(lesions.len(), "lesion"));
    let cursor = plans.iter().position(|plan| plan.number == session.lesion).unwrap_or(0);
    open(Plans { title, plans, none: vec![words], cursor, together: true })
}

/// Asks where each device that is in lies: the journal does not know that.
fn ask_in_already(session: &mut Session) -> Effects {
    let fields: Vec<Field> = FIELDS
        .iter()
        .zip(session.in_already())
        .map(|(id, item)| {
            let (d, l) = (item.label.diameter, item.label.length);
            let size = d.zip(l).map_or(String::new(), |(d, l)| format!("{d} × {l} "));
            Field::text(id, format!("{size}{}", item.label.name), "", "mm from the distal landing zone")
        })
        .collect();
    if fields.is_empty() {
        return session.say(format!("No implanted stent is written down for lesion {}", session.lesion));
    }
    let intro = [
        "Where is the distal end of each? 0 is the distal landing zone, proximal counts up.",
        "One that is left empty is not looked at.",
    ];
    let lesion = session.lesion;
    let form = Form::new(format!("In lesion {lesion} already"), &intro, fields).by(IN_ALREADY);
    ask(form, move |session, form| accept_in_already(session, lesion, form))
}

fn accept_in_already(session: &mut Session, lesion: u8, form: &Form) -> Outcome {
    let Some(need) = session.work.lesion.as_ref().map(|lesion| lesion.target.length_min.mm()) else {
        return Err("The lesion is not measured".into());
    };
    if lesion != session.lesion {
        return Err(format!("This was asked of lesion {lesion}: turn back to it"));
    }
    let mut already: Vec<(Placed, String)> = Vec::new();
    for (id, item) in FIELDS.iter().zip(session.in_already()) {
        let text = form.value(id);
        let size: Option<(Diameter, Length)> = item.label.diameter.zip(item.label.length);
        let Some((diameter, length)) = size.filter(|_| !text.is_empty()) else { continue };
        let at = units::number(&text).ok_or_else(|| format!("{text:?} is not a number of millimetres"))?;
        if at_most(at + length.mm(), 0.0) || at_most(need, at) {
            return Err(format!(
                "{text} mm puts {diameter} × {length} outside what is to be covered, 0 to {} mm",
                plain(need)
            ));
        }
        let placed = Placed { diameter, length, at: Length::from_mm(at) };
        already.push((placed, item.label.name.clone()));
    }
    if already.is_empty() {
        return Err("Type where at least one of them lies, in mm".into());
    }
    Ok(plan_this(session, &already))
}
