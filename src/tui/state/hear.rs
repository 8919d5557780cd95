//! What a scan is before it is a box: a command of the printed card, the second code of the same label, or a label
//! whose separator was lost and that only one reading explains.

use super::ask::Outcome;
use super::{Effect, Effects, Field, Form, Judged, Purpose, Screen, State, case_end, readback};
use crate::case::Item;
use crate::catalogue::Catalogue;
use crate::catalogue::enrol::Front;
use crate::journal::{Fact, Fate, Unused, same_text};
use crate::label::card::Command;
use crate::label::pair::{self, Supported, support};
use crate::label::{Label, Reading, Refusal};
use crate::measure::Kind;
use crate::shelf::Shelf;
use crate::udi::DeviceId;
use crate::units;
use chrono::Datelike;
use std::sync::Arc;

impl State {
    /// A command that was scanned from the card does what its key does, and is said back in words.
    pub(super) fn hear(&mut self, command: Result<Command, Refusal>) -> Effects {
        let command = match command {
            Ok(command) => command,
            Err(refusal) => return self.heed(refusal.message),
        };
        if self.rests() && matches!(command, Command::Opened | Command::PutBack | Command::SignOff) {
            return self.say_it_rests();
        }
        self.say(command.says());
        match command {
            Command::Opened => {
                self.go(Screen::ReadBack);
                self.act_readback(readback::OPENED)
            }
            Command::PutBack => {
                self.go(Screen::ReadBack);
                self.act_readback(readback::PUT_BACK)
            }
            Command::Dropped => self.settle_heard(Fate::OpenedNotUsed { why: Unused::Dropped }),
            Command::Used => self.settle_heard(Fate::Used),
            Command::BalloonUp => match self.item_heard().map(|item| item.number) {
                Some(item) => self.balloon_up(item),
                None => self.heed("No opened box: its balloon can't go up"),
            },
            Command::BalloonDown => match self.balloons_up().first().map(|(item, _)| *item) {
                Some(item) => self.balloon_down(item),
                None => self.heed("No balloon is up by the clock"),
            },
            Command::SignOff => self.sign_off_heard(),
        }
    }

    /// The box that a command means: the one under the cursor on Opened, else the last one without a fate.
    fn item_heard(&self) -> Option<&Item> {
        let shown = self.item_shown().filter(|_| self.screen == Screen::Opened);
        shown.or_else(|| self.world.opened().into_iter().rev().find(|item| item.fate.is_none()))
    }

    fn settle_heard(&mut self, fate: Fate) -> Effects {
        let Some(item) = self.item_heard() else {
            return self.heed("No opened box waits for its fate");
        };
        if fate == Fate::Used && item.label.kind.is_some_and(Kind::is_stent) {
            let words = item.words();
            return self
                .heed(format!("{words}: a stent is implanted or not used; say which with the fate key"));
        }
        let (item, lesion) = (item.number, item.lesions.last().copied());
        self.write_in_shown_case(vec![Fact::FateGiven { item, fate, lesion }])
    }

    /// With everything settled the card signs off; else the screen asks why, as the key does.
    fn sign_off_heard(&mut self) -> Effects {
        self.go(Screen::CaseEnd);
        match &self.world.case {
            Some(case) if case.signed.is_none() && case.unsettled().is_empty() => {
                self.write_in_shown_case(vec![Fact::SignedOff { unsettled: 0, why: None }])
            }
            _ => self.act_case_end(case_end::SIGN_OFF),
        }
    }

    /// The second code of a label whose first one is held: joined only when the standards tie the two together.
    pub(super) fn joined(&self, label: &Label) -> Option<Result<Label, Refusal>> {
        let held = self.readback.held.as_ref()?;
        let first = held.label.as_ref().ok()?;
        let lacks = |label: &Label| label.lot.is_none() && label.serial.is_none() && label.use_by.is_none();
        let halves =
            (lacks(first) && label.is_only_secondary()) || (first.is_only_secondary() && lacks(label));
        halves.then(|| pair::join(first, label))
    }

    /// The one reading of a label without its separator that catalogue, shelf and dates all support.
    pub(super) fn supported(&self, label: &Label) -> Option<Label> {
        let year = self.world.today().year();
        let (catalogue, shelf) = (&self.world.catalogue, &self.world.shelf);
        let known = |reading: &Reading| {
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

    /// A box that the catalogue does not know: its front is typed, and kept until somebody checks it.
    pub(super) fn ask_enrol(&mut self) -> Effects {
        if !self.held().as_ref().is_some_and(Judged::is_unknown) {
            return self.say("Only a box that no product file has is enrolled");
        }
        let kinds = Kind::NAMES.iter().map(|name| name.to_string()).collect();
        let fields = vec![
            Field::text("name", "product", "", "what the front of the box says"),
            Field::one_of("kind", "kind", kinds, 0),
            Field::text("size", "size", "", "as 3.0x29; empty for kind other"),
            Field::text("ref", "REF", "", ""),
        ];
        let intro =
            "It becomes a product file of this room, marked unverified: such a box says CHECK BY EYE.";
        self.ask(Form::new(Purpose::Enrol, "Enrol this box", &[intro], fields))
    }

    pub(super) fn accept_enrol(&mut self, form: &Form) -> Outcome {
        let Some(di) = self.held().and_then(|held| held.back.read.di) else {
            return Ok(Vec::new());
        };
        let name = form.value("name");
        if name.is_empty() {
            return Err("Type what the front of the box says".into());
        }
        let kind = Kind::ALL.get(form.chosen("kind")).copied().unwrap_or(Kind::Other);
        let text = form.value("size");
        let size = match (kind, text.is_empty()) {
            (Kind::Other, _) => None,
            (_, true) => return Err("Type the size that is printed on the box".into()),
            (_, false) => Some(
                units::size(&text).ok_or_else(|| format!("{text:?}: type diameter and length, as 3.0x29"))?,
            ),
        };
        Ok(vec![Effect::Enrol(Front { di, name, kind, size, reference: form.value("ref") })])
    }

    /// The catalogue has grown: the box that is held is read back again.
    pub(super) fn enrolled(&mut self, catalogue: Arc<Catalogue>) -> Effects {
        self.world.catalogue = catalogue;
        self.overlay = None;
        self.judge();
        if let Some(Ok(label)) = self.readback.held.as_ref().map(|held| held.label.clone()) {
            self.hold(label, "Kept as a product file, unverified: compare every field with the box");
        }
        Effects::new()
    }

    /// The lot of a doubtful label is read by eye and typed.
    pub(super) fn ask_lot(&mut self) -> Effects {
        let fields = vec![Field::text("lot", "LOT on the box", "", "as it is printed")];
        let intro = "The scanner dropped a separator. One reading agrees with the shelf: read the printed LOT, type it.";
        self.ask(Form::new(Purpose::ConfirmLot, "The lot, by eye", &[intro], fields))
    }

    pub(super) fn accept_lot(&mut self, form: &Form) -> Outcome {
        let typed = form.value("lot");
        let Some(label) = self.held().and_then(|held| held.doubtful) else {
            return Ok(Vec::new());
        };
        if !label.lot.as_deref().is_some_and(|lot| same_text(lot, &typed)) {
            return Err(format!("{typed:?} is not the lot of that reading: type the box, or put it back"));
        }
        let certain = Label { readings: Vec::new(), warnings: Vec::new(), ..label };
        self.overlay = None;
        self.hold(certain, "The lot was read by eye");
        Ok(Vec::new())
    }
}

fn on_shelf(shelf: &Shelf, di: &DeviceId, lot: Option<&str>, serial: Option<&str>) -> bool {
    shelf
        .pieces()
        .into_iter()
        .any(|piece| piece.di == *di && Some(piece.lot.as_str()) == lot && piece.serial.as_deref() == serial)
}
