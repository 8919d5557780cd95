//! Case end: what is unsettled first, then sign-off and the record.

use super::ask::Outcome;
use super::{Effect, Field, Form, Purpose, State};
use crate::journal::Fact;
use crate::tui::keys::Action;

impl State {
    pub(super) fn act_case_end(&mut self, action: Action) -> Vec<Effect> {
        match action {
            Action::EndDown => self.end_scroll += 1,
            Action::EndUp => self.end_scroll = self.end_scroll.saturating_sub(1),
            Action::SignOff => self.ask_sign_off(),
            Action::WriteRecord => match &self.world.case {
                Some(case) => return vec![Effect::Record(case.code.clone())],
                None => self.say("There is no case to write a record of".to_string()),
            },
            _ => {}
        }
        Vec::new()
    }

    fn ask_sign_off(&mut self) {
        let Some(case) = &self.world.case else {
            self.say("There is no case to sign off".to_string());
            return;
        };
        if case.signed.is_some() && case.unsettled().is_empty() {
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
        let unsettled = u32::try_from(unsettled).unwrap_or(u32::MAX);
        Ok(self.write_in_shown_case(vec![Fact::SignedOff { unsettled, why }]))
    }
}
