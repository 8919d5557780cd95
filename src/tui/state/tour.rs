//! The demo room's guided tour: says what to do next and watches what was really done. It moves on for nothing else,
//! can be left, and is taken up where it was.

use super::{Overlay, Purpose, Screen, State};
use crate::case::readback::Headline;
use crate::journal::{Fact, Fate};
use crate::tui::keys::Action as A;

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
    pub(super) fn turn_tour(&mut self) {
        self.overlay = None;
        if !self.world.demo {
            self.say("The tour is in the demo room: boxcall demo".to_string());
            return;
        }
        match &mut self.tour {
            // The last stop was seen: a turn of the key begins anew.
            Some(tour) if tour.at + 1 >= STOPS.len() && !tour.on => self.begin_tour(),
            Some(tour) => tour.on = !tour.on,
            None => self.begin_tour(),
        }
        if self.tour.as_ref().is_some_and(|tour| !tour.on) {
            let (menu, tour) = (self.key(A::OpenMenu), self.key(A::MenuTour));
            self.say(format!("The tour waits: {menu} and then {tour} take it up"));
        }
    }

    pub(super) fn begin_tour(&mut self) {
        self.overlay = None;
        self.go(Screen::Sizes);
        self.tour = Some(Tour { at: 0, since: self.world.last_seq(), on: true });
        self.say("The tour has begun: the two lines above say what to do".to_string());
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
        let on = |screen: Screen, go: A, words: String| {
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
                on(
                    Screen::Sizes,
                    A::GoSizes,
                    format!("Type 3 29 and {}: that size is called", key(A::SizeCall)),
                ),
                "◆ fits, ◇ after post-dilatation; any size can be called, measured or not",
            ),
            Stop::Fetch => (
                format!("{}: Fetch", key(A::GoFetch)),
                "Where the box lies, which lot first, and the sentence to say back",
            ),
            Stop::Wrong => (
                format!("{}: scans a box that looks like it and is not", key(A::PractiseWrong)),
                "The bytes of a real label; with a scanner you would pull its trigger",
            ),
            Stop::PutBack if self.readback.held.is_some() => (
                format!("DIFFERENT, before the seal was broken. {} puts it back", key(A::ReadPutBack)),
                "Every field stands beside the call; the call still waits",
            ),
            Stop::PutBack => (
                format!("{}: scan the wrong box again, then put it back", key(A::PractiseWrong)),
                "Nothing was written about it yet",
            ),
            Stop::Right => (
                format!("{}: scans the box that was called", key(A::Practise)),
                "As called in every field: SAME",
            ),
            Stop::Opened if matches!(&self.overlay, Some(Overlay::Form(form)) if form.purpose == Purpose::PrintedSize) => {
                (
                    format!("Read the size off the box: type 3 29 and {}", key(A::FormAccept)),
                    "The first box of each identifier in a room is compared by eye, once",
                )
            }
            Stop::Opened if self.readback.held.is_some() => (
                on(
                    Screen::ReadBack,
                    A::GoReadBack,
                    format!("{}: its seal is broken, and that is written down", key(A::ReadOpened)),
                ),
                "On disk before the screen says so: it survives a power cut",
            ),
            Stop::Opened => (
                format!("{}: scan the box that was called again", key(A::Practise)),
                "Nothing was written about it yet",
            ),
            Stop::Inflate if matches!(&self.overlay, Some(Overlay::Form(form)) if matches!(form.purpose, Purpose::Inflate { .. })) => {
                (
                    format!("Type 12 and {}: 12 atm", key(A::FormAccept)),
                    "The chart diameter follows the pressure, in water, never past rated burst",
                )
            }
            Stop::Inflate => (
                on(Screen::Opened, A::GoOpened, format!("{}: its balloon went up", key(A::OpenedInflate))),
                "Pressure and seconds; or the pressure for a wanted diameter",
            ),
            Stop::Implanted if matches!(&self.overlay, Some(Overlay::Choice(choice)) if matches!(choice.purpose, Purpose::Fate { .. })) => {
                (format!("{}: implanted", key(A::Choice1)), "Every opened box ends in one of these")
            }
            Stop::Implanted => (
                on(Screen::Opened, A::GoOpened, format!("{}: what became of it", key(A::OpenedFate))),
                "A box without an end is asked for at the end of the case",
            ),
            Stop::SignOff if self.screen == Screen::CaseEnd && self.signs_at_once() => (
                format!("{}: signs the case off", key(A::SignNow)),
                "Every box is accounted for; the record is written",
            ),
            Stop::SignOff if matches!(self.overlay, Some(Overlay::Form(_))) => (
                format!("{}: signs off", key(A::FormAccept)),
                "Every box is accounted for; the record is written",
            ),
            Stop::SignOff if self.screen == Screen::CaseEnd => (
                format!("{}: sign off; with something unsettled it asks why", key(A::SignOff)),
                "Opened = implanted + used + not used + lost + not found",
            ),
            Stop::SignOff => (
                format!("{}: Case end", key(A::GoCaseEnd)),
                "What is unsettled stands first; here nothing is",
            ),
            Stop::Record => {
                let (menu, tour, leave) = (key(A::OpenMenu), key(A::MenuTour), key(A::Leave));
                let act = format!("That was a whole case. {menu} {tour} closes the tour, {leave} leaves");
                return (act, self.record_words());
            }
        };
        (act, why.to_string())
    }

    /// Each field of the lesion in turn, while it is typed.
    fn measure_words(&self) -> String {
        let (next, done) = (self.key(A::FormNext), self.key(A::FormAccept));
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
            _ if self.screen != Screen::Sizes => format!("{}: go there first", self.key(A::GoSizes)),
            _ => format!("{}: type what was measured", self.key(A::Measure)),
        }
    }

    fn record_words(&self) -> String {
        match self.record_place() {
            Some(place) => format!("Its record: {place}"),
            None => format!("Its record is in {}/records", self.world.furniture.dir),
        }
    }
}
