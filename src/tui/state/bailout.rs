//! Bail-out: covered stents and where they lie. No verdicts, no typing.

use super::{Effect, State};
use crate::journal::{Readiness, Wanted};
use crate::measure::Kind;
use crate::shelf::{BailOut, Item};
use crate::tui::keys::Action;

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

    pub(super) fn act_bailout(&mut self, action: Action) -> Vec<Effect> {
        let rows = self.bail_out();
        let count = rows.len();
        match action {
            Action::BailDown => self.bail_shown = (self.bail_shown + 1).min(count.saturating_sub(1)),
            Action::BailUp => self.bail_shown = self.bail_shown.saturating_sub(1),
            Action::BailCall => {
                let Some(size) = rows.get(self.bail_shown).map(|row| row.size.clone()) else {
                    let unread = self.world.shelf.unread();
                    self.heed(
                        unread.unwrap_or_else(|| "No covered stent in date is on the shelf".to_string()),
                    );
                    return Vec::new();
                };
                let wanted = Wanted {
                    product: Some(size.product),
                    name: None,
                    diameter: size.diameter,
                    length: size.length,
                    kind: Some(Kind::CoveredStent),
                    reference: Some(size.reference),
                };
                return self.call(wanted, Readiness::Asked);
            }
            _ => {}
        }
        Vec::new()
    }
}
