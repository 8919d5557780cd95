//! What is said of each box that is offered for use. A finding is worked out whenever it is asked for, never kept: the
//! session holds the label, and what it showed last, so that a change is announced and not overlooked.

use super::judged::{Held, Judged, Seen, Subject};
use super::session::{Effects, Session};
use crate::case::finding::{self, Shown};
use crate::case::readback::{ReadBack, Scan};
use crate::case::{Item, label_words};
use crate::label::pair::{self, Supported, support};
use crate::label::{self, Label, PossibleReading, Refusal, Settings};
use crate::shelf::Shelf;
use crate::tui::keys::{ACCEPT, Action};
use crate::udi::DeviceId;
use crate::units;
use chrono::{Datelike, TimeDelta};

/// How long keys and codes that decide about a box rest after its finding has changed, and after a scan has brought
/// up a screen: what was meant for the screen before must not reach this one. Common practice, no source.
const REST: TimeDelta = TimeDelta::milliseconds(500);

impl Session {
    /// What is known now of the box whose label was read last.
    pub fn held(&self) -> Option<Judged> {
        let held = self.findings.held.as_ref()?;
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
        let (_, diameter, length) = self.findings.watched.typed.filter(|typed| typed.0 == of)?;
        let catalogue = back.read.diameter.zip(back.read.length);
        let agrees = catalogue
            .is_some_and(|(d, l)| units::same(d.mm(), diameter.mm()) && units::same(l.mm(), length.mm()));
        let by_catalogue = catalogue.map_or("no size".into(), |(d, l)| format!("{d} × {l}"));
        (!agrees).then(|| format!("The box says {diameter} × {length}, the catalogue says {by_catalogue}"))
    }

    /// How the finding of this box has changed since it was shown first, in words.
    pub fn change_of(&self, of: Subject) -> Option<String> {
        self.findings.watched.seen.get(&of)?.change.clone()
    }

    /// Another label is held, or the same one with more known of it: what was shown before is of no other box.
    fn forget_held(&mut self) {
        let watched = &mut self.findings.watched;
        watched.seen.remove(&Subject::Held);
        watched.typed.take_if(|typed| typed.0 == Subject::Held);
    }

    /// Works out every finding that is offered, and announces what has changed since it was shown. `written`: the
    /// message line may say what has just been written down here.
    pub fn watch_findings(&mut self, written: bool) {
        let case = self.world.case_code();
        if self.findings.watched.case != case {
            let held = self.findings.watched.seen.remove(&Subject::Held);
            self.findings.watched.seen = held.into_iter().map(|seen| (Subject::Held, seen)).collect();
            self.findings.watched.case = case;
        }
        let now = self.every_finding();
        self.findings.watched.seen.retain(|of, _| now.iter().any(|(there, ..)| there == of));
        for (of, shown, back, words) in now {
            let Some(before) = self.findings.watched.seen.get(&of).map(|seen| seen.shown.clone()) else {
                self.findings.watched.seen.insert(of, Seen { shown, change: None });
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
                    self.said.warns = true;
                } else {
                    self.warn(announced);
                }
                self.rest();
                self.findings.watched.seen.insert(of, Seen { shown, change: Some(change) });
            }
        }
    }

    /// Every box that is offered for use: what is shown of it, the finding behind that, and the box in words.
    fn every_finding(&self) -> Vec<(Subject, Shown, Option<ReadBack>, String)> {
        let mut list = Vec::new();
        let at_hand = self.world.at_hand().into_iter().map(|item| self.judged_at_hand(item));
        for judged in self.held().into_iter().chain(at_hand) {
            let big = judged.finding();
            let which = match judged.of {
                Subject::Item(item) => format!("box {item} at hand, "),
                Subject::Held | Subject::Device(_) => String::new(),
            };
            let words = format!("now {big}: {which}{}", label_words(&judged.back.read));
            list.push((judged.of, Shown::of(&judged.back, big), Some(judged.back), words));
        }
        for item in self.world.in_play() {
            let against = self.world.against_in_play(item);
            let big = against.as_ref().map_or("nothing against it".into(), |back| back.finding.to_string());
            let words = format!("now {big}: box {}, open, {}", item.number, item.words());
            let shown = Shown::of_device(item, against.as_ref());
            list.push((Subject::Device(item.number), shown, against, words));
        }
        list
    }

    /// Keys and codes that decide about a box rest from now on for a moment: a finding has changed.
    pub fn rest(&mut self) {
        self.findings.watched.rest_until = Some(self.world.now + REST);
        self.findings.watched.rest_on = None;
    }

    /// The same on this screen, which a scan has brought up.
    pub fn rest_here(&mut self) {
        let screen = self.screen();
        let watched = &mut self.findings.watched;
        let rests_everywhere =
            watched.rest_on.is_none() && watched.rest_until.is_some_and(|until| self.world.now < until);
        watched.rest_until = Some(self.world.now + REST);
        watched.rest_on = Some(screen).filter(|_| !rests_everywhere);
    }

    /// Whether keys and codes that decide about a box rest just now.
    pub fn rests(&self) -> bool {
        let watched = &self.findings.watched;
        watched.rest_until.is_some_and(|until| self.world.now < until)
            && watched.rest_on.is_none_or(|screen| screen == self.screen())
    }

    /// The clock of the machine was set back by so much: nothing rests longer for that.
    pub fn hold_rest(&mut self, back: TimeDelta) {
        let until = &mut self.findings.watched.rest_until;
        *until = until.map(|until| until - back);
    }

    pub fn warn_resting(&mut self) -> Effects {
        self.warn("The screen has just changed, nothing was written: look, then do it again")
    }

    /// The question in front is about this box with this finding.
    pub fn asked_about(&mut self, judged: &Judged) {
        self.findings.watched.asked = Some((judged.of, judged.finding()));
    }

    /// The box that the question in front is about, with the finding under which it was asked.
    ///
    /// # Errors
    /// The box is not there any more, or another finding has come up meanwhile: it has to be confirmed again.
    pub fn still_asked(&mut self) -> Result<Judged, String> {
        let judged = self.subject();
        let asked = self.findings.watched.asked.clone();
        let Some((judged, (of, big))) = judged.zip(asked).filter(|(judged, (of, _))| judged.of == *of) else {
            return Err("That box is not here any more: nothing was written".into());
        };
        let now = judged.finding();
        if now == big {
            return Ok(judged);
        }
        self.findings.watched.asked = Some((of, now.clone()));
        let key = self.key(ACCEPT);
        Err(match judged.change {
            Some(change) => format!("{change} · now {now}. Look; then {key} again"),
            None => format!("WAS {big}, now {now}. Look; then {key} again"),
        })
    }

    /// Whether an opened device may be used by one key: what is known against it is said first, once.
    pub fn warns_of_device(&mut self, item: u32, action: Action) -> bool {
        let against =
            self.item(item).and_then(|item| Some((self.world.against_in_play(item)?, item.words())));
        let Some((back, words)) = against else { return false };
        let warned = Some((item, back.finding.clone()));
        if self.findings.watched.warned == warned {
            self.findings.watched.warned = None;
            return false;
        }
        self.findings.watched.warned = warned;
        let key = self.key(action);
        self.warn(format!(
            "{}: {words}. Don't use it. {key} again writes it down all the same",
            back.finding
        ));
        true
    }

    /// The second code of a label whose first one is held: joined only when the standards tie the two together.
    pub fn joined(&self, label: &Label) -> Option<Result<Label, Refusal>> {
        let held = self.findings.held.as_ref()?;
        let first = held.label.as_ref().ok()?;
        let lacks = |label: &Label| label.lot.is_none() && label.serial.is_none() && label.use_by.is_none();
        let halves =
            (lacks(first) && label.is_only_secondary()) || (first.is_only_secondary() && lacks(label));
        halves.then(|| pair::join(first, label))
    }

    /// The one reading of a label without its separator that catalogue, shelf and dates all support.
    fn supported(&self, label: &Label) -> Option<Label> {
        let year = self.world.today().year();
        let (catalogue, shelf) = (&self.world.catalogue, &self.world.shelf);
        let known = |reading: &PossibleReading| {
            let value = |code: &str| {
                reading.fields.iter().find(|(id, _)| id == code).map(|(_, value)| value.as_str())
            };
            let di = value("01").and_then(|text| DeviceId::parse(text).ok());
            di.is_some_and(|di| {
                catalogue.find(&di).is_some() && on_shelf(shelf, &di, value("10"), value("21"))
            })
        };
        match support(label, year, &known) {
            Supported::One(label) => Some(*label),
            Supported::None | Supported::Several => None,
        }
    }

    /// Remembers whether this scanner sends separators.
    pub fn read_label(&mut self, bytes: &[u8]) -> Result<Label, Refusal> {
        let settings = Settings {
            sends_separators: self.findings.sends_separators,
            ..Settings::of_year(self.world.today().year())
        };
        let label = label::read(bytes, &settings);
        self.findings.sends_separators |= label.is_ok() && label::holds_separator(bytes, &settings);
        label
    }

    /// Holds a label until something is decided about its box.
    pub fn hold_scan(&mut self, label: Held, words: Option<String>) {
        let before = self.held().map(|held| held.back.read);
        self.findings.held = Some(label);
        self.forget_held();
        let Some(now) = self.held().map(|held| held.back.read) else { return };
        let same = before.as_ref().is_some_and(|before| before.is_same_piece(&now));
        let undecided = before.map(|before| before.name).filter(|name| !name.is_empty());
        match (words, same, undecided) {
            (Some(words), ..) => self.say(words),
            (None, true, _) => self.say("The same box again"),
            (None, false, Some(name)) => {
                self.warn(format!("Nothing was written about the box read before: {name}"))
            }
            (None, false, None) => self.say(format!("Read: {}", label_words(&now))),
        };
    }

    /// The label that is held, now certain.
    pub fn hold(&mut self, label: Label, words: &str) {
        let Some(held) = self.findings.held.take() else { return };
        self.hold_scan(Held { label: Ok(label), ..held }, Some(words.to_string()));
    }

    /// The box at hand under the cursor.
    fn at_hand(&self) -> Option<&Item> {
        self.world.at_hand().get(self.findings.at_hand).copied()
    }
}

fn on_shelf(shelf: &Shelf, di: &DeviceId, lot: Option<&str>, serial: Option<&str>) -> bool {
    shelf
        .pieces()
        .into_iter()
        .any(|piece| piece.di == *di && Some(piece.lot.as_str()) == lot && piece.serial.as_deref() == serial)
}
