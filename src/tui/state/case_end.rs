//! Case end: what is unsettled first, then sign-off and the record.

use super::ask::Outcome;
use super::{EVERYWHERE, Effect, Effects, Field, Form, Front, List, PAGE, Purpose, Screen, State};
use crate::case::Case;
use crate::journal::{CaseCode, Fact};
use crate::report;
use crate::tui::keys::*;

pub const SIGN_OFF: Action = Action::needed("sign-off", &["s"]);
pub const WRITE_RECORD: Action = Action::new("write-record", &["w"]);

pub static PLACE: Place = Place::new(
    "Case end",
    Letters::Shared,
    &[
        ACCEPT.row("", "sign a settled case off, straight after this screen was opened"),
        SIGN_OFF.row("sign off", "sign the case off; with something unsettled it asks why"),
        WRITE_RECORD.row("write record", "write the record into the room's folder now"),
        DOWN.row("", "further down"),
        UP.row("", "further up"),
        PAGE_DOWN.row("further", "a page further down"),
        PAGE_UP.row("", "a page further up"),
    ],
)
.within(&EVERYWHERE);

pub const FRONT: Front = Front {
    list: |state| {
        // Not far past the end, or the way back up would seem dead. How much a screen shows is the view's business,
        // so this counts the lines themselves.
        let case = state.world.case.as_ref()?;
        let told = report::told(case, &state.world.policy.currency, NARROWEST);
        let parts = told.lesions.iter().chain([&told.drawn, &told.time_line, &told.wasted]);
        let most = case.unsettled().len() + parts.map(|part| part.lines.len() + 2).sum::<usize>();
        Some(List::new(&mut state.end.scroll, most + 1).paged(PAGE))
    },
    offers: |state, action| match action {
        SIGN_OFF => state.world.case.as_ref().is_some_and(|case| !case.is_closed()),
        WRITE_RECORD => state.world.case.is_some(),
        _ => true,
    },
    ..Front::new(&PLACE, State::act_case_end)
};

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
    pub(super) fn record_written(&mut self, code: CaseCode, place: String) -> Effects {
        self.end.record = Some((code.clone(), place.clone()));
        let on_page = self.screen == Screen::CaseEnd && self.record_place().is_some();
        self.say(match on_page {
            true => format!("The record of case {code} is written"),
            false => format!("The record of case {code} is in {place}"),
        })
    }

    pub(super) fn act_case_end(&mut self, action: Action) -> Effects {
        match (action, &self.world.case) {
            (ACCEPT, _) if self.signs_at_once() => {
                self.end.fresh = false;
                self.end.scroll = 0;
                self.write_in_shown_case(vec![Fact::SignedOff { unsettled: 0, why: None }])
            }
            (ACCEPT, _) => {
                let (key, alone) = (self.key(SIGN_OFF), self.key(ACCEPT));
                self.say(format!(
                    "{key} signs off: {alone} alone does it only of a settled case, straight after it was opened"
                ))
            }
            (SIGN_OFF, _) => self.ask_sign_off(),
            (WRITE_RECORD, Some(case)) => vec![Effect::Record(case.code.clone())],
            (WRITE_RECORD, None) => self.say("There is no case to write a record of"),
            _ => Effects::new(),
        }
    }

    /// Everything is settled, nobody has signed, and this screen was opened by the key before: Enter signs off.
    pub fn signs_at_once(&self) -> bool {
        let settled = |case: &Case| case.signed.is_none() && case.unsettled().is_empty();
        self.end.fresh && self.screen == Screen::CaseEnd && self.world.case.as_ref().is_some_and(settled)
    }

    fn ask_sign_off(&mut self) -> Effects {
        let Some(case) = &self.world.case else { return self.say("There is no case to sign off") };
        if case.is_closed() {
            return self.say(format!("Case {} is signed off", case.code));
        }
        let unsettled = case.unsettled().len();
        let title = format!("Sign off case {}", case.code);
        if unsettled == 0 {
            let intro = format!("Everything is settled. {} signs off.", self.key(ACCEPT));
            self.ask(Form::new(Purpose::SignOff, title, &[&intro], Vec::new()))
        } else {
            let intro = format!(
                "{unsettled} unsettled. Say why it is signed all the same, or {} and settle first.",
                self.key(CLOSE)
            );
            let fields = vec![Field::text("why", "why", "", "as: the next patient is coming")];
            self.ask(Form::new(Purpose::SignOff, title, &[&intro], fields))
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
