//! A scan, on whatever screen: a command of the printed card, or a label that is counted or read back.

use super::{State, case_end, first, opened, readback};
use crate::case::Item;
use crate::journal::{Fact, Fate, Unused};
use crate::label::card::Command;
use crate::label::{Arrival, Raw, Refusal, card};
use crate::measure::Kind;
use crate::shelf::scan_of;
use crate::tui::keys::Action;
use crate::tui::model::{Effect, Effects, Held, Screen};
use crate::tui::screens::shelf::tally;

impl State {
    /// What takes a scan: what is open for it alone, else its command or its label.
    pub(super) fn scan_arrived(&mut self, bytes: Vec<u8>, complete: bool, arrival: Arrival) -> Vec<Effect> {
        let effects = first::notes_scanner(self, &bytes, arrival);
        let mut effects = self.carry_out(effects);
        let taken = match &mut self.overlay {
            Some(overlay) => overlay.scanned(&self.session, &bytes, complete, arrival),
            None => false,
        };
        if !taken {
            self.left_first_steps |= self.screen() == Screen::FirstSteps;
            effects.extend(self.scanned(bytes, complete, arrival));
        }
        effects
    }

    /// What an action of the screen in front does, whatever is over it.
    fn act_on_screen(&mut self, action: Action) -> Effects {
        let screen = self.session.screen();
        self.screens.get_mut(screen).act(&mut self.session, action)
    }

    fn refuse(&mut self, why: impl Into<String>) -> Vec<Effect> {
        self.say(why);
        Vec::new()
    }

    /// A burst of characters, on whatever screen: a command of the card, or a label that goes to read-back. Its
    /// Enter confirms nothing.
    pub(super) fn scanned(&mut self, bytes: Vec<u8>, complete: bool, arrival: Arrival) -> Vec<Effect> {
        if let Some(command) = card::read(&bytes) {
            let effects = self.run_command(command);
            let effects = self.carry_out(effects);
            self.rest_here();
            return effects;
        }
        let mut label = self.read_label(&bytes);
        if tally::takes_scans(self) {
            self.overlay = None;
            tally::count_scan(self, label, complete);
            return Vec::new();
        }
        self.go(Screen::ReadBack);
        self.overlay = None;
        let mut raw = Raw::new(&bytes, arrival);
        let mut words = None;
        match label.as_ref().ok().and_then(|label| self.joined(label)) {
            Some(Ok(whole)) => {
                let first = self.findings.held.take().map(|held| held.raw.hex).unwrap_or_default();
                raw.hex = format!("{first}0d{}", raw.hex);
                words = Some(format!("Two codes of one label: {}", whole.human_readable()));
                label = Ok(whole);
            }
            Some(Err(refusal)) => words = Some(refusal.message),
            None => {}
        }
        self.hold_scan(Held { label, raw, complete }, words);
        self.rest_here();
        tally::warn_not_counted(self);
        Vec::new()
    }

    /// A command that was scanned from the card does what its key does, and is said back in words.
    fn run_command(&mut self, command: Result<Command, Refusal>) -> Effects {
        let command = match command {
            Ok(command) => command,
            Err(refusal) => return self.warn(refusal.message),
        };
        if self.rests() && matches!(command, Command::Opened | Command::PutBack | Command::SignOff) {
            return self.warn_resting();
        }
        self.say(command.says());
        match command {
            Command::Opened => {
                self.go(Screen::ReadBack);
                self.act_on_screen(readback::OPENED)
            }
            Command::PutBack => {
                self.go(Screen::ReadBack);
                self.act_on_screen(readback::PUT_BACK)
            }
            Command::Dropped => self.settle(Fate::OpenedNotUsed { why: Unused::Dropped }),
            Command::Used => self.settle(Fate::Used),
            Command::BalloonUp => match self.item_meant().map(|item| item.number) {
                Some(item) => self.balloon_up(item),
                None => self.warn("No opened box: its balloon can't go up"),
            },
            Command::BalloonDown => match self.balloons_up().first().map(|(item, _)| *item) {
                Some(item) => opened::balloon_down(self, item),
                None => self.warn("No balloon is up by the clock"),
            },
            Command::SignOff => self.sign_off(),
        }
    }

    /// The box that a command means: the one under the cursor on Opened, else the last one without a fate.
    fn item_meant(&self) -> Option<&Item> {
        let shown = self.screens.opened.item_shown(self).filter(|_| self.screen() == Screen::Opened);
        shown.or_else(|| self.world.opened().into_iter().rev().find(|item| item.fate.is_none()))
    }

    fn settle(&mut self, fate: Fate) -> Effects {
        let Some(item) = self.item_meant() else {
            return self.warn("No opened box waits for its fate");
        };
        if fate == Fate::Used && item.label.kind.is_some_and(Kind::is_stent) {
            let words = item.words();
            return self
                .warn(format!("{words}: a stent is implanted or not used; say which with the fate key"));
        }
        let (item, lesion) = (item.number, item.lesions.last().copied());
        self.write_in_shown_case(vec![Fact::FateGiven { item, fate, lesion }])
    }

    /// With everything settled the card signs off; else the screen asks why, as the key does.
    fn sign_off(&mut self) -> Effects {
        self.go(Screen::CaseEnd);
        match &self.world.case {
            Some(case) if case.signed.is_none() && case.unsettled().is_empty() => {
                self.write_in_shown_case(vec![Fact::SignedOff { unsettled: 0, why: None }])
            }
            _ => self.act_on_screen(case_end::SIGN_OFF),
        }
    }

    /// The box that the call shown large asks for, or (`wrong`) one that lies beside it and is another.
    pub(super) fn practise(&mut self, wrong: bool) -> Vec<Effect> {
        if !self.world.demo {
            return self.refuse("Practice scans are for the demo room: boxcall demo");
        }
        if let Some(why) = self.world.shelf.unread() {
            return self.refuse(why);
        }
        let piece = self.card().and_then(|card| card.bring).map(|bring| bring.piece);
        let Some(piece) = piece else {
            return self
                .refuse("Call a size that is on the shelf first: then its box can be scanned for practice");
        };
        let shelf = &self.world.shelf;
        let piece = if wrong { shelf.beside(&piece, self.world.today()).cloned() } else { Some(piece) };
        match piece {
            Some(piece) => self.scanned(scan_of(&piece), true, Arrival::Scanned),
            None => Vec::new(),
        }
    }
}
