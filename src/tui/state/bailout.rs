//! Bail-out: covered stents and where they lie. No verdicts, no typing.

use super::{Effect, State};
use crate::journal::{Readiness, Wanted};
use crate::measure::Kind;
use crate::shelf::BailOut;
use crate::tui::keys::Action;

impl State {
    /// What there is, and whether the guide in use takes it.
    pub fn bail_out(&self) -> Vec<BailOut> {
        self.world.shelf.bail_out(&self.world.catalogue, self.sizes.measured.guide, self.world.today())
    }

    pub(super) fn act_bailout(&mut self, action: Action) -> Vec<Effect> {
        let rows = self.bail_out();
        match action {
            Action::BailDown => self.bail_shown = (self.bail_shown + 1).min(rows.len().saturating_sub(1)),
            Action::BailUp => self.bail_shown = self.bail_shown.saturating_sub(1),
            Action::BailCall => {
                let Some(row) = rows.get(self.bail_shown) else {
                    self.heed("No covered stent is on the shelf".to_string());
                    return Vec::new();
                };
                let wanted = Wanted {
                    product: Some(row.product.clone()),
                    diameter: Some(row.diameter),
                    length: Some(row.length),
                    kind: Some(Kind::CoveredStent),
                    reference: Some(row.reference.clone()),
                };
                return self.call(wanted, Readiness::Asked);
            }
            _ => {}
        }
        Vec::new()
    }
}
