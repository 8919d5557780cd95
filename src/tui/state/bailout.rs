//! Bail-out: covered stents and where they lie. No verdicts, no typing.

use super::{Effect, State};
use crate::journal::{Readiness, Wanted};
use crate::measure::Kind;
use crate::shelf::BailOut;
use crate::tui::keys::Action;

impl State {
    /// What there is, and whether the guide in use takes it.
    pub fn bail_out(&self) -> Vec<BailOut<'_>> {
        self.world.shelf.bail_out(&self.world.catalogue, self.sizes.measured.guide, self.world.today())
    }

    /// The free items that the room wants on its shelf, such as coils and a drainage set: how many, and where.
    pub fn bail_out_sundries(&self) -> Vec<String> {
        let (world, today) = (&self.world, self.world.today());
        if world.shelf.unread().is_some() {
            return Vec::new();
        }
        let others = world.shelf.by_size(&world.catalogue, Some(Kind::Other), today);
        others
            .into_iter()
            .filter(|other| {
                world.policy.par.iter().any(|par| par.item.eq_ignore_ascii_case(&other.reference))
            })
            .map(|other| {
                let place = if other.place.is_empty() { "no place known".into() } else { other.place };
                format!("{} {} ×{} ▸ {place}", other.name, other.reference, other.in_date)
            })
            .collect()
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
