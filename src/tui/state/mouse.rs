//! What a click and a turn of the wheel do: never more than a key would, and never what takes something back.

use super::{Effects, Overlay, Spot, State, sizes};
use crate::tui::keys::{DOWN, UP};

impl State {
    pub(super) fn clicked(&mut self, spot: Spot) -> Effects {
        let front = self.front();
        if front.passing.is_some() {
            self.overlay = None;
            return Vec::new();
        }
        match spot {
            Spot::Key(action) if action.destroys() => {
                let key = self.key(action);
                return self.say(format!("A click takes nothing back: {key} does"));
            }
            Spot::Key(action) if self.offers(action) => return self.act(action),
            Spot::Key(_) | Spot::Covered => {}
            Spot::Cell { row, column } => {
                let grid = &self.sizes.grid;
                if self.place() == &sizes::PLACE && row < grid.diameters.len() && column < grid.lengths.len()
                {
                    self.sizes.cursor = Some((row, column));
                }
            }
            Spot::Row(row) => (front.list)(self).into_iter().for_each(|list| list.set(row)),
            Spot::Field(field) => {
                if let Some(Overlay::Form(form)) = &mut self.overlay {
                    form.cursor = field.min(form.fields.len().saturating_sub(1));
                }
            }
            Spot::Page(page) => {
                self.shelf.page = page;
                self.shelf.scroll = 0;
            }
        }
        Vec::new()
    }

    /// The wheel does what the arrow up or down does here.
    pub(super) fn wheeled(&mut self, down: bool) -> Effects {
        let action = if down { DOWN } else { UP };
        let front = self.front();
        if front.passing.is_none() && front.place.has(action) { self.act(action) } else { Effects::new() }
    }
}
