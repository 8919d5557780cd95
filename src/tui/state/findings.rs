//! What is said of each box that is offered for use. A finding is worked out whenever it is asked for, never kept: the
//! state holds the label, and what it showed last, so that a change is announced and not overlooked.

use super::{Effects, Overlay, Purpose, Screen, State, ask, case_end, fetch, opened, readback};
use crate::case::finding::{self, Shown};
use crate::case::readback::{Headline, ReadBack, Scan};
use crate::case::{Item, Signal, label_words};
use crate::journal::CaseCode;
use crate::label::Label;
use crate::tui::keys::{ACCEPT, Action};
use crate::units::{self, Diameter, Length};
use chrono::{DateTime, FixedOffset, TimeDelta};
use std::collections::BTreeMap;

/// How long keys and codes that decide about a box rest after its finding has changed, and after a scan has brought
/// up a screen: what was meant for the screen before must not reach this one. Common practice, no source.
const REST: TimeDelta = TimeDelta::milliseconds(500);

/// A box about which something is to be decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// The one whose label was read last.
    Held,
    /// A box at hand, by its number in the case.
    Item(u32),
    /// An opened device that can still be used, by its number in the case.
    Device(u32),
}

/// What is known now of a box that is offered.
#[derive(Debug, Clone)]
pub struct Judged {
    pub of: Subject,
    pub back: ReadBack,
    /// The one reading that the shelf supports, of a label whose separator was lost: its lot is to be read by eye.
    pub doubtful: Option<Label>,
    /// The size that was typed from the box is not the catalogue's, in words.
    pub disagrees: Option<String>,
    /// It came into the room with this finding or a graver one, and somebody let it.
    pub accepted: bool,
    /// Why it came into the room although it was not what was called.
    pub reason: Option<String>,
    /// How the finding has changed since it was shown first.
    pub change: Option<String>,
    /// The call that a box at hand was brought for.
    brought_for: Option<u32>,
}

/// Of what was shown.
#[derive(Debug, Clone, Default)]
pub struct Watched {
    /// The case whose boxes these are.
    case: Option<CaseCode>,
    seen: BTreeMap<Subject, Seen>,
    /// Until then keys and codes that decide rest.
    rest_until: Option<DateTime<FixedOffset>>,
    /// The screen that a scan has brought up: there they rest. None: a finding has changed, and they rest everywhere.
    rest_on: Option<Screen>,
    /// The box and the finding that the question in front was asked about.
    asked: Option<(Subject, String)>,
    /// The box whose printed size was typed last.
    pub(super) typed: Option<(Subject, Diameter, Length)>,
    /// An opened device that was refused once, and in what words.
    warned: Option<(u32, String)>,
}

#[derive(Debug, Clone)]
struct Seen {
    shown: Shown,
    change: Option<String>,
}

impl Judged {
    /// What of it is large, here and on a second monitor.
    pub fn signal(&self) -> Signal {
        let mut signal = self.back.signal(self.disagrees.as_deref());
        signal.differing.splice(0..0, self.change.clone());
        signal
    }

    /// The words in big letters; what the journal gets when something is decided now.
    pub fn big(&self) -> String {
        self.back.signal(self.disagrees.as_deref()).big
    }

    /// No product file has its identifier.
    pub(super) fn is_unknown(&self) -> bool {
        self.of == Subject::Held && self.back.headline == Headline::NotKnown
    }

    /// The call that the box is for: the oldest that it answers, else the one that it was brought for or comes nearest.
    pub(super) fn call(&self) -> Option<u32> {
        self.back.matching.first().copied().or(self.brought_for).or(self.back.nearest)
    }

    /// Something speaks against it, and nobody has accepted that.
    pub fn stops(&self) -> bool {
        !self.accepted && (self.disagrees.is_some() || self.back.headline.needs_reason())
    }
}

impl State {
    /// What is known now of the box whose label was read last.
    pub fn held(&self) -> Option<Judged> {
        let held = self.readback.held.as_ref()?;
        let doubtful = held.label.as_ref().ok().and_then(|label| self.supported(label));
        let label = doubtful.clone().map_or_else(|| held.label.clone(), Ok);
        let scan = Scan { label, raw: held.raw.clone(), complete: held.complete };
        let mut back = self.world.read_back(&scan);
        for reading in scan.label.iter().flat_map(|label| &label.readings) {
            let fields: Vec<String> =
                reading.fields.iter().map(|(id, value)| format!("({id}){value}")).collect();
            back.notes.push(format!("could be {}", fields.join("")));
        }
        Some(Judged {
            disagrees: self.disagrees(Subject::Held, &back),
            change: self.change_of(Subject::Held),
            of: Subject::Held,
            back,
            doubtful,
            accepted: false,
            reason: None,
            brought_for: None,
        })
    }

    /// What is known now of a box at hand.
    pub fn judged_at_hand(&self, item: &Item) -> Judged {
        let back = self.world.read_back_at_hand(item);
        let of = Subject::Item(item.number);
        let disagrees = self.disagrees(of, &back);
        Judged {
            accepted: disagrees.is_none() && finding::is_accepted(item, &back),
            disagrees,
            change: self.change_of(of),
            of,
            back,
            doubtful: None,
            reason: item.reason.clone(),
            brought_for: item.call,
        }
    }

    /// The box that a key on Read-back decides about: the one that was read, else the one at hand under the cursor.
    pub fn subject(&self) -> Option<Judged> {
        match self.held() {
            Some(held) => Some(held),
            None => self.at_hand().map(|item| self.judged_at_hand(item)),
        }
    }

    /// The first box at hand that something speaks against, and nobody has accepted that.
    pub fn stop_at_hand(&self) -> Option<Judged> {
        let boxes = self.world.at_hand().into_iter().map(|item| self.judged_at_hand(item));
        boxes.into_iter().find(Judged::stops)
    }

    fn disagrees(&self, of: Subject, back: &ReadBack) -> Option<String> {
        let (_, diameter, length) = self.readback.watched.typed.filter(|typed| typed.0 == of)?;
        let catalogue = back.read.diameter.zip(back.read.length);
        let agrees = catalogue
            .is_some_and(|(d, l)| units::same(d.mm(), diameter.mm()) && units::same(l.mm(), length.mm()));
        let by_catalogue = catalogue.map_or("no size".into(), |(d, l)| format!("{d} × {l}"));
        (!agrees).then(|| format!("The box says {diameter} × {length}, the catalogue says {by_catalogue}"))
    }

    /// How the finding of this box has changed since it was shown first, in words.
    pub fn change_of(&self, of: Subject) -> Option<String> {
        self.readback.watched.seen.get(&of)?.change.clone()
    }

    /// Another label is held, or the same one with more known of it: what was shown before is of no other box.
    pub(super) fn forget_held(&mut self) {
        let watched = &mut self.readback.watched;
        watched.seen.remove(&Subject::Held);
        watched.typed.take_if(|typed| typed.0 == Subject::Held);
    }

    /// Works out every finding that is offered, and announces what has changed since it was shown. `written`: the
    /// message line may say what has just been written down here.
    pub(super) fn watch_findings(&mut self, written: bool) {
        let case = self.world.case_code();
        if self.readback.watched.case != case {
            let held = self.readback.watched.seen.remove(&Subject::Held);
            self.readback.watched.seen = held.into_iter().map(|seen| (Subject::Held, seen)).collect();
            self.readback.watched.case = case;
        }
        let now = self.findings();
        self.readback.watched.seen.retain(|of, _| now.iter().any(|(there, ..)| there == of));
        for (of, shown, back, words) in now {
            let Some(before) = self.readback.watched.seen.get(&of).map(|seen| seen.shown.clone()) else {
                self.readback.watched.seen.insert(of, Seen { shown, change: None });
                continue;
            };
            // What is shown while the shelf is read once more is no news, and is gone in a moment.
            if self.world.shelf.is_being_read() {
                continue;
            }
            let (case, at) = (self.world.case.as_ref(), self.world.now);
            let change = before.change(&shown, || match &back {
                Some(back) => self.disagrees(of, back).unwrap_or_else(|| before.cause(back, case, at)),
                None => format!("NOTHING IS KNOWN AGAINST IT NOW {}", at.format("%H:%M")),
            });
            if let Some(change) = change {
                let announced = format!("{change} · {words}");
                // What is written down stays said, with the key that strikes it out.
                if written && self.said.written {
                    let before = self.said.words.split(" · WAS ").next().unwrap_or_default();
                    self.said.words = format!("{before} · {announced}");
                    self.said.heed = true;
                } else {
                    self.heed(announced);
                }
                self.rest();
                self.readback.watched.seen.insert(of, Seen { shown, change: Some(change) });
            }
        }
    }

    /// Every box that is offered for use: what is shown of it, the finding behind that, and the box in words.
    fn findings(&self) -> Vec<(Subject, Shown, Option<ReadBack>, String)> {
        let mut list = Vec::new();
        let at_hand = self.world.at_hand().into_iter().map(|item| self.judged_at_hand(item));
        for judged in self.held().into_iter().chain(at_hand) {
            let big = judged.big();
            let which = match judged.of {
                Subject::Item(item) => format!("box {item} at hand, "),
                Subject::Held | Subject::Device(_) => String::new(),
            };
            let words = format!("now {big}: {which}{}", label_words(&judged.back.read));
            list.push((judged.of, Shown::of(&judged.back, &big), Some(judged.back), words));
        }
        for item in self.world.in_play() {
            let against = self.world.against_in_play(item);
            let big = against.as_ref().map_or("nothing against it", |back| back.big.as_str());
            let words = format!("now {big}: box {}, open, {}", item.number, item.words());
            let shown = Shown::of_device(item, against.as_ref());
            list.push((Subject::Device(item.number), shown, against, words));
        }
        list
    }

    /// Keys and codes that decide about a box rest from now on for a moment: a finding has changed.
    pub(super) fn rest(&mut self) {
        self.readback.watched.rest_until = Some(self.world.now + REST);
        self.readback.watched.rest_on = None;
    }

    /// The same on this screen, which a scan has brought up.
    pub(super) fn rest_here(&mut self) {
        let watched = &mut self.readback.watched;
        let rests_everywhere =
            watched.rest_on.is_none() && watched.rest_until.is_some_and(|until| self.world.now < until);
        watched.rest_until = Some(self.world.now + REST);
        watched.rest_on = Some(self.screen).filter(|_| !rests_everywhere);
    }

    /// Whether keys and codes that decide about a box rest just now.
    pub fn rests(&self) -> bool {
        let watched = &self.readback.watched;
        watched.rest_until.is_some_and(|until| self.world.now < until)
            && watched.rest_on.is_none_or(|screen| screen == self.screen)
    }

    /// The clock of the machine was set back by so much: nothing rests longer for that.
    pub(super) fn hold_rest(&mut self, back: TimeDelta) {
        let until = &mut self.readback.watched.rest_until;
        *until = until.map(|until| until - back);
    }

    /// Whether this decides about a box, or signs: it rests when the screen has just changed.
    pub(super) fn is_at_rest(&self, action: Action) -> bool {
        let signs = || self.readback.watched.rest_on == Some(Screen::CaseEnd);
        let decides = match (action, &self.overlay) {
            (readback::OPENED | readback::KEEP | readback::PUT_BACK | fetch::USE_OPEN, _) => true,
            (opened::AGAIN | opened::TABLE, _) => true,
            (case_end::SIGN_OFF, _) => signs(),
            (ACCEPT, None) => self.screen == Screen::CaseEnd && signs(),
            (ACCEPT, Some(Overlay::Form(form))) => form.purpose.decides(),
            (_, Some(Overlay::Choice(choice))) => {
                let answers = action == ACCEPT || ask::ANSWERS.contains(&action);
                answers && choice.purpose == Purpose::OfferedBalloon
            }
            _ => false,
        };
        decides && self.rests()
    }

    pub(super) fn say_it_rests(&mut self) -> Effects {
        self.heed("The screen has just changed, nothing was written: look, then do it again")
    }

    /// The question in front is about this box with this finding.
    pub(super) fn asked_about(&mut self, judged: &Judged) {
        self.readback.watched.asked = Some((judged.of, judged.big()));
    }

    /// The box that the question in front is about, with the finding under which it was asked.
    ///
    /// # Errors
    /// The box is not there any more, or another finding has come up meanwhile: it has to be confirmed again.
    pub(super) fn still_asked(&mut self) -> Result<Judged, String> {
        let judged = self.subject();
        let asked = self.readback.watched.asked.clone();
        let Some((judged, (of, big))) = judged.zip(asked).filter(|(judged, (of, _))| judged.of == *of) else {
            return Err("That box is not here any more: nothing was written".into());
        };
        let now = judged.big();
        if now == big {
            return Ok(judged);
        }
        self.readback.watched.asked = Some((of, now.clone()));
        let key = self.key(ACCEPT);
        Err(match judged.change {
            Some(change) => format!("{change} · now {now}. Look; then {key} again"),
            None => format!("WAS {big}, now {now}. Look; then {key} again"),
        })
    }

    /// Whether an opened device may be used by one key: what is known against it is said first, once.
    pub(super) fn warns_of_device(&mut self, item: u32, action: Action) -> bool {
        let against =
            self.item(item).and_then(|item| Some((self.world.against_in_play(item)?, item.words())));
        let Some((back, words)) = against else { return false };
        let warned = Some((item, back.big.clone()));
        if self.readback.watched.warned == warned {
            self.readback.watched.warned = None;
            return false;
        }
        self.readback.watched.warned = warned;
        let key = self.key(action);
        self.heed(format!("{}: {words}. Don't use it. {key} again writes it down all the same", back.big));
        true
    }
}
