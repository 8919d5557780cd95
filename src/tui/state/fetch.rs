//! Fetch: the calls that wait, one of them large.

use super::{Effect, State};
use crate::case::Call;
use crate::journal::{Fact, Readiness};
use crate::shelf::FetchCard;
use crate::tui::keys::Action;

impl State {
    /// The call that is shown large.
    pub fn call_shown(&self) -> Option<&Call> {
        self.world.waiting().get(self.fetch_shown).copied()
    }

    /// What is to be brought for the call that is shown large.
    pub fn card(&self) -> Option<FetchCard> {
        let call = self.call_shown()?;
        let case = self.world.case.as_ref()?;
        let card = self.world.shelf.card(call, case, &self.world.catalogue, self.world.today());
        Some(FetchCard { unread: self.world.shelf.unread(), ..card })
    }

    /// The balloon on the table answers the call: no new box is opened.
    fn use_open_balloon(&mut self) -> Vec<Effect> {
        let Some((item, call)) = self.card().and_then(|card| Some((card.open_already?, card.call))) else {
            self.say("No open balloon answers this call".to_string());
            return Vec::new();
        };
        let lesion = self.call_shown().and_then(|call| call.lesion).unwrap_or(self.lesion);
        self.write(vec![Fact::UsedAgain { item, lesion, call: Some(call) }])
    }

    pub(super) fn act_fetch(&mut self, action: Action) -> Vec<Effect> {
        let count = self.world.waiting().len();
        match action {
            Action::FetchNext if count > 0 => self.fetch_shown = (self.fetch_shown + 1) % count,
            Action::FetchPrevious if count > 0 => self.fetch_shown = (self.fetch_shown + count - 1) % count,
            Action::FetchUseOpen => return self.use_open_balloon(),
            Action::FetchCancel | Action::FetchReady => {
                let Some((call, readiness)) = self.call_shown().map(|call| (call.number, call.readiness))
                else {
                    self.say("No call is waiting".to_string());
                    return Vec::new();
                };
                let fact = if action == Action::FetchCancel {
                    Fact::CallCancelled { call }
                } else {
                    let readiness = match readiness {
                        Readiness::Asked => Readiness::HaveReady,
                        Readiness::HaveReady => Readiness::Asked,
                    };
                    Fact::ReadinessChanged { call, readiness }
                };
                return self.write(vec![fact]);
            }
            _ => {}
        }
        Vec::new()
    }
}
