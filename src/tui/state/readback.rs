//! Read-back: a label that was scanned or typed, and what is done with its box.

use super::ask::Outcome;
use super::findings::{Judged, Subject, Watched};
use super::{EVERYWHERE, Effects, Field, Form, Front, List, Purpose, Screen, State};
use crate::case::readback::{self, Headline, NO_LABEL_READ};
use crate::case::{Item, label_words};
use crate::journal::{BoxRead, Fact};
use crate::label::{self, Arrival, Label, Raw, Refusal, Settings, card};
use crate::measure::Kind;
use crate::tui::keys::{ACCEPT, Action, CLOSE, DOWN, Letters, Place, UP};
use crate::units;
use chrono::{Datelike, NaiveDate};

pub const OPENED: Action = Action::needed("read-opened", &["o"]);
pub const KEEP: Action = Action::new("read-keep", &["h"]);
pub const PUT_BACK: Action = Action::new("read-put-back", &["b", "Delete"]);
pub const ANYWAY: Action = Action::new("read-anyway", &["d"]);
pub const EARLIER: Action = Action::new("read-earlier", &["a"]);
pub const TYPE_LABEL: Action = Action::new("read-type-label", &["t"]);
pub const TYPE_BOX: Action = Action::new("read-type-box", &["y"]);
pub const ENROL: Action = Action::new("read-enrol", &["e"]);

pub static PLACE: Place = Place::new(
    "Read-back",
    Letters::Shared,
    &[
        OPENED.row("opened", "its seal is broken: write it down (SAME, or no call waiting)"),
        KEEP.row("at hand", "keep it in the room, unopened"),
        PUT_BACK.row("put back", "put it back, unopened; the call stands"),
        ANYWAY.row("go on", "go on all the same: type the size on the box and a reason"),
        EARLIER.row("minutes ago", "it was opened some minutes ago"),
        TYPE_LABEL.row("type label", "type the label: (01)… (17)… (10)…"),
        TYPE_BOX.row("type box", "no label can be read: type what the box says"),
        ENROL.row("enrol", "no product file has it: type what its front says, kept unverified"),
        CLOSE.row("", "forget what was read; nothing is written about it"),
        DOWN.row("", "the next call or box at hand"),
        UP.row("", "the one before"),
    ],
)
.within(&EVERYWHERE);

pub const FRONT: Front = Front {
    list: |state| {
        let count = state.world.at_hand().len();
        Some(List::new(&mut state.readback.at_hand, count).round())
    },
    offers: |state, action| match action {
        OPENED => state.subject().is_some_and(|judged| judged.doubtful.is_some() || !judged.stops()),
        KEEP | EARLIER => state.held().is_some_and(|held| !held.stops()),
        ANYWAY => state.subject().as_ref().is_some_and(Judged::stops),
        ENROL => state.held().as_ref().is_some_and(Judged::is_unknown),
        PUT_BACK => state.readback.held.is_some() || !state.world.at_hand().is_empty(),
        _ => true,
    },
    ..Front::new(&PLACE, State::act_readback)
};

/// Where the Read-back screen stands.
#[derive(Debug, Clone, Default)]
pub struct AtReadBack {
    pub held: Option<Held>,
    /// Which of the boxes at hand is meant when no scan is held.
    pub at_hand: usize,
    /// This scanner has sent a separator: from now on a missing one means that there is none.
    pub(super) sends_separators: bool,
    /// What was wanted when the printed size had to be typed first.
    intent: Intent,
    pub(super) watched: Watched,
}

/// A label that was read last and about whose box nothing is decided yet. What it comes to is worked out when it is
/// asked for: [`State::held`].
#[derive(Debug, Clone)]
pub struct Held {
    /// As it was read; of a lost separator all readings.
    pub(super) label: Result<Label, Refusal>,
    pub(super) raw: Raw,
    pub(super) complete: bool,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
enum Intent {
    Open {
        minutes_ago: Option<u32>,
    },
    #[default]
    Keep,
}

impl State {
    /// A burst of characters, on whatever screen: a command of the card, or a label that goes to read-back. Its
    /// Enter confirms nothing.
    pub(super) fn scanned(&mut self, bytes: Vec<u8>, complete: bool, arrival: Arrival) -> Effects {
        if let Some(command) = card::read(&bytes) {
            let effects = self.hear(command);
            self.rest_here();
            return effects;
        }
        let mut label = self.read_label(&bytes);
        if self.tally_hears() {
            self.tally_scan(label, complete);
            return Vec::new();
        }
        self.go(Screen::ReadBack);
        self.overlay = None;
        let mut raw = Raw::new(&bytes, arrival);
        let mut words = None;
        match label.as_ref().ok().and_then(|label| self.joined(label)) {
            Some(Ok(whole)) => {
                let first = self.readback.held.take().map(|held| held.raw.hex).unwrap_or_default();
                raw.hex = format!("{first}0d{}", raw.hex);
                words = Some(format!("Two codes of one label: {}", whole.human_readable()));
                label = Ok(whole);
            }
            Some(Err(refusal)) => words = Some(refusal.message),
            None => {}
        }
        self.hold_scan(Held { label, raw, complete }, words);
        self.rest_here();
        self.told_not_counted();
        Vec::new()
    }

    /// Remembers whether this scanner sends separators.
    fn read_label(&mut self, bytes: &[u8]) -> Result<Label, Refusal> {
        let settings = Settings {
            sends_separators: self.readback.sends_separators,
            ..Settings::of_year(self.world.today().year())
        };
        let label = label::read(bytes, &settings);
        self.readback.sends_separators |= label.is_ok() && label::holds_separator(bytes, &settings);
        label
    }

    /// Holds a label until something is decided about its box.
    fn hold_scan(&mut self, label: Held, words: Option<String>) {
        let before = self.held().map(|held| held.back.read);
        self.readback.held = Some(label);
        self.forget_held();
        let Some(now) = self.held().map(|held| held.back.read) else { return };
        let same = before.as_ref().is_some_and(|before| before.is_same_piece(&now));
        let undecided = before.map(|before| before.name).filter(|name| !name.is_empty());
        match (words, same, undecided) {
            (Some(words), ..) => self.say(words),
            (None, true, _) => self.say("The same box again"),
            (None, false, Some(name)) => {
                self.heed(format!("Nothing was written about the box read before: {name}"))
            }
            (None, false, None) => self.say(format!("Read: {}", label_words(&now))),
        };
    }

    /// The label that is held, now certain.
    pub(super) fn hold(&mut self, label: Label, words: &str) {
        let Some(held) = self.readback.held.take() else { return };
        self.hold_scan(Held { label: Ok(label), ..held }, Some(words.to_string()));
    }

    /// The box at hand under the cursor.
    pub(super) fn at_hand(&self) -> Option<&Item> {
        self.world.at_hand().get(self.readback.at_hand).copied()
    }

    pub(super) fn act_readback(&mut self, action: Action) -> Effects {
        match action {
            OPENED => self.open_held(None),
            KEEP => self.keep_held(),
            PUT_BACK => self.put_back(),
            ANYWAY => self.ask_anyway(),
            EARLIER => self.ask_minutes(),
            TYPE_LABEL => self.ask_label(),
            TYPE_BOX => self.ask_box(),
            ENROL => self.ask_enrol(),
            CLOSE => {
                self.readback.held = None;
                self.say("Forgotten; nothing was written");
                self.back_to_first()
            }
            _ => Effects::new(),
        }
    }

    /// Whether one key may write this box down: it is what was called, nothing was called, or it came into the room so.
    pub(super) fn goes_by_one_key(&self, judged: &Judged) -> Result<(), String> {
        if !judged.stops() {
            return Ok(());
        }
        Err(format!("{}: {} goes on all the same, with a reason", judged.big(), self.key(ANYWAY)))
    }

    fn open_held(&mut self, minutes_ago: Option<u32>) -> Effects {
        self.decide(Intent::Open { minutes_ago })
    }

    fn keep_held(&mut self) -> Effects {
        if self.readback.held.is_none() {
            return self.say("Scan the box first, or type its label");
        }
        self.decide(Intent::Keep)
    }

    /// What is wanted with the box is done, unless something has to be typed or confirmed first.
    fn decide(&mut self, intent: Intent) -> Effects {
        let Some(judged) = self.subject() else {
            return self.say("Scan the box first, or type its label");
        };
        if judged.doubtful.is_some() {
            return self.ask_lot();
        }
        if let Err(why) = self.goes_by_one_key(&judged) {
            return self.heed(why);
        }
        if self.asks_printed_size(&judged, intent) {
            return Vec::new();
        }
        let label = judged.back.read.clone();
        self.write_decided(&judged, label, None, intent, Vec::new())
    }

    fn write_decided(
        &mut self,
        judged: &Judged,
        label: BoxRead,
        reason: Option<String>,
        intent: Intent,
        facts: Vec<Fact>,
    ) -> Effects {
        match intent {
            Intent::Open { minutes_ago } => self.write_opened(judged, label, reason, minutes_ago, facts),
            Intent::Keep => self.write_at_hand(judged, label, reason, facts),
        }
    }

    fn put_back(&mut self) -> Effects {
        let Some(judged) = self.subject() else {
            return self.say("There is no box to put back");
        };
        let item = self.item_of(&judged);
        let finding = judged.big();
        if judged.of == Subject::Held {
            self.readback.held = None;
            self.screen = Screen::Fetch;
        }
        self.write(vec![Fact::BoxPutBack { item, label: judged.back.read, finding }])
    }

    /// A box at hand that is scanned again keeps its number; a second one of its lot, by the read-back, gets its own.
    fn item_of(&self, judged: &Judged) -> u32 {
        match judged.of {
            Subject::Item(item) | Subject::Device(item) => item,
            Subject::Held => self.item_read(&judged.back.read),
        }
    }

    fn item_read(&self, read: &BoxRead) -> u32 {
        let Some(case) = self.world.case.as_ref().filter(|case| case.signed.is_none()) else { return 1 };
        readback::known_item(read, Some(case)).unwrap_or_else(|| case.next_item_number())
    }

    fn lesion_of_call(&self, call: Option<u32>) -> Option<u8> {
        let case = self.world.case.as_ref()?;
        let called = call.and_then(|number| case.calls.iter().find(|call| call.number == number));
        Some(called.and_then(|call| call.lesion).unwrap_or(self.lesion))
    }

    fn write_opened(
        &mut self,
        judged: &Judged,
        label: BoxRead,
        reason: Option<String>,
        minutes_ago: Option<u32>,
        mut facts: Vec<Fact>,
    ) -> Effects {
        let call = judged.call();
        let lesion = match judged.of {
            Subject::Held => self.lesion_of_call(call).or(Some(self.lesion)),
            Subject::Item(_) | Subject::Device(_) => self.lesion_of_call(call),
        };
        facts.push(Fact::BoxOpened {
            item: self.item_of(judged),
            call,
            lesion,
            label,
            finding: judged.big(),
            reason: reason.or_else(|| judged.reason.clone()),
            minutes_ago,
        });
        self.decided(judged);
        self.screen = Screen::Opened;
        // The newest stands last; the cursor is brought back onto it when it is on disk.
        self.opened.shown = usize::MAX;
        self.write(facts)
    }

    fn write_at_hand(
        &mut self,
        judged: &Judged,
        label: BoxRead,
        reason: Option<String>,
        mut facts: Vec<Fact>,
    ) -> Effects {
        facts.push(Fact::BoxAtHand {
            item: self.item_of(judged),
            call: judged.call(),
            label,
            finding: judged.big(),
            reason,
        });
        self.decided(judged);
        self.readback.at_hand = usize::MAX;
        self.write(facts)
    }

    fn decided(&mut self, judged: &Judged) {
        if judged.of == Subject::Held {
            self.readback.held = None;
        }
        self.readback.watched.typed.take_if(|typed| typed.0 == judged.of);
    }

    /// The first box of an identifier in this room, and every box that says CHECK BY EYE, has its printed size
    /// typed; a covered stent never waits for typing, and a box that came in so has had it typed.
    fn asks_printed_size(&mut self, judged: &Judged, intent: Intent) -> bool {
        let read = &judged.back.read;
        let by_eye = judged.back.headline.needs_eyes();
        let covered = read.kind == Some(Kind::CoveredStent);
        if judged.accepted || read.diameter.is_none() || covered {
            return false;
        }
        if !by_eye && (judged.of != Subject::Held || !judged.back.needs_printed_size) {
            return false;
        }
        self.readback.intent = intent;
        self.asked_about(judged);
        let intro = if judged.back.headline == Headline::CheckDate {
            "CHECK THE DATE: read the use-by date on the box aloud, then its printed size, and type the size."
        } else if by_eye {
            "CHECK BY EYE: read the size that is printed on the box aloud, and type it."
        } else {
            "The first box of this identifier in this room: read its printed size aloud, and type it."
        };
        let fields = vec![Field::text("size", "size on the box", "", "as 3.0x29")];
        self.ask(Form::new(Purpose::PrintedSize, "The size printed on the box", &[intro], fields));
        true
    }

    pub(super) fn accept_printed_size(&mut self, form: &Form) -> Outcome {
        let judged = self.still_asked()?;
        if judged.stops() {
            let (back, on) = (self.key(CLOSE), self.key(ANYWAY));
            return Err(format!("{}: {back}, and then {on} goes on with a reason", judged.big()));
        }
        let text = form.value("size");
        let (diameter, length) =
            units::size(&text).ok_or_else(|| format!("{text:?}: type diameter and length, as 3.0x29"))?;
        let label = judged.back.read.clone();
        let Some(di) = label.di.clone() else { return Ok(Vec::new()) };
        let agrees = label.diameter.is_some_and(|d| units::same(d.mm(), diameter.mm()))
            && label.length.is_some_and(|l| units::same(l.mm(), length.mm()));
        let typed = Fact::PrintedSizeTyped { di, diameter: Some(diameter), length, agrees };
        if agrees {
            return Ok(self.write_decided(&judged, label, None, self.readback.intent, vec![typed]));
        }
        self.readback.watched.typed = Some((judged.of, diameter, length));
        self.overlay = None;
        Ok(self.write(vec![typed]))
    }

    fn ask_anyway(&mut self) -> Effects {
        let Some(judged) = self.subject() else {
            return self.say("Scan the box first, or type its label");
        };
        if judged.of != Subject::Held && !judged.stops() {
            return self.say(format!("{}: {} opens it", judged.big(), self.key(OPENED)));
        }
        let intro = format!(
            "{}. Type what the box says and why it goes on; {} and then {} puts it back instead.",
            judged.big(),
            self.key(CLOSE),
            self.key(PUT_BACK)
        );
        let fields = vec![
            Field::text("size", "size on the box", "", "as 3.0x29; empty for a box without a size"),
            Field::text("reason", "reason", "", "as: operator accepts; nothing else on the shelf"),
            Field::one_of("what", "the box is", vec!["opened".into(), "at hand, unopened".into()], 0),
        ];
        self.asked_about(&judged);
        self.ask(Form::new(Purpose::Anyway, "Going on all the same", &[&intro], fields))
    }

    pub(super) fn accept_anyway(&mut self, form: &Form) -> Outcome {
        let judged = self.still_asked()?;
        let reason = form.value("reason");
        if reason.is_empty() {
            return Err("Type a reason: it stands in the record".into());
        }
        let text = form.value("size");
        let mut label = judged.back.read.clone();
        if text.is_empty() {
            if label.diameter.is_some() {
                return Err("Type the size that is printed on the box".into());
            }
        } else {
            let (diameter, length) =
                units::size(&text).ok_or_else(|| format!("{text:?}: type diameter and length, as 3.0x29"))?;
            (label.diameter, label.length) = (Some(diameter), Some(length));
        }
        let opened = Intent::Open { minutes_ago: None };
        let intent = if form.chosen("what") == 0 { opened } else { Intent::Keep };
        Ok(self.write_decided(&judged, label, Some(reason), intent, Vec::new()))
    }

    fn ask_minutes(&mut self) -> Effects {
        let Some(held) = self.held() else {
            return self.say("Scan the box first, or type its label");
        };
        self.asked_about(&held);
        let fields = vec![Field::text("minutes", "minutes ago", "", "whole minutes")];
        self.ask(Form::new(Purpose::MinutesAgo, "It was opened some minutes ago", &[], fields))
    }

    pub(super) fn accept_minutes_ago(&mut self, form: &Form) -> Outcome {
        let text = form.value("minutes");
        let minutes = text
            .parse::<u32>()
            .ok()
            .filter(|minutes| *minutes <= 24 * 60)
            .ok_or_else(|| format!("{text:?}: type whole minutes, 0 to 1440"))?;
        self.still_asked()?;
        self.overlay = None;
        Ok(self.open_held(Some(minutes)))
    }

    pub(super) fn ask_label(&mut self) -> Effects {
        let fields = vec![Field::text("label", "label", "", "(01)…(17)…(10)…(21)…")];
        let intro = "Type what is printed under the code, with its brackets.";
        self.ask(Form::new(Purpose::TypeLabel, "The label, typed", &[intro], fields))
    }

    pub(super) fn accept_typed_label(&mut self, form: &Form) -> Outcome {
        let text = form.value("label");
        if text.is_empty() {
            return Err("Nothing is typed".into());
        }
        self.overlay = None;
        Ok(self.scanned(text.into_bytes(), true, Arrival::Typed))
    }

    fn ask_box(&mut self) -> Effects {
        let mut calls = vec!["no call".to_string()];
        calls.extend(
            self.world.waiting().iter().map(|call| format!("call {}: {}", call.number, call.words())),
        );
        let fields = vec![
            Field::text("name", "product", "", "what the front of the box says"),
            Field::text("size", "size", "", "as 3.0x29; empty for a box without a size"),
            Field::text("ref", "REF", "", ""),
            Field::text("lot", "LOT", "", ""),
            Field::text("serial", "SN", "", ""),
            Field::text("use-by", "use by", "", "YYYY-MM-DD"),
            Field::one_of("call", "for", calls, 0),
            Field::one_of("what", "the box is", vec!["opened".into(), "at hand, unopened".into()], 0),
        ];
        let intro = "No label can be read: type what the box says. Only the product is needed.";
        self.ask(Form::new(Purpose::TypeBox, "The box, typed", &[intro], fields))
    }

    pub(super) fn accept_typed_box(&mut self, form: &Form) -> Outcome {
        let some = |id: &str| Some(form.value(id)).filter(|text| !text.is_empty());
        let name = some("name").ok_or("Type what the front of the box says")?;
        let size = match some("size") {
            None => None,
            Some(text) => Some(
                units::size(&text).ok_or_else(|| format!("{text:?}: type diameter and length, as 3.0x29"))?,
            ),
        };
        let use_by = match some("use-by") {
            None => None,
            Some(text) => Some(
                text.parse::<NaiveDate>()
                    .map_err(|_| format!("{text:?} is no date: type it as 2027-02-28"))?,
            ),
        };
        let label = BoxRead {
            name,
            reference: some("ref"),
            diameter: size.map(|(diameter, _)| diameter),
            length: size.map(|(_, length)| length),
            lot: some("lot"),
            serial: some("serial"),
            use_by,
            ..BoxRead::default()
        };
        let waiting: Vec<u32> = self.world.waiting().iter().map(|call| call.number).collect();
        let call = form.chosen("call").checked_sub(1).and_then(|place| waiting.get(place).copied());
        let against = self.world.against_typed(&label).map(|back| back.big);
        if let Some(big) = &against
            && !form.refused.as_ref().is_some_and(|words| words.starts_with(big))
        {
            let key = self.key(ACCEPT);
            return Err(format!(
                "{big}: put it back. If it is opened all the same, {key} again writes it down"
            ));
        }
        let item = self.item_read(&label);
        let finding = against.unwrap_or_else(|| NO_LABEL_READ.into());
        let reason = Some("typed by hand".to_string());
        self.readback.held = None;
        Ok(if form.chosen("what") == 0 {
            let lesion = self.lesion_of_call(call).or(Some(self.lesion));
            self.screen = Screen::Opened;
            self.opened.shown = usize::MAX;
            self.write(vec![Fact::BoxOpened {
                item,
                call,
                lesion,
                label,
                finding,
                reason,
                minutes_ago: None,
            }])
        } else {
            self.write(vec![Fact::BoxAtHand { item, call, label, finding, reason }])
        })
    }
}
