//! Fetch: the calls that wait, one of them large.

use super::{EVERYWHERE, Effects, Front, List, State};
use crate::case::Call;
use crate::journal::{Fact, Readiness};
use crate::shelf::FetchCard;
use crate::tui::keys::{Action, DOWN, Letters, Place, UP};

pub const CANCEL: Action = Action::destroying("fetch-cancel", &["Delete", "Backspace"]);
pub const READY: Action = Action::new("fetch-ready", &["h"]);
pub const USE_OPEN: Action = Action::new("fetch-use-open", &["a"]);

pub static PLACE: Place = Place::new(
    "Fetch",
    Letters::Shared,
    &[
        DOWN.row("next call", "show the next call large"),
        UP.row("", "show the call before large"),
        CANCEL.row("cancel", "cancel the call that is shown large"),
        READY.row("ask / have ready", "asked for now, or only have it ready"),
        USE_OPEN.row("use the open one", "use the balloon that is open already for the call shown large"),
    ],
)
.within(&EVERYWHERE);

pub const FRONT: Front = Front {
    list: |state| {
        let count = state.world.waiting().len();
        Some(List::new(&mut state.fetch_shown, count).round())
    },
    offers: |state, action| match action {
        DOWN => state.world.waiting().len() > 1,
        CANCEL | READY => !state.world.waiting().is_empty(),
        USE_OPEN => state.card().is_some_and(|card| card.open_already.is_some()),
        _ => true,
    },
    ..Front::new(&PLACE, State::act_fetch)
};

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
    fn use_open_balloon(&mut self) -> Effects {
        let Some((item, call)) = self.card().and_then(|card| Some((card.open_already?, card.call))) else {
            return self.say("No open balloon answers this call");
        };
        let lesion = self.call_shown().and_then(|call| call.lesion).unwrap_or(self.lesion);
        self.write(vec![Fact::UsedAgain { item, lesion, call: Some(call) }])
    }

    fn act_fetch(&mut self, action: Action) -> Effects {
        if action == USE_OPEN {
            return self.use_open_balloon();
        }
        let Some((call, readiness)) = self.call_shown().map(|call| (call.number, call.readiness)) else {
            return self.say("No call is waiting");
        };
        self.write(vec![match (action, readiness) {
            (CANCEL, _) => Fact::CallCancelled { call },
            (_, Readiness::Asked) => Fact::ReadinessChanged { call, readiness: Readiness::HaveReady },
            (_, Readiness::HaveReady) => Fact::ReadinessChanged { call, readiness: Readiness::Asked },
        }])
    }
}
