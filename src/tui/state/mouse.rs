//! What a click and a turn of the wheel do: never more than a key would, and never what takes something back.

use super::{Effect, Spot, State};
use crate::tui::keys::{DOWN, UP};

impl State {
    pub(super) fn clicked(&mut self, spot: Spot) -> Vec<Effect> {
        if self.front().any_key().is_some() {
            self.overlay = None;
            return Vec::new();
        }
        match spot {
            Spot::Key(action) if action.destroys() => {
                let key = self.key(action);
                self.say(format!("A click takes nothing back: {key} does"));
            }
            Spot::Key(action) if self.offers(action) => return self.act(action),
            Spot::Key(_) | Spot::Covered => {}
            Spot::Row(row) => {
                let (front, session) = self.front_mut();
                if let Some(list) = front.list(session) {
                    list.set(row);
                }
            }
            other => {
                let (front, session) = self.front_mut();
                front.clicked(session, other);
            }
        }
        Vec::new()
    }

    /// The wheel does what the arrow up or down does here.
    pub(super) fn wheeled(&mut self, down: bool) -> Vec<Effect> {
        let action = if down { DOWN } else { UP };
        let front = self.front();
        let moves = front.any_key().is_none() && front.place(self).has(action);
        if moves { self.act(action) } else { Vec::new() }
    }
}
