//! A lesion longer than the longest device: sets of overlapping devices out of today's shelf, and their calls.

use super::vessel::Spanned;
use super::{EVERYWHERE, Effects, Front, List, Overlay, Screen, State};
use crate::catalogue::Piece;
use crate::fit::Verdict;
use crate::fit::laid::{self, Laid};
use crate::fit::span::{self, Options, Placed, Plan};
use crate::journal::{Fact, Readiness, Wanted};
use crate::lesion::{Lesion, Measurements};
use crate::tui::keys::{ACCEPT, Action, CLOSE, DOWN, Letters, Place, UP};
use crate::units::{Diameter, Length, by_count, counted, plain};

pub const TOGETHER: Action = Action::new("plan-together", &["t"]);
pub const IN_ALREADY: Action = Action::new("plan-in-already", &["i"]);

pub static PLACE: Place = Place::new(
    "Plans for a long lesion",
    Letters::Own,
    &[
        DOWN.row("next plan", "the next plan"),
        UP.row("", "the plan before"),
        ACCEPT.row("call them", "call every device of this plan, distal first"),
        TOGETHER.row("all lesions", "every measured lesion of this case out of one shelf"),
        IN_ALREADY
            .row("in already", "what is left to span beside the stents that are in: where they lie is asked"),
        CLOSE.row("back", "back to the grid; nothing is called"),
    ],
)
.within(&EVERYWHERE);

pub const FRONT: Front = Front {
    list: |state| match &mut state.overlay {
        Some(Overlay::Plans(plans)) => Some(List::new(&mut plans.cursor, plans.plans.len())),
        _ => None,
    },
    offers: |state, action| match action {
        TOGETHER => state.world.case.as_ref().is_some_and(|case| case.lesions.len() > 1),
        IN_ALREADY => !state.in_already().is_empty(),
        _ => true,
    },
    ..Front::new(&PLACE, |state, action| match action {
        TOGETHER => state.plan_together(),
        IN_ALREADY => state.ask_in_already(),
        ACCEPT => state.call_plans(),
        _ => Effects::new(),
    })
};

/// Plans as they are offered.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Plans {
    pub title: String,
    pub plans: Vec<Offered>,
    /// Why there is none, what would make one possible, and what else is to be told.
    pub none: Vec<String>,
    pub cursor: usize,
    /// They belong together, one for each lesion: all of them are called, or none.
    pub together: bool,
}

/// One plan: what is called, and where each device lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Offered {
    pub words: String,
    /// The lesion that it spans, and its number in the case.
    pub lesion: Lesion,
    number: u8,
    /// Distal first; what is in already stands among them.
    pub devices: Vec<Laid>,
    /// What is to be called, distal first, and the verdict on each where it is to lie.
    wanted: Vec<(Wanted, Verdict)>,
}

impl Offered {
    /// Whether it spans the lesion of this number.
    pub(super) fn is_of(&self, number: u8) -> bool {
        self.number == number
    }
}

impl State {
    /// Whether no single device is long enough for the lesion in work.
    pub fn needs_span(&self) -> bool {
        let Some(target) = self.sizes.lesion.as_ref().map(|lesion| &lesion.target) else { return false };
        let longest = self.sizes.grid.lengths.last();
        longest.is_some_and(|longest| longest.mm() < target.length_min.mm())
    }

    /// Whether plans are worth a key in the footer: nothing single is long enough, several lesions share one shelf, or
    /// something lies in the vessel already.
    pub fn offers_plans(&self) -> bool {
        let several = self.world.case.as_ref().is_some_and(|case| case.lesions.len() > 1);
        self.needs_span() || (self.sizes.lesion.is_some() && (several || !self.in_already().is_empty()))
    }

    /// Plans for the lesion in work, beside what lies in it already.
    pub(super) fn plan_this(&mut self, already: &[(Placed, String)]) -> Effects {
        if let Some(why) = self.world.shelf.unread() {
            return self.say(why);
        }
        let Some(lesion) = self.sizes.lesion.clone() else {
            return self.say("Measure the lesion first: then its plans are worked out");
        };
        let world = &self.world;
        let kinds = &world.policy.judged;
        let pieces: Vec<Piece> = world.shelf.pieces().into_iter().cloned().collect();
        // No overlap on a side branch, where that is possible: within half of the largest overlap of it.
        let around = world.policy.overlap.most.mm() / 2.0;
        let branch = lesion.branch.map(|branch| branch.at.mm());
        let avoid = branch.map(|at| [Length::from_mm(at - around), Length::from_mm(at + around)]);
        let placed = already.iter().map(|(placed, _)| *placed).collect();
        let options = Options { avoid: avoid.into_iter().collect(), placed, ..Options::default() };
        let today = world.today();
        let spanned =
            span::plan(&world.catalogue, kinds, &lesion, &world.policy, Some(&pieces), today, &options);
        let plans: Vec<Offered> = spanned
            .plans
            .iter()
            .map(|plan| {
                let mut offered = self.offered(plan, &lesion, self.lesion);
                offered.devices.extend(already.iter().map(|(placed, name)| Laid {
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
                let name = self.product_name(device.product);
                format!("One more {} × {} {name} would make a plan", size.0, size.1)
            }));
        }
        let title = if already.is_empty() {
            format!("Lesion {}: devices that overlap, distal on the left", self.lesion)
        } else {
            format!("Lesion {}: what is left to span, distal on the left", self.lesion)
        };
        self.open(Overlay::Plans(Plans { title, plans, none, cursor: 0, together: false }))
    }

    /// One plan in the words and places of the screen.
    pub(super) fn offered(&self, plan: &Plan, lesion: &Lesion, number: u8) -> Offered {
        let name = |id: &str| self.product_name(id);
        let wanted = |device: &span::Device| Wanted {
            product: Some(device.product.to_string()),
            name: Some(name(device.product)),
            diameter: Some(Diameter::from_mm(device.diameter_mm)),
            length: Some(Length::from_mm(device.length_mm)),
            kind: self.world.catalogue.product(device.product).map(|product| product.kind),
            reference: None,
        };
        let most = self.world.policy.overlap.most;
        let words = match plan.devices.len() {
            0 => "what is in already covers the length".to_string(),
            count => {
                let devices = counted(count, "device");
                let covered = plain(plan.covered_mm);
                let overlaps: Vec<String> = plan.overlaps_mm.iter().map(|mm| plain(*mm)).collect();
                let overlaps = match overlaps.as_slice() {
                    [] => String::new(),
                    overlaps => format!(", overlap {} mm", overlaps.join(" and ")),
                };
                // What a row of the list has no room for is its end: the proof, not the caution.
                let proved = span::proved(plan.optimal);
                let short = if plan.covers_at_largest_overlap {
                    String::new()
                } else {
                    format!(", too short at {most} mm of overlap")
                };
                let spans = by_count(count, "spans", "span");
                format!("{devices} {spans} {covered} mm{overlaps}{short}, {proved}")
            }
        };
        Offered {
            words,
            lesion: lesion.clone(),
            number,
            devices: laid::of_plan(plan, name),
            wanted: plan.devices.iter().map(wanted).zip(plan.verdicts.iter().copied()).collect(),
        }
    }

    pub(super) fn product_name(&self, id: &str) -> String {
        self.world.catalogue.product(id).map_or(id.to_string(), |product| product.name.clone())
    }

    /// The calls of a plan, distal first, in one write: all of them are there or none. Plans that belong together are
    /// called together.
    fn call_plans(&mut self) -> Effects {
        let Some(Overlay::Plans(plans)) = &self.overlay else { return Vec::new() };
        let chosen: Vec<Offered> = match plans.plans.get(plans.cursor) {
            Some(_) if plans.together => plans.plans.clone(),
            Some(plan) => vec![plan.clone()],
            None => return Vec::new(),
        };
        if chosen.iter().all(|plan| plan.wanted.is_empty()) {
            return self.say("What is in already covers the length, so nothing is called");
        }
        let first = match self.world.open_case() {
            Some(_) => self.world.case.as_ref().map_or(1, |case| case.next_call_number()),
            None => 1,
        };
        let mut facts = Vec::new();
        if self.world.open_case().is_none() && self.sizes.measured != Measurements::default() {
            facts.push(Fact::LesionMeasured { lesion: self.lesion, measured: self.sizes.measured.clone() });
        }
        let devices = chosen
            .iter()
            .flat_map(|plan| plan.wanted.iter().map(move |(wanted, verdict)| (plan, wanted, verdict)));
        facts.extend((first..).zip(devices).map(|(call, (plan, wanted, verdict))| Fact::Called {
            call,
            lesion: Some(plan.number),
            wanted: wanted.clone(),
            readiness: Readiness::Asked,
            verdict: Some(verdict.name().into()),
            why: Some(format!("one of a span: {}", plan.words)),
        }));
        let of_this = chosen.iter().find(|plan| plan.number == self.lesion);
        self.sizes.spanned =
            of_this.map(|plan| Spanned { lesion: plan.lesion.clone(), devices: plan.devices.clone() });
        self.overlay = None;
        self.screen = Screen::Fetch;
        self.write(facts)
    }
}
