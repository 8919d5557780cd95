//! Case end: what is unsettled first, then sign-off and the record.

use super::ask::Outcome;
use super::{Effect, Field, Form, PAGE, Purpose, Screen, State};
use crate::case::Case;
use crate::journal::{CaseCode, Fact};
use crate::report;
use crate::tui::keys::Action;

/// Where the Case end screen stands.
#[derive(Debug, Clone, Default)]
pub struct AtCaseEnd {
    pub scroll: usize,
    /// Nothing was pressed since it was opened but what scrolls it.
    pub(super) fresh: bool,
    /// The last record that was written: of which case, and the page for people.
    pub(super) record: Option<(CaseCode, String)>,
}

/// Columns of the smallest screen.
const NARROWEST: usize = 76;

impl State {
    /// Where the record of the case that is shown was written, if it was.
    pub fn record_place(&self) -> Option<&str> {
        let case = self.world.case.as_ref()?;
        let (code, place) = self.end.record.as_ref()?;
        (*code == case.code).then_some(place.as_str())
    }

    /// The place is said once: on Case end it stands in the page.
    pub(super) fn record_written(&mut self, code: CaseCode, place: String) {
        self.end.record = Some((code.clone(), place.clone()));
        let on_page = self.screen == Screen::CaseEnd && self.record_place().is_some();
        self.say(match on_page {
            true => format!("The record of case {code} is written"),
            false => format!("The record of case {code} is in {place}"),
        });
    }

    pub(super) fn act_case_end(&mut self, action: Action) -> Vec<Effect> {
        match action {
            Action::EndDown => self.scroll_end(1),
            Action::EndUp => self.end.scroll = self.end.scroll.saturating_sub(1),
            Action::EndPageDown => self.scroll_end(PAGE),
            Action::EndPageUp => self.end.scroll = self.end.scroll.saturating_sub(PAGE),
            Action::SignNow if self.signs_at_once() => {
                self.end.fresh = false;
                self.end.scroll = 0;
                return self.write_in_shown_case(vec![Fact::SignedOff { unsettled: 0, why: None }]);
            }
            Action::SignNow => {
                let (key, alone) = (self.key(Action::SignOff), self.key(Action::SignNow));
                self.say(format!(
                    "{key} signs off: {alone} alone does it only of a settled case, straight after it was opened"
                ));
            }
            Action::SignOff => self.ask_sign_off(),
            Action::WriteRecord => match &self.world.case {
                Some(case) => return vec![Effect::Record(case.code.clone())],
                None => self.say("There is no case to write a record of".to_string()),
            },
            _ => {}
        }
        Vec::new()
    }

    /// Not far past the end, or the way back up would seem dead. How much a screen shows is the view's business, so
    /// this counts the lines themselves.
    fn scroll_end(&mut self, by: usize) {
        let Some(case) = &self.world.case else { return };
        let told = report::told(case, &self.world.policy.currency, NARROWEST);
        let parts = told.lesions.iter().chain([&told.drawn, &told.time_line, &told.wasted]);
        let most: usize = case.unsettled().len() + parts.map(|part| part.lines.len() + 2).sum::<usize>();
        self.end.scroll = (self.end.scroll + by).min(most);
    }

    /// Everything is settled, nobody has signed, and this screen was opened by the key before: Enter signs off.
    pub fn signs_at_once(&self) -> bool {
        let settled = |case: &Case| case.signed.is_none() && case.unsettled().is_empty();
        self.end.fresh && self.screen == Screen::CaseEnd && self.world.case.as_ref().is_some_and(settled)
    }

    fn ask_sign_off(&mut self) {
        let Some(case) = &self.world.case else {
            self.say("There is no case to sign off".to_string());
            return;
        };
        if case.is_closed() {
            self.say(format!("Case {} is signed off", case.code));
            return;
        }
        let unsettled = case.unsettled().len();
        let title = format!("Sign off case {}", case.code);
        if unsettled == 0 {
            let intro = format!("Everything is settled. {} signs off.", self.key(Action::FormAccept));
            self.ask(Form::new(Purpose::SignOff, title, &[&intro], Vec::new()));
        } else {
            let intro = format!(
                "{unsettled} unsettled. Say why it is signed all the same, or {} and settle first.",
                self.key(Action::FormAbandon)
            );
            let fields = vec![Field::text("why", "why", "", "as: the next patient is coming")];
            self.ask(Form::new(Purpose::SignOff, title, &[&intro], fields));
        }
    }

    pub(super) fn accept_sign_off(&mut self, form: &Form) -> Outcome {
        let Some(case) = &self.world.case else { return Ok(Vec::new()) };
        let unsettled = case.unsettled().len();
        let why = Some(form.value("why")).filter(|why| !why.is_empty());
        if unsettled > 0 && why.is_none() {
            return Err(format!("{unsettled} unsettled: say why it is signed all the same"));
        }
        self.end.scroll = 0;
        let unsettled = u32::try_from(unsettled).unwrap_or(u32::MAX);
        Ok(self.write_in_shown_case(vec![Fact::SignedOff { unsettled, why }]))
    }
}
