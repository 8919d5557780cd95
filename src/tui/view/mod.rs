//! The whole screen: the frame around it, the tour above it, what the screen and its overlay draw; and the second
//! monitor. Functions of the state: they look nothing up and compute no facts of the trade.

mod far;
mod frame;
mod tour;

pub use super::paint::{Colours, Glyphs, Hits, Look, Spot, theme};
pub use super::preferences::Background;
pub use super::screens::help::WORDS;
pub use far::draw as far;

use super::model::Canvas;
use super::paint::{glyphs, put};
use super::state::State;
use crate::units::shown_with;
use ratatui::prelude::*;

/// The smallest terminal that shows the whole job.
pub const SMALLEST: (u16, u16) = (80, 24);

/// Draws the whole screen, and says where things are on it.
pub fn draw(state: &State, look: Look, area: Rect, buffer: &mut Buffer) -> Hits {
    shown_with(state.decimal(), || drawn(state, look, area, buffer))
}

fn drawn(state: &State, look: Look, area: Rect, buffer: &mut Buffer) -> Hits {
    let mut hits = Hits::default();
    if area.width < SMALLEST.0 || area.height < SMALLEST.1 {
        too_small(state.unsaved.count(), area, buffer);
    } else {
        let body = frame::draw(state, area, buffer, &mut hits);
        let body = tour::draw(state, body, buffer);
        state.beneath().draw(state, Canvas { area: body, buffer, hits: &mut hits, over: state.over() });
        if let Some(over) = state.over().filter(|over| !over.form().is_some_and(|form| form.is_in_pane())) {
            // What takes the keys takes the clicks as well.
            hits.add(body, Spot::Covered);
            over.draw(state, Canvas { area: body, buffer, hits: &mut hits, over: None });
        }
    }
    theme::finish(buffer, look);
    glyphs::finish(buffer, look.glyphs);
    hits
}

fn too_small(unsaved: usize, area: Rect, buffer: &mut Buffer) {
    let (wide, high) = SMALLEST;
    let last = if unsaved > 0 { format!("NOT SAVED: {unsaved}") } else { "nothing is lost".to_string() };
    let lines = [
        format!("boxcall needs {wide}x{high}"),
        format!("this is {}x{}", area.width, area.height),
        "make it larger;".to_string(),
        last,
    ];
    for (row, text) in (0..).zip(&lines) {
        put(buffer, area, 0, row, text, theme::PLAIN);
    }
}
