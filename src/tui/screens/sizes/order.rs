//! Beneath the grid of a large screen: what fits, first by the rules, and where it lies.

use super::state::{Sizes, pieces};
use crate::fit::Verdict;
use crate::tui::columns::padded;
use crate::tui::model::Session;
use crate::tui::paint::{Hits, Spot, put, put_line, theme};
use crate::units::{Diameter, Length, plain};
use ratatui::prelude::*;

/// One box that fits.
#[derive(Debug, Clone, PartialEq)]
pub struct InOrder {
    /// Row and column of its cell.
    pub cell: (usize, usize),
    /// The letter that its cell has in the grid.
    pub letter: Option<char>,
    pub diameter: Diameter,
    pub length: Length,
    pub name: String,
    pub verdict: Verdict,
    /// Longer than needed by so much.
    pub spare: Length,
    /// Pieces in date; none while the shelf is not known.
    pub pieces: Option<u32>,
    /// Where it lies, or lay before it ran out.
    pub place: Option<String>,
    /// None where the guide's bore or what the product needs is not known.
    pub guide_ok: Option<bool>,
}

impl Sizes {
    /// The boxes that fit, of those that the grid shows, best first; at most so many.
    pub fn in_order(&self, session: &Session, most: usize) -> Vec<InOrder> {
        let (Some(judgement), Some(lesion)) = (&session.work.judgement, &session.work.lesion) else {
            return Vec::new();
        };
        let (catalogue, shelf) = (&session.world.catalogue, &session.world.shelf);
        let known = shelf.unread().is_none();
        let ranked = judgement.ranked().into_iter();
        let shown = ranked.filter(|size| {
            session.work.product.as_ref().is_none_or(|shown| *shown == size.product(catalogue).id)
        });
        let lines = shown.take(most).filter_map(|size| {
            let cell = self.grid.place(size.diameter, size.length)?;
            let di = &size.pack(catalogue).di;
            Some(InOrder {
                cell,
                letter: self.grid.cell(cell.0, cell.1).and_then(|cell| cell.letter()),
                diameter: size.diameter,
                length: size.length,
                name: size.product(catalogue).name.clone(),
                verdict: size.verdict,
                spare: Length::from_mm(size.length.mm() - lesion.target.length_min.mm()),
                pieces: known.then(|| shelf.on_hand(di, session.world.today())),
                place: known.then(|| shelf.place(di, session.world.today()).map(String::from)).flatten(),
                guide_ok: size.guide_ok,
            })
        });
        lines.collect()
    }
}

/// Rows beneath the grid that stay free, and the heading.
const ABOVE: u16 = 1;
const HEADING: u16 = 1;
/// With fewer lines the list is not worth its place.
const LEAST: u16 = 3;
/// Columns of the name of a product.
const NAME: u16 = 14;

/// `area` is what the grid leaves free.
pub fn draw(sizes: &Sizes, session: &Session, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let room = area.height.saturating_sub(ABOVE + HEADING);
    if room < LEAST {
        return;
    }
    let lines = sizes.in_order(session, usize::from(room));
    if lines.is_empty() {
        return;
    }
    put(
        buffer,
        area,
        0,
        ABOVE,
        "First by the rules: on the shelf, at once, surely long enough, shortest",
        theme::TITLE,
    );
    for (y, fitting) in (ABOVE + HEADING..).zip(&lines) {
        put_line(buffer, area, 0, y, line(fitting, sizes.cursor == Some(fitting.cell)));
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
        spans.push(Span::styled("  not by this guide", theme::WARNING));
    }
    // Where none lies nobody is sent.
    if let Some(place) = fitting.place.as_ref().filter(|_| fitting.pieces != Some(0)) {
        spans.push(quiet(format!("  {place}")));
    }
    Line::from(spans)
}
