//! The views: functions of the state. They look nothing up and compute no facts of the trade.

mod arithmetic;
mod bailout;
mod case_end;
mod far;
mod fetch;
mod first;
mod frame;
mod help;
mod opened;
mod overlay;
mod plans;
mod readback;
mod shelf;
mod sizes;
mod tally;
mod tour;

pub use super::paint::{Colours, Glyphs, Hits, Look, big, theme};
pub use help::WORDS;

pub use super::preferences::Background;

use super::paint::{glyphs, put};
use super::state::{Screen, State};
use crate::units::shown_with;
pub use far::draw as far;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

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
        match state.screen {
            Screen::Help => help::draw(state, body, buffer),
            Screen::Sizes => sizes::draw(state, body, buffer, &mut hits),
            Screen::Fetch => fetch::draw(state, body, buffer, &mut hits),
            Screen::ReadBack => readback::draw(state, body, buffer, &mut hits),
            Screen::Opened => opened::draw(state, body, buffer, &mut hits),
            Screen::CaseEnd => case_end::draw(state, body, buffer),
            Screen::Shelf => match &state.tally {
                Some(scanning) => tally::draw(state, scanning, body, buffer),
                None => shelf::draw(state, body, buffer, &mut hits),
            },
            Screen::BailOut => bailout::draw(state, body, buffer, &mut hits),
            Screen::FirstSteps => first::draw(state, body, buffer, &mut hits),
        }
        overlay::draw(state, body, buffer, &mut hits);
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
