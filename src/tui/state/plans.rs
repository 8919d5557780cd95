//! A lesion longer than the longest device: sets of overlapping devices out of today's shelf, and their calls.

use super::{Effect, Overlay, Screen, State};
use crate::catalogue::Piece;
use crate::fit::span::{self, Options};
use crate::journal::{Fact, Readiness, Wanted};
use crate::lesion::Measurements;
use crate::tui::keys::Action;
use crate::units::{Diameter, Length};

/// Plans as they are offered.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Plans {
    pub need_mm: f64,
    /// Where a side branch leaves, from the distal end.
    pub branch_mm: Option<f64>,
    pub plans: Vec<Offered>,
    /// Why there is none, and what would make one possible.
    pub none: Vec<String>,
    pub cursor: usize,
}

/// One plan: what is called, and where each device lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Offered {
    pub words: String,
    /// Distal first: begins, ends (mm from the distal end), and the size in words.
    pub devices: Vec<(f64, f64, String)>,
    wanted: Vec<Wanted>,
}

impl State {
    /// Whether no single device is long enough for the lesion in work.
    pub fn needs_span(&self) -> bool {
        let Some(target) = self.sizes.lesion.as_ref().map(|lesion| &lesion.target) else { return false };
        let longest = self.sizes.grid.lengths.last();
        longest.is_some_and(|longest| longest.mm() < target.length_min.mm())
    }

    pub(super) fn open_plans(&mut self) {
        if let Some(why) = self.world.shelf.unread() {
            return self.say(why);
        }
        let Some(lesion) = &self.sizes.lesion else {
            self.say("Measure the lesion first: then its plans are worked out".to_string());
            return;
        };
        let (world, kinds) = (&self.world, self.world.policy.judged.clone());
        let pieces: Vec<Piece> = world.shelf.pieces().into_iter().cloned().collect();
        // No overlap on a side branch, where that is possible: within half of the largest overlap of it.
        let around = world.policy.overlap.most.mm() / 2.0;
        let branch = lesion.branch.map(|branch| branch.at.mm());
        let avoid = branch.map(|at| [Length::from_mm(at - around), Length::from_mm(at + around)]);
        let options = Options { avoid: avoid.into_iter().collect(), ..Options::default() };
        let today = world.today();
        let spanned =
            span::plan(&world.catalogue, &kinds, lesion, &world.policy, Some(&pieces), today, &options);
        let name =
            |id: &str| world.catalogue.product(id).map_or(id.to_string(), |product| product.name.clone());
        let offered = spanned.plans.iter().map(|plan| {
            let device = |(begins, device): (&f64, &span::Device)| {
                let size = format!(
                    "{} × {} {}",
                    Diameter::from_mm(device.diameter_mm),
                    Length::from_mm(device.length_mm),
                    name(device.product)
                );
                (*begins, begins + device.length_mm, size)
            };
            let wanted = |device: &span::Device| Wanted {
                product: Some(device.product.to_string()),
                name: Some(name(device.product)),
                diameter: Some(Diameter::from_mm(device.diameter_mm)),
                length: Some(Length::from_mm(device.length_mm)),
                kind: world.catalogue.product(device.product).map(|product| product.kind),
                reference: None,
            };
            let covered = crate::units::plain(plan.covered_mm);
            let proved = if plan.optimal { "proved best" } else { "as few and as short" };
            Offered {
                words: format!("{} devices cover {covered} mm, {proved}", plan.devices.len()),
                devices: plan.begins_mm.iter().zip(&plan.devices).map(device).collect(),
                wanted: plan.devices.iter().map(wanted).collect(),
            }
        });
        let plans: Vec<Offered> = offered.collect();
        let mut none: Vec<String> = spanned.cautions.iter().map(|caution| caution.message.clone()).collect();
        if plans.is_empty() {
            let longest = spanned.longest_mm.map_or("No device fits along this lesion".to_string(), |mm| {
                format!("The shelf covers at most {} mm", crate::units::plain(mm))
            });
            none.insert(0, longest);
            none.extend(spanned.one_more.as_ref().map(|device| {
                let size = (Diameter::from_mm(device.diameter_mm), Length::from_mm(device.length_mm));
                format!("One more {} × {} {} would make a plan", size.0, size.1, name(device.product))
            }));
        }
        let need_mm = lesion.target.length_min.mm();
        self.overlay = Some(Overlay::Plans(Plans { need_mm, branch_mm: branch, plans, none, cursor: 0 }));
    }

    pub(super) fn act_plans(&mut self, action: Action) -> Vec<Effect> {
        let Some(Overlay::Plans(plans)) = &mut self.overlay else { return Vec::new() };
        let last = plans.plans.len().saturating_sub(1);
        match action {
            Action::PlanDown => plans.cursor = (plans.cursor + 1).min(last),
            Action::PlanUp => plans.cursor = plans.cursor.saturating_sub(1),
            Action::PlanCall => {
                let Some(plan) = plans.plans.get(plans.cursor).cloned() else { return Vec::new() };
                self.overlay = None;
                self.screen = Screen::Fetch;
                return self.call_all(&plan);
            }
            _ => {}
        }
        Vec::new()
    }

    /// The calls of a plan, distal first, in one write: all of them are there or none.
    fn call_all(&mut self, plan: &Offered) -> Vec<Effect> {
        let first = match self.world.open_case() {
            Some(_) => self.world.case.as_ref().map_or(1, |case| case.next_call_number()),
            None => 1,
        };
        let mut facts = Vec::new();
        if self.world.open_case().is_none() && self.sizes.measured != Measurements::default() {
            facts.push(Fact::LesionMeasured { lesion: self.lesion, measured: self.sizes.measured.clone() });
        }
        facts.extend((first..).zip(&plan.wanted).map(|(call, wanted)| Fact::Called {
            call,
            lesion: Some(self.lesion),
            wanted: wanted.clone(),
            readiness: Readiness::Asked,
            verdict: Some("fits".into()),
            why: Some(format!("one of a span: {}", plan.words)),
        }));
        self.write(facts)
    }
}
