//! Beneath the grid of a large screen: what fits, first by the rules, and where it lies.

use super::pieces;
use crate::tui::columns::padded;
use crate::tui::paint::{Hits, put, put_line, theme};
use crate::tui::state::{InOrder, Spot, State};
use crate::units::plain;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// Rows beneath the grid that stay free, and the heading.
const ABOVE: u16 = 1;
const HEADING: u16 = 1;
/// With fewer lines the list is not worth its place.
const LEAST: u16 = 3;
/// Columns of the name of a product.
const NAME: u16 = 14;

/// `area` is what the grid leaves free.
pub(super) fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let room = area.height.saturating_sub(ABOVE + HEADING);
    if room < LEAST {
        return;
    }
    let lines = state.in_order(usize::from(room));
    if lines.is_empty() {
        return;
    }
    put(
        buffer,
        area,
        0,
        ABOVE,
        "First by the rules: at once before post-dilatation, then least to spare",
        theme::TITLE,
    );
    for (y, fitting) in (ABOVE + HEADING..).zip(&lines) {
        put_line(buffer, area, 0, y, line(fitting, state.sizes.cursor == Some(fitting.cell)));
        let (row, column) = fitting.cell;
        hits.add_in_row(area, 0, y, area.width, Spot::Cell { row, column });
    }
}

fn line(fitting: &InOrder, here: bool) -> Line<'static> {
    let (glyph, style) = theme::verdict(fitting.verdict);
    let quiet = |text: String| Span::styled(text, theme::QUIET);
    let size = format!("{} × {:<3} ", fitting.diameter, fitting.length.to_string());
    let there = pieces(fitting.pieces);
    let mut spans = vec![
        Span::styled(glyph, style),
        Span::styled(format!("{}  ", fitting.letter.unwrap_or(' ')), style),
        Span::styled(size, if here { theme::CURSOR } else { theme::STRONG }),
        Span::raw(format!(" {} ", padded(&fitting.name, NAME))),
        Span::styled(
            format!("{there:<4}"),
            if fitting.pieces == Some(0) { theme::QUIET } else { theme::STRONG },
        ),
        quiet(format!("{:>4} to spare", plain(fitting.spare.mm()))),
    ];
    if fitting.guide_ok == Some(false) {
        spans.push(Span::styled("  not by this guide", theme::HEED));
    }
    // Where none lies nobody is sent.
    if let Some(place) = fitting.place.as_ref().filter(|_| fitting.pieces != Some(0)) {
        spans.push(quiet(format!("  {place}")));
    }
    Line::from(spans)
}
