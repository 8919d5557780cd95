//! Sizes: the measures on the left, the grid in the middle, why the size under the cursor fits or doesn't, and, where
//! there is room, the measured vessel with what is chosen.

mod compare;
mod grid;
mod measures;
mod order;
mod why;

use crate::tui::paint::{Hits, columns, rows, vessel};
use crate::tui::state::{Overlay, State};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Columns of the pane of measures, rows of the pane of reasons.
const MEASURES: u16 = 27;
const REASONS: u16 = 6;
/// From this width on the reasons and the vessel stand beside the grid, in so many columns.
const WIDE: u16 = 130;
const BESIDE: u16 = 56;
/// Rows that the reasons keep above a vessel beside the grid.
const ABOVE_VESSEL: u16 = 18;

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let (upper, reasons, drawing) = panes(area);
    let left = columns(upper, 1, MEASURES - 1);
    match &state.overlay {
        Some(overlay @ Overlay::Form(form)) if overlay.measures() => {
            measures::fields(form, left, buffer, hits);
        }
        _ => measures::measures(state, left, buffer),
    }
    let middle = columns(upper, MEASURES + 1, upper.width);
    let drawn = state.drawn();
    match &drawn {
        Some(drawn) if state.sizes.vessel_large => vessel::draw(drawn, middle, buffer),
        _ => grid::draw(state, middle, buffer, hits),
    }
    match state.compared() {
        Some(compared) => compare::draw(&compared, reasons, buffer),
        None => why::draw(state, reasons, buffer),
    }
    // Drawn once: large, or with the plans, it needs no second place.
    let elsewhere = state.sizes.vessel_large || matches!(state.overlay, Some(Overlay::Plans(_)));
    if let (Some(drawn), Some(drawing)) = (drawn.filter(|_| !elsewhere), drawing) {
        vessel::draw(&drawn, drawing, buffer);
    }
}

/// The pieces of a size as a sign that is no size; while the shelf is not known, nothing is said to be missing.
fn pieces(on_shelf: Option<u32>) -> String {
    match on_shelf {
        None => "?".to_string(),
        Some(0) => "–".to_string(),
        Some(pieces) => format!("×{pieces}"),
    }
}

/// Measures and grid, the reasons, and the vessel where it has a place of its own.
fn panes(area: Rect) -> (Rect, Rect, Option<Rect>) {
    if area.width < WIDE {
        let high = area.height.saturating_sub(REASONS);
        let reasons = rows(area, high, REASONS);
        return (rows(area, 0, high), columns(reasons, 1, area.width.saturating_sub(2)), None);
    }
    let left = area.width - BESIDE;
    let right = columns(area, left, BESIDE - 1);
    let room = area.height.saturating_sub(ABOVE_VESSEL);
    if room < vessel::LEAST_ROWS {
        return (columns(area, 0, left), right, None);
    }
    let below = room.min(vessel::MOST_ROWS);
    let above = area.height - below;
    (columns(area, 0, left), rows(right, 0, above), Some(rows(right, above, below)))
}
