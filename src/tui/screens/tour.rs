//! The demo room's guided tour: says what to do next and watches what was really done. It moves on for nothing else,
//! can be left, and is taken up where it was.

use super::{case_code, case_end, menu, opened, readback, sizes};
use crate::case::readback::Headline;
use crate::journal::{Fact, Fate};
use crate::tui::keys::*;
use crate::tui::model::{Component, Screen, Session, ask};

/// How far the tour is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tour {
    /// Place in `STOPS`.
    at: usize,
    /// What was in the journal when it began counts for nothing.
    since: u64,
    /// It is shown; else it waits to be taken up.
    pub on: bool,
}

/// What the tour watches.
pub struct Observed<'a> {
    pub session: &'a Session,
    pub over: Option<&'a dyn Component>,
    /// A call is shown large.
    pub call_shown: bool,
    /// One key signs the case off.
    pub signs_at_once: bool,
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

impl Observed<'_> {
    /// Whether this is being asked.
    fn asks(&self, action: Action) -> bool {
        self.over.and_then(|over| over.asked_by()) == Some(action)
    }
}

impl Tour {
    /// It begins now: what is in the journal already counts for nothing.
    pub fn begun(session: &Session) -> Self {
        Tour { at: 0, since: session.world.last_seq(), on: true }
    }

    /// The last stop was seen.
    pub fn is_over(&self) -> bool {
        self.at + 1 >= STOPS.len()
    }

    /// After every message: the tour moves on by what was done, and only by that.
    pub fn watch(&mut self, seen: &Observed) {
        let last = STOPS.len() - 1;
        // Something that was written further on has overtaken what stands before it.
        let written = (self.at..last).rev().find(|stop| is_written(seen, STOPS[*stop], self.since));
        self.at = written.map_or(self.at, |stop| stop + 1);
        while self.at < last && is_seen(seen, STOPS[self.at]) {
            self.at += 1;
        }
    }

    /// How far it is, what to do now, and what that is for; none where it is not shown.
    pub fn lines(&self, seen: &Observed) -> Option<[String; 3]> {
        let stop = *STOPS.get(self.at).filter(|_| self.on)?;
        let begins = seen.over.is_some_and(|over| over.place(seen.session) == &case_code::PLACE);
        let (act, why) = if begins {
            (
                "A case has begun. Any key goes on".into(),
                "Its code goes on the patient's record: nothing else ties the two".into(),
            )
        } else {
            what_to_do(seen, stop)
        };
        Some([format!("tour {} of {}", self.at + 1, STOPS.len()), act, why])
    }
}

/// What the journal holds since the tour began; what waits for the disk does not count.
fn is_written(seen: &Observed, stop: Stop, since: u64) -> bool {
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
    seen.session
        .world
        .entries()
        .iter()
        .rev()
        .take_while(|entry| entry.seq > since)
        .any(|entry| !seen.session.is_unsaved(entry.seq) && wanted(&entry.fact))
}

/// What is done by looking or scanning, and leaves no entry.
fn is_seen(seen: &Observed, stop: Stop) -> bool {
    let headline = seen.session.held().map(|held| held.back.headline);
    match stop {
        Stop::Fetch => seen.session.screen() == Screen::Fetch && seen.call_shown,
        Stop::Wrong => headline == Some(Headline::Different),
        Stop::Right => headline == Some(Headline::Same),
        _ => false,
    }
}

fn what_to_do(seen: &Observed, stop: Stop) -> (String, String) {
    let key = |action| seen.session.key(action);
    // Where the screen that a stop needs is not in front, the way there is what to do.
    let on = |screen: Screen, go: Action, words: String| {
        if seen.session.screen() == screen || seen.over.is_some() {
            words
        } else {
            format!("{}: go there first", key(go))
        }
    };
    let (act, why) = match stop {
        Stop::Measure => {
            (measure_words(seen), "What the operator measured by OCT; the grid follows while you type")
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
        Stop::PutBack if seen.session.findings.held.is_some() => (
            format!("DIFFERENT, before the seal was broken. {} puts it back", key(readback::PUT_BACK)),
            "Every field stands beside the call; the call still waits",
        ),
        Stop::PutBack => (
            format!("{}: scan the wrong box again, then put it back", key(PRACTISE_WRONG)),
            "Nothing was written about it yet",
        ),
        Stop::Right => {
            (format!("{}: scans the box that was called", key(PRACTISE)), "As called in every field: SAME")
        }
        Stop::Opened if seen.asks(readback::OPENED) => (
            format!("Read the size off the box: type 3 29 and {}", key(ACCEPT)),
            "The first box of each identifier in a room is compared by eye, once",
        ),
        Stop::Opened if seen.session.findings.held.is_some() => (
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
        Stop::Inflate if seen.asks(opened::INFLATE) => (
            format!("Type 12 and {}: 12 atm", key(ACCEPT)),
            "The chart diameter follows the pressure, in water, never past rated burst",
        ),
        Stop::Inflate => (
            on(Screen::Opened, GO_OPENED, format!("{}: its balloon went up", key(opened::INFLATE))),
            "Pressure and seconds; or the pressure for a wanted diameter",
        ),
        Stop::Implanted if seen.asks(opened::FATE) => {
            (format!("{}: implanted", key(ask::ANSWERS[0])), "Every opened box ends in one of these")
        }
        Stop::Implanted => (
            on(Screen::Opened, GO_OPENED, format!("{}: what became of it", key(opened::FATE))),
            "A box without an end is asked for at the end of the case",
        ),
        Stop::SignOff if seen.session.screen() == Screen::CaseEnd && seen.signs_at_once => (
            format!("{}: signs the case off", key(ACCEPT)),
            "Every box is accounted for; the record is written",
        ),
        Stop::SignOff if seen.over.is_some_and(|over| over.form().is_some()) => {
            (format!("{}: signs off", key(ACCEPT)), "Every box is accounted for; the record is written")
        }
        Stop::SignOff if seen.session.screen() == Screen::CaseEnd => (
            format!("{}: sign off; with something unsettled it asks why", key(case_end::SIGN_OFF)),
            "Opened = implanted + used + not used + lost + not found",
        ),
        Stop::SignOff => {
            (format!("{}: Case end", key(GO_CASE_END)), "What is unsettled stands first; here nothing is")
        }
        Stop::Record => {
            let (menu, tour, leave) = (key(OPEN_MENU), key(menu::TOUR), key(LEAVE));
            let act = format!("That was a whole case. {menu} {tour} closes the tour, {leave} leaves");
            return (act, record_words(seen));
        }
    };
    (act, why.to_string())
}

/// Each field of the lesion in turn, while it is typed.
fn measure_words(seen: &Observed) -> String {
    let (next, done) = (seen.session.key(ask::NEXT), seen.session.key(ACCEPT));
    match seen.over.and_then(|over| over.form()) {
        Some(form) if form.asked_by() == Some(sizes::MEASURE) => {
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
        _ if seen.session.screen() != Screen::Sizes => {
            format!("{}: go there first", seen.session.key(GO_SIZES))
        }
        _ => format!("{}: type what was measured", seen.session.key(sizes::MEASURE)),
    }
}

fn record_words(seen: &Observed) -> String {
    match seen.session.record_place() {
        Some(place) => format!("Its record: {place}"),
        None => format!("Its record is in {}/records", seen.session.world.furniture.dir),
    }
}
