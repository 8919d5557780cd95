//! Bail-out: covered stents and where they lie. No verdicts, no typing.

use super::{EVERYWHERE, Effects, Front, List, State};
use crate::journal::{Readiness, Wanted};
use crate::measure::Kind;
use crate::shelf::{BailOut, Item};
use crate::tui::keys::{ACCEPT, Action, CLOSE, DOWN, Letters, Place, UP};

pub static PLACE: Place = Place::new(
    "Bail-out",
    Letters::Shared,
    &[
        DOWN.row("", "the next covered stent"),
        UP.row("", "the one before"),
        ACCEPT.row("call", "call the one under the cursor"),
        CLOSE.row("back", "back to the screen before"),
    ],
)
.within(&EVERYWHERE);

pub const FRONT: Front = Front {
    list: |state| {
        let count = state.bail_out().len();
        Some(List::new(&mut state.bail_shown, count))
    },
    ..Front::new(&PLACE, State::act_bailout)
};

impl State {
    /// What there is, and whether the guide in use takes it.
    pub fn bail_out(&self) -> Vec<BailOut<'_>> {
        self.world.shelf.bail_out(&self.world.catalogue, self.sizes.measured.guide, self.world.today())
    }

    /// What else the room wants there, such as coils and a drainage set, each with how many it wants.
    pub fn bail_out_sundries(&self) -> Vec<Item> {
        let world = &self.world;
        match world.shelf.unread() {
            Some(_) => Vec::new(),
            None => world.shelf.sundries(&world.catalogue, &world.policy, world.today()),
        }
    }

    fn act_bailout(&mut self, action: Action) -> Effects {
        if action != ACCEPT {
            return self.act_visited(action);
        }
        let Some(size) = self.bail_out().get(self.bail_shown).map(|row| row.size.clone()) else {
            let unread = self.world.shelf.unread();
            return self.heed(unread.unwrap_or_else(|| "No covered stent in date is on the shelf".into()));
        };
        let wanted = Wanted {
            product: Some(size.product),
            name: None,
            diameter: size.diameter,
            length: size.length,
            kind: Some(Kind::CoveredStent),
            reference: Some(size.reference),
        };
        self.call(wanted, Readiness::Asked)
    }
}
