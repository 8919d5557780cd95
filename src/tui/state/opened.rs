//! Opened: every box whose seal is broken, its inflations, what became of it.

use super::ask::Outcome;
use super::{Choice, EVERYWHERE, Effects, Field, Form, Front, List, Offer, Overlay, Purpose, State};
use crate::case::Item;
use crate::catalogue::{Inflate, Platform, Pressures};
use crate::journal::{Fact, Fate, Inflation, Unused};
use crate::measure::Kind;
use crate::tui::keys::{ACCEPT, Action, DOWN, Letters, Place, UP};
use crate::units::{self, Diameter, Figure, Pressure};
use chrono::{DateTime, FixedOffset, TimeDelta};

pub const INFLATE: Action = Action::new("opened-inflate", &["i"]);
pub const CLOCK: Action = Action::new("opened-clock", &["c"]);
pub const BALLOON: Action = Action::new("opened-balloon", &["b"]);
pub const AREAS: Action = Action::new("opened-areas", &["e"]);
pub const FATE: Action = Action::new("opened-fate", &["f"]);
pub const OVERLAP: Action = Action::new("opened-overlap", &["o"]);
pub const TABLE: Action = Action::new("opened-table", &["t"]);
pub const AGAIN: Action = Action::new("opened-again", &["a"]);
pub const STRIKE: Action = Action::destroying("opened-strike", &["Delete"]);

pub static PLACE: Place = Place::new(
    "Opened",
    Letters::Shared,
    &[
        DOWN.row("", "the next box"),
        UP.row("", "the box before"),
        INFLATE.row("inflate", "its balloon went up: pressure and seconds; or the pressure for a diameter"),
        CLOCK.row("clock", "its balloon goes up, and the clock runs; the same key when it comes down"),
        BALLOON.row("balloon", "which balloon gives a wanted diameter inside it, at which pressure; call it"),
        AREAS.row("expansion", "the areas measured inside it, against the published criteria"),
        FATE.row("fate", "what became of it"),
        OVERLAP.row("overlap", "how it lies to another stent of the same lesion: overlap or gap in mm"),
        TABLE.row("on the table", "it would not cross and lies on the table again"),
        AGAIN.row("again", "it is used on the lesion in work as well"),
        STRIKE.row("strike out", "this box was written down wrongly: strike its opening out, with a reason"),
    ],
)
.within(&EVERYWHERE);

pub const FRONT: Front = Front {
    list: |state| {
        let count = state.world.opened().len();
        Some(List::new(&mut state.opened.shown, count))
    },
    offers: |state, action| match state.item_shown() {
        Some(item) => action != OVERLAP || state.lies_beside(item.number).is_some(),
        None => !PLACE.has(action) || [UP, DOWN].contains(&action),
    },
    ..Front::new(&PLACE, State::act_opened)
};

/// Where the Opened screen stands.
#[derive(Debug, Clone, Default)]
pub struct AtOpened {
    /// The box under the cursor.
    pub shown: usize,
    /// Balloons that were up when the clock was set back, and by how much it was since.
    pub(super) clocks: Vec<((u32, DateTime<FixedOffset>), TimeDelta)>,
    /// The balloons that were offered last, as their question lists them.
    pub(super) balloons: Vec<Offer>,
}

/// The reasons why a box was opened and not used, as they are asked.
const UNUSED: &[(Unused, &str)] = &[
    (Unused::Dropped, "dropped or unsterile"),
    (Unused::WrongSize, "wrong size"),
    (Unused::WouldNotCross, "would not cross"),
    (Unused::Damaged, "damaged"),
    (Unused::NotNeeded, "not needed"),
];

/// An answer to "what became of it".
#[derive(Clone, Copy, PartialEq, Eq)]
enum Asked {
    Implanted,
    Used,
    Unused,
    Lost,
    NotFound,
}

impl State {
    pub fn item_shown(&self) -> Option<&Item> {
        self.world.opened().get(self.opened.shown).copied()
    }

    pub(super) fn item(&self, number: u32) -> Option<&Item> {
        self.world.case.as_ref()?.items.iter().find(|item| item.number == number)
    }

    /// What the catalogue says of the item's labelled diameter.
    pub(super) fn platform_of(&self, number: u32) -> Option<&Platform> {
        let label = &self.item(number)?.label;
        self.world.catalogue.product(label.product.as_ref()?)?.platform(label.diameter?)
    }

    fn act_opened(&mut self, action: Action) -> Effects {
        let Some(item) = self.item_shown().map(|item| item.number) else {
            return self.say("No box has been opened in this case");
        };
        match action {
            INFLATE => self.ask_inflation(item),
            CLOCK if self.is_up(item) => self.balloon_down(item),
            CLOCK => self.balloon_up(item),
            BALLOON => self.ask_balloon(item),
            AREAS => self.ask_areas(item),
            FATE => self.ask_fate(item),
            OVERLAP => self.ask_overlap(item),
            STRIKE => self.ask_strike(item),
            TABLE | AGAIN if self.warns_of_device(item, action) => Effects::new(),
            TABLE => self.write_in_shown_case(vec![Fact::BackOnTable { item }]),
            AGAIN => {
                let lesion = self.lesion;
                self.write_in_shown_case(vec![Fact::UsedAgain { item, lesion, call: None }])
            }
            _ => Effects::new(),
        }
    }

    /// The largest diameter that was measured of the vessel in work.
    fn vessel(&self) -> Option<Diameter> {
        let lesion = self.sizes.lesion.as_ref()?;
        lesion.proximal_eem.or(lesion.proximal_lumen).or(lesion.distal_eem)
    }

    fn ask_strike(&mut self, item: u32) -> Effects {
        let Some((entry, words)) = self.item(item).map(|item| (item.seq, item.words())) else {
            return Effects::new();
        };
        let fields = vec![Field::text("why", "why", "", "as: scanned twice; another box was opened")];
        let intro = "It stays in the record, struck out. What became of it is asked no more.";
        self.ask(Form::new(Purpose::Strike { entry }, format!("Strike out: {words}"), &[intro], fields))
    }

    pub(super) fn accept_strike(&mut self, entry: u64, form: &Form) -> Outcome {
        let why = form.value("why");
        if why.is_empty() {
            return Err("Type why: it stands in the record".into());
        }
        Ok(self.write_in_shown_case(vec![Fact::StruckOut { entry, why }]))
    }

    /// The pressures of the box under the cursor, by the product's own chart.
    pub fn pressures_shown(&self) -> Option<String> {
        let item = self.item_shown()?;
        let platform = self.platform_of(item.number)?;
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
    fn ask_inflation(&mut self, item: u32) -> Effects {
        let by_clock = self.item(item).and_then(|item| item.pressure_open);
        self.ask_pressure(item, by_clock.map(|seconds| seconds.to_string()).unwrap_or_default())
    }

    pub(super) fn ask_pressure(&mut self, item: u32, seconds: String) -> Effects {
        let fields = vec![
            Field::text("atm", "pressure", "", "atm"),
            Field::text("mm", "or for a diameter of", "", "mm: the pressure is worked out"),
            Field::text("seconds", "seconds", seconds, "how long it was up"),
        ];
        let name = self.item(item).map(|item| item.words()).unwrap_or_default();
        let chart = match self.platform_of(item) {
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
            self.item(item).iter().flat_map(|item| &item.lesions).map(u8::to_string).collect();
        if !lesions.is_empty() && !lesions.contains(&self.lesion.to_string()) {
            intro.push(format!(
                "Written to lesion {}, the one in work; so far this box was on lesion {}.",
                self.lesion,
                lesions.join(", ")
            ));
        }
        let intro: Vec<&str> = intro.iter().map(String::as_str).collect();
        self.ask(Form::new(Purpose::Inflate { item }, format!("Balloon up: {name}"), &intro, fields))
    }

    /// What the chart says, beside the field, while somebody types.
    pub(super) fn inflate_changed(&mut self, item: u32) {
        let Some(Overlay::Form(form)) = &self.overlay else { return };
        let (atm, mm) = (form.value("atm"), form.value("mm"));
        let platform = self.platform_of(item).cloned();
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
        let by_diameter =
            platform.as_ref().zip(units::number(&mm)).map(|(platform, mm)| {
                match Inflate::to(platform, Diameter::from_mm(mm)).whole_atm(platform) {
                    Some((atm, Some(mm))) => format!("mm: {atm} atm gives {mm}"),
                    _ => "mm: not reachable by this chart".to_string(),
                }
            });
        let Some(Overlay::Form(form)) = &mut self.overlay else { return };
        for field in &mut form.fields {
            match field.id {
                "atm" => field.hint = by_pressure.clone().unwrap_or_else(|| "atm".into()),
                "mm" => {
                    field.hint =
                        by_diameter.clone().unwrap_or_else(|| "mm: the pressure is worked out".into())
                }
                _ => {}
            }
        }
    }

    pub(super) fn accept_inflation(&mut self, item: u32, form: &Form) -> Outcome {
        let (atm, mm, seconds) = (form.value("atm"), form.value("mm"), form.value("seconds"));
        let platform = self.platform_of(item).cloned();
        let pressure = match (atm.is_empty(), mm.is_empty()) {
            (false, _) => units::number(&atm)
                .filter(|atm| *atm > 0.0 && *atm <= 40.0)
                .map(Pressure::from_atm)
                .ok_or_else(|| {
                    format!("Pressure {atm:?} is not believed: type atmospheres, above 0 and up to 40")
                })?,
            (true, false) => platform
                .as_ref()
                .zip(units::number(&mm))
                .and_then(|(platform, mm)| {
                    // Up to a whole atmosphere only while that stays inside the vessel, else down.
                    let wanted = Inflate::to(platform, Diameter::from_mm(mm));
                    let vessel = self.vessel().filter(|vessel| vessel.mm() >= mm);
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
                self.key(ACCEPT)
            ));
        }
        // Nobody can say that it is not past an unknown one: asked once of a box, and again above what went well.
        let went = self.item(item).and_then(|item| {
            item.inflations.iter().map(|one| one.inflation.at_atm.atm()).max_by(f64::total_cmp)
        });
        let is_silent = platform.is_some() && rated_burst.is_none();
        if is_silent && !warned && went.is_none_or(|went| pressure.atm() > went + units::TOLERANCE) {
            return Err(format!(
                "RATED BURST NOT KNOWN of this product: compare {pressure} atm with the pack. {} again writes it down",
                self.key(ACCEPT)
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
            lesion: Some(self.lesion),
        };
        Ok(self.write_in_shown_case(vec![Fact::Inflated { item, inflation }]))
    }

    /// The answers that this kind of device can have: a balloon is not implanted, a stent is not merely used.
    fn fates(&self, item: u32) -> Vec<(Asked, &'static str)> {
        let kind = self.item(item).and_then(|item| item.label.kind);
        let mut fates = Vec::new();
        if !kind.is_some_and(Kind::is_balloon) {
            fates.push((Asked::Implanted, "implanted"));
        }
        if !kind.is_some_and(Kind::is_stent) {
            fates.push((Asked::Used, "used and taken out"));
        }
        fates.push((Asked::Unused, "opened, not used …"));
        fates.push((Asked::Lost, "lost in the patient"));
        fates.push((Asked::NotFound, "not found"));
        fates
    }

    fn ask_fate(&mut self, item: u32) -> Effects {
        let title =
            format!("What became of {}", self.item(item).map(|item| item.words()).unwrap_or_default());
        let answers = self.fates(item).iter().map(|(_, words)| words.to_string()).collect();
        self.open(Overlay::Choice(Choice::new(Purpose::Fate { item }, title, answers)))
    }

    pub(super) fn fate_chosen(&mut self, item: u32, answer: usize) -> Effects {
        let Some((asked, _)) = self.fates(item).get(answer).copied() else { return Vec::new() };
        let fate = match asked {
            Asked::Implanted => Fate::Implanted,
            Asked::Used => Fate::Used,
            Asked::Lost => Fate::LostInPatient,
            Asked::NotFound => Fate::NotFound,
            Asked::Unused => {
                let answers = UNUSED.iter().map(|(_, words)| words.to_string()).collect();
                let choice = Choice::new(Purpose::Unused { item }, "Opened, not used: why", answers);
                return self.open(Overlay::Choice(choice));
            }
        };
        self.give_fate(item, fate)
    }

    pub(super) fn unused_chosen(&mut self, item: u32, answer: usize) -> Effects {
        match UNUSED.get(answer) {
            Some((why, _)) => self.give_fate(item, Fate::OpenedNotUsed { why: *why }),
            None => Vec::new(),
        }
    }

    fn give_fate(&mut self, item: u32, fate: Fate) -> Effects {
        let lesion = self.item(item).and_then(|item| item.lesions.last().copied());
        if fate == Fate::Implanted {
            self.ask_overlap_if_any(item, lesion);
        }
        self.write_in_shown_case(vec![Fact::FateGiven { item, fate, lesion }])
    }
}
