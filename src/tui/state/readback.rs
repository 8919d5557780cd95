//! Read-back: a label that was scanned or typed, and what is done with its box.

use super::ask::Outcome;
use super::{Effect, Field, Form, Purpose, Screen, State};
use crate::case::readback::{self, Context, Headline, ReadBack, Scan};
use crate::case::{Item, Signal, label_words};
use crate::journal::{BoxRead, Fact};
use crate::label::{self, Arrival, Label, Raw, Refusal, Settings, card};
use crate::measure::Kind;
use crate::tui::keys::Action;
use crate::units;
use chrono::{Datelike, NaiveDate};

/// Where the Read-back screen stands.
#[derive(Debug, Clone, Default)]
pub struct AtReadBack {
    pub held: Option<Held>,
    /// Which of the boxes at hand is meant when no scan is held.
    pub at_hand: usize,
    /// This scanner has sent a separator: from now on a missing one means that there is none.
    pub(super) sends_separators: bool,
}

/// The box whose label was read last and about which nothing is decided yet.
#[derive(Debug, Clone)]
pub struct Held {
    pub back: ReadBack,
    /// None where the label was refused.
    pub(super) label: Option<Label>,
    raw: Raw,
    complete: bool,
    /// The one reading that the shelf supports, of a label whose separator was lost: its lot is to be read by eye.
    pub(super) doubtful: Option<Label>,
    /// What was wanted when the printed size had to be typed first.
    intent: Intent,
    /// The printed size was typed and disagrees with the catalogue.
    pub disagrees: Option<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Intent {
    Open { minutes_ago: Option<u32> },
    Keep,
}

impl Held {
    /// No product file has its identifier.
    pub(super) fn is_unknown(&self) -> bool {
        self.back.headline == Headline::NotKnown
    }

    /// What of it is large, here and on a second monitor.
    pub fn signal(&self) -> Signal {
        self.back.signal(self.disagrees.as_deref())
    }

    /// The call that the box is for: the oldest that it answers, else the one that it comes nearest to.
    fn call(&self) -> Option<u32> {
        self.back.matching.first().copied().or(self.back.nearest)
    }
}

impl State {
    /// A burst of characters, on whatever screen: a command of the card, or a label that goes to read-back. Its
    /// Enter confirms nothing.
    pub(super) fn scanned(&mut self, bytes: Vec<u8>, complete: bool, arrival: Arrival) -> Vec<Effect> {
        if let Some(command) = card::read(&bytes) {
            return self.hear(command);
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
        self.hold_scan(Scan { label, raw, complete }, words);
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

    /// Reads a label back and holds it until something is decided about its box.
    fn hold_scan(&mut self, mut scan: Scan, words: Option<String>) {
        let doubtful = scan.label.as_ref().ok().and_then(|label| self.supported(label));
        if let Some(one) = &doubtful {
            scan.label = Ok(one.clone());
        }
        let context = Context {
            catalogue: &self.world.catalogue,
            shelf: &*self.world.shelf,
            case: self.world.case.as_ref(),
            today: self.world.today(),
        };
        let mut back = readback::read_back(&scan, &context);
        if let Some(why) = self.world.shelf.unread() {
            back = back.without_shelf(format!("{why}: whether this lot is recalled is not known"));
        }
        let label = scan.label.ok();
        for reading in label.iter().flat_map(|label| &label.readings) {
            let fields: Vec<String> =
                reading.fields.iter().map(|(id, value)| format!("({id}){value}")).collect();
            back.notes.push(format!("could be {}", fields.join("")));
        }
        let before = self.readback.held.take();
        let same = before.as_ref().is_some_and(|held| held.back.read.is_same_piece(&back.read));
        let undecided = before.map(|held| held.back.read.name).filter(|name| !name.is_empty());
        match (words, same, undecided) {
            (Some(words), ..) => self.say(words),
            (None, true, _) => self.say("The same box again".to_string()),
            (None, false, Some(name)) => {
                self.heed(format!("Nothing was written about the box read before: {name}"))
            }
            (None, false, None) => self.say(format!("Read: {}", label_words(&back.read))),
        }
        let (raw, complete) = (scan.raw, scan.complete);
        self.readback.held =
            Some(Held { back, label, raw, complete, doubtful, intent: Intent::Keep, disagrees: None });
    }

    /// The shelf is known now: the label that is held is read back with it.
    pub(super) fn read_back_again(&mut self) {
        let Some(held) = self.readback.held.take() else { return };
        let label = match &held.label {
            Some(label) => label.clone(),
            // What was refused stays refused.
            None => return self.readback.held = Some(held),
        };
        let said = self.said.clone();
        self.hold_scan(
            Scan { label: Ok(label), raw: held.raw, complete: held.complete },
            Some(String::new()),
        );
        self.said = said;
        if let Some(now) = &mut self.readback.held {
            now.intent = held.intent;
            now.disagrees = held.disagrees;
        }
    }

    /// The label that is held, now certain.
    pub(super) fn hold(&mut self, label: Label, words: &str) {
        let Some((raw, complete)) = self.readback.held.take().map(|held| (held.raw, held.complete)) else {
            return;
        };
        self.hold_scan(Scan { label: Ok(label), raw, complete }, Some(words.to_string()));
    }

    /// The boxes that are in the room, unopened.
    fn at_hand(&self) -> Option<&Item> {
        self.world.at_hand().get(self.readback.at_hand).copied()
    }

    pub(super) fn act_readback(&mut self, action: Action) -> Vec<Effect> {
        let at_hand = self.world.at_hand().len();
        match action {
            Action::ReadOpened => return self.open_held(None),
            Action::ReadKeep => return self.keep_held(),
            Action::ReadPutBack => return self.put_back(),
            Action::ReadAnyway => self.ask_anyway(),
            Action::ReadEarlier => self.ask_minutes(),
            Action::ReadTypeLabel => self.ask_label(),
            Action::ReadTypeBox => self.ask_box(),
            Action::ReadEnrol => self.ask_enrol(),
            Action::ReadForget => {
                self.readback.held = None;
                self.say("Forgotten; nothing was written".to_string());
                self.back_to_first();
            }
            Action::ReadNext if at_hand > 0 => self.readback.at_hand = (self.readback.at_hand + 1) % at_hand,
            Action::ReadPrevious if at_hand > 0 => {
                self.readback.at_hand = (self.readback.at_hand + at_hand - 1) % at_hand
            }
            _ => {}
        }
        Vec::new()
    }

    /// Whether one key may write this box down: it is what was called, or nothing was called.
    pub(super) fn goes_by_one_key(&self, held: &Held) -> Result<(), String> {
        let headline = &held.back.headline;
        if held.disagrees.is_none() && !headline.needs_reason() {
            return Ok(());
        }
        Err(format!(
            "{}: {} goes on all the same, with a reason",
            held.back.big,
            self.key(Action::ReadAnyway)
        ))
    }

    fn open_held(&mut self, minutes_ago: Option<u32>) -> Vec<Effect> {
        let Some(held) = self.readback.held.clone() else { return self.open_at_hand() };
        if held.doubtful.is_some() {
            self.ask_lot();
            return Vec::new();
        }
        if let Err(why) = self.goes_by_one_key(&held) {
            self.heed(why);
            return Vec::new();
        }
        if self.asks_printed_size(Intent::Open { minutes_ago }) {
            return Vec::new();
        }
        self.write_opened(&held, held.back.read.clone(), None, minutes_ago, Vec::new())
    }

    fn open_at_hand(&mut self) -> Vec<Effect> {
        let Some(item) = self.at_hand().cloned() else {
            self.say("Scan the box first, or type its label".to_string());
            return Vec::new();
        };
        let fact = Fact::BoxOpened {
            item: item.number,
            call: item.call,
            lesion: self.lesion_of_call(item.call),
            label: item.label,
            finding: item.finding,
            reason: item.reason,
            minutes_ago: None,
        };
        self.screen = Screen::Opened;
        self.opened.shown = usize::MAX;
        self.write(vec![fact])
    }

    fn keep_held(&mut self) -> Vec<Effect> {
        let Some(held) = self.readback.held.clone() else {
            self.say("Scan the box first, or type its label".to_string());
            return Vec::new();
        };
        if let Err(why) = self.goes_by_one_key(&held) {
            self.heed(why);
            return Vec::new();
        }
        if self.asks_printed_size(Intent::Keep) {
            return Vec::new();
        }
        self.write_at_hand(&held, held.back.read.clone(), None, Vec::new())
    }

    fn put_back(&mut self) -> Vec<Effect> {
        if let Some(held) = self.readback.held.take() {
            let item = self.item_of(&held.back.read);
            let finding = held.back.big.clone();
            self.screen = Screen::Fetch;
            return self.write(vec![Fact::BoxPutBack { item, label: held.back.read, finding }]);
        }
        let Some(item) = self.at_hand().cloned() else {
            self.say("There is no box to put back".to_string());
            return Vec::new();
        };
        self.write(vec![Fact::BoxPutBack { item: item.number, label: item.label, finding: item.finding }])
    }

    /// A box at hand that is scanned again keeps its number; a second one of its lot, by the read-back, gets its own.
    fn item_of(&self, read: &BoxRead) -> u32 {
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
        held: &Held,
        label: BoxRead,
        reason: Option<String>,
        minutes_ago: Option<u32>,
        mut facts: Vec<Fact>,
    ) -> Vec<Effect> {
        let call = held.call();
        facts.push(Fact::BoxOpened {
            item: self.item_of(&label),
            call,
            lesion: self.lesion_of_call(call).or(Some(self.lesion)),
            label,
            finding: held.back.big.clone(),
            reason,
            minutes_ago,
        });
        self.readback.held = None;
        self.screen = Screen::Opened;
        // The newest stands last; the cursor is brought back onto it when it is on disk.
        self.opened.shown = usize::MAX;
        self.write(facts)
    }

    fn write_at_hand(
        &mut self,
        held: &Held,
        label: BoxRead,
        reason: Option<String>,
        mut facts: Vec<Fact>,
    ) -> Vec<Effect> {
        facts.push(Fact::BoxAtHand {
            item: self.item_of(&label),
            call: held.call(),
            label,
            finding: held.back.big.clone(),
            reason,
        });
        self.readback.held = None;
        self.readback.at_hand = usize::MAX;
        self.write(facts)
    }

    /// The first box of an identifier in this room, and every box that says CHECK BY EYE, has its printed size
    /// typed; a covered stent never waits for typing.
    fn asks_printed_size(&mut self, intent: Intent) -> bool {
        let Some(held) = &mut self.readback.held else { return false };
        let by_eye = held.back.headline.needs_eyes();
        let has_size = held.back.read.diameter.is_some();
        let covered = held.back.read.kind == Some(Kind::CoveredStent);
        if !has_size || covered || !(by_eye || held.back.needs_printed_size) {
            return false;
        }
        held.intent = intent;
        let intro = if by_eye {
            "CHECK BY EYE: read the size that is printed on the box aloud, and type it."
        } else {
            "The first box of this identifier in this room: read its printed size aloud, and type it."
        };
        let fields = vec![Field::text("size", "size on the box", "", "as 3.0x28")];
        self.ask(Form::new(Purpose::PrintedSize, "The size printed on the box", &[intro], fields));
        true
    }

    pub(super) fn accept_printed_size(&mut self, form: &Form) -> Outcome {
        let Some(held) = self.readback.held.clone() else { return Ok(Vec::new()) };
        let text = form.value("size");
        let (diameter, length) =
            units::size(&text).ok_or_else(|| format!("{text:?}: type diameter and length, as 3.0x28"))?;
        let Some(di) = held.back.read.di.clone() else { return Ok(Vec::new()) };
        let catalogue = (held.back.read.diameter, held.back.read.length);
        let agrees = catalogue.0.is_some_and(|d| units::same(d.mm(), diameter.mm()))
            && catalogue.1.is_some_and(|l| units::same(l.mm(), length.mm()));
        let typed = Fact::PrintedSizeTyped { di, diameter: Some(diameter), length, agrees };
        if agrees {
            let label = held.back.read.clone();
            return Ok(match held.intent {
                Intent::Open { minutes_ago } => {
                    self.write_opened(&held, label, None, minutes_ago, vec![typed])
                }
                Intent::Keep => self.write_at_hand(&held, label, None, vec![typed]),
            });
        }
        let by_catalogue = match catalogue {
            (Some(d), Some(l)) => format!("{d} × {l}"),
            _ => "no size".into(),
        };
        let words = format!("The box says {diameter} × {length}, the catalogue says {by_catalogue}");
        if let Some(held) = &mut self.readback.held {
            held.disagrees = Some(words.clone());
        }
        self.overlay = None;
        let effects = self.write(vec![typed]);
        self.heed(words);
        Ok(effects)
    }

    fn ask_anyway(&mut self) {
        let Some(held) = &self.readback.held else {
            self.say("Scan the box first, or type its label".to_string());
            return;
        };
        let intro = format!(
            "{}. Type what the box says and why it goes on; {} and then {} puts it back instead.",
            held.back.big,
            self.key(Action::FormAbandon),
            self.key(Action::ReadPutBack)
        );
        let fields = vec![
            Field::text("size", "size on the box", "", "as 3.0x28; empty for a box without a size"),
            Field::text("reason", "reason", "", "as: operator accepts; nothing else on the shelf"),
            Field::one_of("what", "the box is", vec!["opened".into(), "at hand, unopened".into()], 0),
        ];
        self.ask(Form::new(Purpose::Anyway, "Going on all the same", &[&intro], fields));
    }

    pub(super) fn accept_anyway(&mut self, form: &Form) -> Outcome {
        let Some(held) = self.readback.held.clone() else { return Ok(Vec::new()) };
        let reason = form.value("reason");
        if reason.is_empty() {
            return Err("Type a reason: it stands in the record".into());
        }
        let text = form.value("size");
        let mut label = held.back.read.clone();
        if text.is_empty() {
            if label.diameter.is_some() {
                return Err("Type the size that is printed on the box".into());
            }
        } else {
            let (diameter, length) =
                units::size(&text).ok_or_else(|| format!("{text:?}: type diameter and length, as 3.0x28"))?;
            (label.diameter, label.length) = (Some(diameter), Some(length));
        }
        Ok(if form.chosen("what") == 0 {
            self.write_opened(&held, label, Some(reason), None, Vec::new())
        } else {
            self.write_at_hand(&held, label, Some(reason), Vec::new())
        })
    }

    fn ask_minutes(&mut self) {
        if self.readback.held.is_none() {
            self.say("Scan the box first, or type its label".to_string());
            return;
        }
        let fields = vec![Field::text("minutes", "minutes ago", "", "whole minutes")];
        self.ask(Form::new(Purpose::MinutesAgo, "It was opened some minutes ago", &[], fields));
    }

    pub(super) fn accept_minutes_ago(&mut self, form: &Form) -> Outcome {
        let text = form.value("minutes");
        let minutes = text
            .parse::<u32>()
            .ok()
            .filter(|minutes| *minutes <= 24 * 60)
            .ok_or_else(|| format!("{text:?}: type whole minutes, 0 to 1440"))?;
        self.overlay = None;
        Ok(self.open_held(Some(minutes)))
    }

    pub(super) fn ask_label(&mut self) {
        let fields = vec![Field::text("label", "label", "", "(01)…(17)…(10)…(21)…")];
        let intro = "Type what is printed under the code, with its brackets.";
        self.ask(Form::new(Purpose::TypeLabel, "The label, typed", &[intro], fields));
    }

    pub(super) fn accept_typed_label(&mut self, form: &Form) -> Outcome {
        let text = form.value("label");
        if text.is_empty() {
            return Err("Nothing is typed".into());
        }
        self.overlay = None;
        Ok(self.scanned(text.into_bytes(), true, Arrival::Typed))
    }

    fn ask_box(&mut self) {
        let mut calls = vec!["no call".to_string()];
        calls.extend(
            self.world.waiting().iter().map(|call| format!("call {}: {}", call.number, call.words())),
        );
        let fields = vec![
            Field::text("name", "product", "", "what the front of the box says"),
            Field::text("size", "size", "", "as 3.0x28; empty for a box without a size"),
            Field::text("ref", "REF", "", ""),
            Field::text("lot", "LOT", "", ""),
            Field::text("serial", "SN", "", ""),
            Field::text("use-by", "use by", "", "YYYY-MM-DD"),
            Field::one_of("call", "for", calls, 0),
            Field::one_of("what", "the box is", vec!["opened".into(), "at hand, unopened".into()], 0),
        ];
        let intro = "No label can be read: type what the box says. Only the product is needed.";
        self.ask(Form::new(Purpose::TypeBox, "The box, typed", &[intro], fields));
    }

    pub(super) fn accept_typed_box(&mut self, form: &Form) -> Outcome {
        let some = |id: &str| Some(form.value(id)).filter(|text| !text.is_empty());
        let name = some("name").ok_or("Type what the front of the box says")?;
        let size = match some("size") {
            None => None,
            Some(text) => Some(
                units::size(&text).ok_or_else(|| format!("{text:?}: type diameter and length, as 3.0x28"))?,
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
        let item = self.item_of(&label);
        let (finding, reason) = ("NO LABEL READ".to_string(), Some("typed by hand".to_string()));
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
