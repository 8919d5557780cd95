//! The demo room's guided tour: says what to do next and watches what was really done. It moves on for nothing else,
//! can be left, and is taken up where it was.

use super::{Effects, Overlay, Purpose, Screen, State, ask, case_end, menu, opened, readback, sizes};
use crate::case::readback::Headline;
use crate::journal::{Fact, Fate};
use crate::tui::keys::*;

/// Where the tour stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tour {
    /// Place in `STOPS`.
    at: usize,
    /// What was in the journal when it began counts for nothing.
    since: u64,
    /// It is shown; else it waits to be taken up.
    pub on: bool,
}

/// What is to be done, in the order of a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stop {
    Measure,
    Call,
    Fetch,
    Wrong,
    PutBack,
    Right,
    Opened,
    Inflate,
    Implanted,
    SignOff,
    Record,
}

const STOPS: &[Stop] = &[
    Stop::Measure,
    Stop::Call,
    Stop::Fetch,
    Stop::Wrong,
    Stop::PutBack,
    Stop::Right,
    Stop::Opened,
    Stop::Inflate,
    Stop::Implanted,
    Stop::SignOff,
    Stop::Record,
];

/// What to type into each field of the lesion, as an OCT run of the demo has it.
const LESION: &[(&str, &str)] = &[
    ("method", "o (for OCT)"),
    ("distal-lumen", "2.8"),
    ("distal-eem", "3.1"),
    ("proximal-lumen", "3.3"),
    ("proximal-eem", "3.6"),
    ("length", "27"),
];

impl State {
    /// The key of the menu takes the tour up or leaves it; a demo room alone has it.
    pub(super) fn turn_tour(&mut self) -> Effects {
        self.overlay = None;
        if !self.world.demo {
            return self.say("The tour is in the demo room: boxcall demo");
        }
        match &mut self.tour {
            Some(tour) if tour.on => tour.on = false,
            // Unless the last stop was seen: then it begins anew.
            Some(tour) if tour.at + 1 < STOPS.len() => {
                tour.on = true;
                return Effects::new();
            }
            _ => return self.begin_tour(),
        }
        let (menu, tour) = (self.key(OPEN_MENU), self.key(menu::TOUR));
        self.say(format!("The tour waits: {menu} and then {tour} take it up"))
    }

    pub(super) fn begin_tour(&mut self) -> Effects {
        self.overlay = None;
        self.go(Screen::Sizes);
        self.tour = Some(Tour { at: 0, since: self.world.last_seq(), on: true });
        self.say("The tour has begun: the two lines above say what to do")
    }

    /// After every message: the tour moves on by what was done, and only by that.
    pub(super) fn watch_tour(&mut self) {
        let Some(Tour { at, since, .. }) = self.tour else { return };
        let last = STOPS.len() - 1;
        // Something that was written further on has overtaken what stands before it.
        let written = (at..last).rev().find(|stop| self.is_written(STOPS[*stop], since));
        let mut at = written.map_or(at, |stop| stop + 1);
        while at < last && self.is_seen(STOPS[at]) {
            at += 1;
        }
        if let Some(tour) = &mut self.tour {
            tour.at = at;
        }
    }

    /// What the journal holds since the tour began; what waits for the disk does not count.
    fn is_written(&self, stop: Stop, since: u64) -> bool {
        let wanted = |fact: &Fact| match stop {
            Stop::Measure => matches!(fact, Fact::LesionMeasured { .. }),
            Stop::Call => matches!(fact, Fact::Called { .. }),
            Stop::PutBack => matches!(fact, Fact::BoxPutBack { .. }),
            Stop::Opened => matches!(fact, Fact::BoxOpened { .. }),
            Stop::Inflate => matches!(fact, Fact::Inflated { .. }),
            Stop::Implanted => matches!(fact, Fact::FateGiven { fate: Fate::Implanted, .. }),
            Stop::SignOff => matches!(fact, Fact::SignedOff { .. }),
            Stop::Fetch | Stop::Wrong | Stop::Right | Stop::Record => false,
        };
        self.world
            .entries()
            .iter()
            .rev()
            .take_while(|entry| entry.seq > since)
            .any(|entry| !self.is_unsaved(entry.seq) && wanted(&entry.fact))
    }

    /// What is done by looking or scanning, and leaves no entry.
    fn is_seen(&self, stop: Stop) -> bool {
        let headline = self.held().map(|held| held.back.headline);
        match stop {
            Stop::Fetch => self.screen == Screen::Fetch && self.call_shown().is_some(),
            Stop::Wrong => headline == Some(Headline::Different),
            Stop::Right => headline == Some(Headline::Same),
            _ => false,
        }
    }

    /// How far the tour is, what to do now, and what that is for; none where it is not shown.
    pub fn tour_lines(&self) -> Option<[String; 3]> {
        let tour = self.tour.as_ref().filter(|tour| tour.on)?;
        let stop = *STOPS.get(tour.at)?;
        let (act, why) = if matches!(self.overlay, Some(Overlay::CaseCode(_))) {
            (
                "A case has begun. Any key goes on".into(),
                "Its code goes on the patient's record: nothing else ties the two".into(),
            )
        } else {
            self.what_to_do(stop)
        };
        Some([format!("tour {} of {}", tour.at + 1, STOPS.len()), act, why])
    }

    fn what_to_do(&self, stop: Stop) -> (String, String) {
        let key = |action| self.key(action);
        // Where the screen that a stop needs is not in front, the way there is what to do.
        let on = |screen: Screen, go: Action, words: String| {
            if self.screen == screen || self.overlay.is_some() {
                words
            } else {
                format!("{}: go there first", key(go))
            }
        };
        let (act, why) = match stop {
            Stop::Measure => {
                (self.measure_words(), "What the operator measured by OCT; the grid follows while you type")
            }
            Stop::Call => (
                on(Screen::Sizes, GO_SIZES, format!("Type 3 29 and {}: that size is called", key(ACCEPT))),
                "◆ fits, ◇ after post-dilatation; any size can be called, measured or not",
            ),
            Stop::Fetch => (
                format!("{}: Fetch", key(GO_FETCH)),
                "Where the box lies, which lot first, and the sentence to say back",
            ),
            Stop::Wrong => (
                format!("{}: scans a box that looks like it and is not", key(PRACTISE_WRONG)),
                "The bytes of a real label; with a scanner you would pull its trigger",
            ),
            Stop::PutBack if self.readback.held.is_some() => (
                format!("DIFFERENT, before the seal was broken. {} puts it back", key(readback::PUT_BACK)),
                "Every field stands beside the call; the call still waits",
            ),
            Stop::PutBack => (
                format!("{}: scan the wrong box again, then put it back", key(PRACTISE_WRONG)),
                "Nothing was written about it yet",
            ),
            Stop::Right => (
                format!("{}: scans the box that was called", key(PRACTISE)),
                "As called in every field: SAME",
            ),
            Stop::Opened if self.asks(|purpose| *purpose == Purpose::PrintedSize) => (
                format!("Read the size off the box: type 3 29 and {}", key(ACCEPT)),
                "The first box of each identifier in a room is compared by eye, once",
            ),
            Stop::Opened if self.readback.held.is_some() => (
                on(
                    Screen::ReadBack,
                    GO_READ_BACK,
                    format!("{}: its seal is broken, and that is written down", key(readback::OPENED)),
                ),
                "On disk before the screen says so: it survives a power cut",
            ),
            Stop::Opened => (
                format!("{}: scan the box that was called again", key(PRACTISE)),
                "Nothing was written about it yet",
            ),
            Stop::Inflate if self.asks(|purpose| matches!(purpose, Purpose::Inflate { .. })) => (
                format!("Type 12 and {}: 12 atm", key(ACCEPT)),
                "The chart diameter follows the pressure, in water, never past rated burst",
            ),
            Stop::Inflate => (
                on(Screen::Opened, GO_OPENED, format!("{}: its balloon went up", key(opened::INFLATE))),
                "Pressure and seconds; or the pressure for a wanted diameter",
            ),
            Stop::Implanted if self.asks(|purpose| matches!(purpose, Purpose::Fate { .. })) => {
                (format!("{}: implanted", key(ask::ANSWERS[0])), "Every opened box ends in one of these")
            }
            Stop::Implanted => (
                on(Screen::Opened, GO_OPENED, format!("{}: what became of it", key(opened::FATE))),
                "A box without an end is asked for at the end of the case",
            ),
            Stop::SignOff if self.screen == Screen::CaseEnd && self.signs_at_once() => (
                format!("{}: signs the case off", key(ACCEPT)),
                "Every box is accounted for; the record is written",
            ),
            Stop::SignOff if matches!(self.overlay, Some(Overlay::Form(_))) => {
                (format!("{}: signs off", key(ACCEPT)), "Every box is accounted for; the record is written")
            }
            Stop::SignOff if self.screen == Screen::CaseEnd => (
                format!("{}: sign off; with something unsettled it asks why", key(case_end::SIGN_OFF)),
                "Opened = implanted + used + not used + lost + not found",
            ),
            Stop::SignOff => {
                (format!("{}: Case end", key(GO_CASE_END)), "What is unsettled stands first; here nothing is")
            }
            Stop::Record => {
                let (menu, tour, leave) = (key(OPEN_MENU), key(menu::TOUR), key(LEAVE));
                let act = format!("That was a whole case. {menu} {tour} closes the tour, {leave} leaves");
                return (act, self.record_words());
            }
        };
        (act, why.to_string())
    }

    /// Whether this is being asked.
    fn asks(&self, it: impl Fn(&Purpose) -> bool) -> bool {
        match &self.overlay {
            Some(Overlay::Form(form)) => it(&form.purpose),
            Some(Overlay::Choice(choice)) => it(&choice.purpose),
            _ => false,
        }
    }

    /// Each field of the lesion in turn, while it is typed.
    fn measure_words(&self) -> String {
        let (next, done) = (self.key(ask::NEXT), self.key(ACCEPT));
        match &self.overlay {
            Some(Overlay::Form(form)) if matches!(form.purpose, Purpose::Measure { .. }) => {
                let field = form.fields.get(form.cursor);
                let known = field.and_then(|field| LESION.iter().find(|(id, _)| *id == field.id));
                match (field, known) {
                    (Some(field), Some((id, value))) => {
                        let then = if *id == "length" { &done } else { &next };
                        format!("{}: type {value}, then {then}", field.label)
                    }
                    _ => format!("{done} takes what stands in the fields"),
                }
            }
            _ if self.screen != Screen::Sizes => format!("{}: go there first", self.key(GO_SIZES)),
            _ => format!("{}: type what was measured", self.key(sizes::MEASURE)),
        }
    }

    fn record_words(&self) -> String {
        match self.record_place() {
            Some(place) => format!("Its record: {place}"),
            None => format!("Its record is in {}/records", self.world.furniture.dir),
        }
    }
}
