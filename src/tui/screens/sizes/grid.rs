//! The grid: a row a diameter, a column a length, and where the measured values fall between them.

use super::order;
use super::state::{Sizes, pieces};
use crate::fit::Verdict;
use crate::lesion::Target;
use crate::tui::keys::ACCEPT;
use crate::tui::model::{Axes, Cell, Session};
use crate::tui::paint::{Hits, Spot, cut, first_shown, put, put_line, rows, theme};
use crate::units::{plain, same};
use ratatui::prelude::*;

/// Columns of a cell (glyph, letter of the order, pieces, a blank in which a rule can stand) and of the axis.
const CELL: u16 = 6;

const AXIS: u16 = 6;

/// What an empty room says instead of a grid.
const NO_PRODUCTS: &[&str] = &[
    "No product files yet.",
    "",
    "Put one file a product into the room's folder",
    "catalogue, then: boxcall catalogue check",
    "The shelf: boxcall stock load FILE.csv",
    "",
    "What is opened can be written down all the same:",
    "scan it, or type it on Read-back.",
];

/// Which part of the grid is in sight, and where its lines stand.
struct Window<'a> {
    sizes: &'a Sizes,
    session: &'a Session,
    area: Rect,
    /// First row and column shown, and how many of each there is room for.
    top: usize,
    first: usize,
    down: usize,
    right: usize,
    axes: Option<(Axes, &'a Target)>,
}

pub fn draw(sizes: &Sizes, session: &Session, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    if session.world.catalogue.products.is_empty() {
        for (row, text) in (2..).zip(NO_PRODUCTS) {
            put(buffer, area, 0, row, text, theme::PLAIN);
        }
        return;
    }
    let window = Window::of(sizes, session, area);
    window.title(buffer);
    window.lengths(buffer);
    let bottom = window.diameters(buffer, hits);
    legend(sizes, session, rows(area, bottom, 1), buffer);
    order::draw(sizes, session, rows(area, bottom + 1, area.height), buffer, hits);
}

impl<'a> Window<'a> {
    fn of(sizes: &'a Sizes, session: &'a Session, area: Rect) -> Self {
        let target = session.work.lesion.as_ref().map(|lesion| &lesion.target);
        let axes = sizes.axes.zip(target);
        // Title, lengths, legend, and the line of what the rule aims at.
        let taken = if axes.is_some() { 4 } else { 3 };
        let down = usize::from(area.height.saturating_sub(taken));
        let right = usize::from(area.width.saturating_sub(AXIS) / CELL);
        let (row, column) = sizes.cursor.or(axes.map(asked_for)).unwrap_or_default();
        let top = first_shown(row, sizes.grid.diameters.len(), down);
        let first = first_shown(column, sizes.grid.lengths.len(), right);
        Window { sizes, session, area, top, first, down, right, axes }
    }

    fn shown(&self) -> std::ops::Range<usize> {
        self.first..self.sizes.grid.lengths.len().min(self.first + self.right)
    }

    /// The column of the screen at which a length's cells begin.
    fn x(&self, column: usize) -> u16 {
        AXIS + u16::try_from(column - self.first).unwrap_or(0) * CELL
    }

    /// The column of the screen of a rule that stands before this length; none where it is out of sight.
    fn rule_before(&self, column: usize) -> Option<u16> {
        let shown = self.shown();
        (shown.start <= column && column <= shown.end && !shown.is_empty())
            .then(|| self.x(column).saturating_sub(1))
    }

    /// The rules: what is needed, and the longest device wanted.
    fn rules(&self) -> Vec<(u16, &'static str)> {
        let Some((axes, _)) = &self.axes else { return Vec::new() };
        let need = self.rule_before(axes.need_column).map(|x| (x, "│"));
        let limit = axes.limit_column.and_then(|column| self.rule_before(column)).map(|x| (x, "┃"));
        need.into_iter().chain(limit).collect()
    }

    fn title(&self, buffer: &mut Buffer) {
        let (session, width) = (self.session, self.area.width);
        let what = match session.work.product.as_ref().and_then(|id| session.world.catalogue.product(id)) {
            Some(product) => format!("{} · {} · {}", product.name, product.kind, product.maker),
            None => {
                let kinds: Vec<&str> = session.world.policy.judged.iter().map(|kind| kind.name()).collect();
                format!("all products · {}", kinds.join(", "))
            }
        };
        put(buffer, self.area, 0, 0, &cut(&what, usize::from(width)), theme::TITLE);
    }

    fn lengths(&self, buffer: &mut Buffer) {
        let sizes = self.sizes;
        put(buffer, self.area, 0, 1, if self.first > 0 { "mm…" } else { "mm" }, theme::QUIET);
        for column in self.shown() {
            let length = sizes.grid.lengths[column];
            let wanted = self.axes.as_ref().is_some_and(|(_, target)| target.takes_length(length));
            let here = sizes.cursor.is_some_and(|(_, at)| at == column);
            put(
                buffer,
                self.area,
                self.x(column),
                1,
                &format!("{:>3}", length.to_string()),
                axis(here, wanted),
            );
        }
        let end = self.shown().end;
        if end < sizes.grid.lengths.len() {
            put(buffer, self.area, self.x(end).saturating_sub(2), 1, "…", theme::QUIET);
        }
        for (x, _) in self.rules() {
            put(buffer, self.area, x, 1, "▾", theme::KEY);
        }
    }

    /// The rows, with the line of the aim between them; the first row of the area that is left free.
    fn diameters(&self, buffer: &mut Buffer, hits: &mut Hits) -> u16 {
        let count = self.sizes.grid.diameters.len();
        let mut y = 2;
        for row in self.top..=count.min(self.top + self.down) {
            if self.axes.as_ref().is_some_and(|(axes, _)| axes.aim_row == row) {
                self.aim(y, buffer);
                y += 1;
            }
            if row < count.min(self.top + self.down) {
                self.row(row, y, buffer, hits);
                y += 1;
            }
        }
        y
    }

    /// What the rule aims at, between the diameters where it falls; beside the rule of lengths what is needed.
    fn aim(&self, y: u16, buffer: &mut Buffer) {
        let Some((_, target)) = &self.axes else { return };
        let last = self.x(self.shown().end).saturating_sub(1);
        let line = "─".repeat(usize::from(last));
        put(buffer, self.area, 0, y, &line, theme::QUIET);
        for (x, _) in self.rules() {
            put(buffer, self.area, x, y, "┼", theme::KEY);
        }
        let aim = format!("─ {} {} ", target.rule.aims_at(), target.aim);
        put(buffer, self.area, 0, y, &aim, theme::KEY);
        let Some((rule, _)) = self.rules().into_iter().find(|(_, rule)| *rule == "│") else { return };
        let need = format!(" needs {} mm ", plain(target.length_min.mm()));
        let [aim, long] =
            [&aim, &need].map(|words| u16::try_from(Span::raw(words).width()).unwrap_or(u16::MAX));
        // Before the rule where there is room beside what is aimed at, else behind it.
        let left = if rule > aim + long { rule - long } else { rule + 1 };
        put(buffer, self.area, left, y, &need, theme::KEY);
    }

    fn row(&self, row: usize, y: u16, buffer: &mut Buffer, hits: &mut Hits) {
        let sizes = self.sizes;
        let diameter = sizes.grid.diameters[row];
        let wanted = self.axes.as_ref().is_some_and(|(_, target)| target.takes_diameter(diameter));
        let here = sizes.cursor.is_some_and(|(at, _)| at == row);
        let mark = if wanted { "▸" } else { "" };
        put(buffer, self.area, 0, y, &format!("{diameter}{mark}"), axis(here, wanted));
        for column in self.shown() {
            let Some(cell) = sizes.grid.cell(row, column) else { continue };
            let x = self.x(column);
            let here = sizes.cursor == Some((row, column));
            put_line(
                buffer,
                self.area,
                x,
                y,
                cell_line(cell, here, self.session.world.shelf.unread().is_some()),
            );
            if self.is_marked(row, column) {
                put(buffer, self.area, x.saturating_sub(1), y, "▸", theme::STRONG);
            }
            hits.add_in_row(self.area, x, y, CELL, Spot::Cell { row, column });
        }
        for (x, rule) in self.rules() {
            // A mark in the same column says more.
            let taken = self.shown().any(|column| self.x(column) == x + 1 && self.is_marked(row, column));
            if !taken {
                put(buffer, self.area, x, y, rule, theme::QUIET);
            }
        }
    }

    fn is_marked(&self, row: usize, column: usize) -> bool {
        let sizes = self.sizes;
        sizes.marked.as_ref().is_some_and(|marked| {
            same(marked.diameter.mm(), sizes.grid.diameters[row].mm())
                && same(marked.length.mm(), sizes.grid.lengths[column].mm())
        })
    }
}

/// Where the grid is looked at while no cursor stands on it: around what the lesion asks for.
fn asked_for((axes, _): (Axes, &Target)) -> (usize, usize) {
    (axes.aim_row, axes.need_column)
}

const fn axis(here: bool, wanted: bool) -> Style {
    match (here, wanted) {
        (true, _) => theme::STRONG,
        (false, true) => theme::PLAIN,
        (false, false) => theme::QUIET,
    }
}

/// A glyph for the verdict, a letter for the order, and the pieces in date; never a bare digit that reads as a size.
fn cell_line(cell: &Cell, here: bool, unread: bool) -> Line<'static> {
    if cell.boxes.is_empty() {
        let style = if here { theme::CURSOR } else { theme::QUIET };
        return Line::styled(if here { "     " } else { "" }, style);
    }
    let (glyph, style) = cell.verdict.map_or((theme::NOT_JUDGED, theme::PLAIN), theme::verdict);
    let pieces = pieces((!unread).then_some(cell.pieces));
    let style = if here { style.patch(theme::CURSOR) } else { style };
    let rest = if cell.pieces == 0 && !here { theme::QUIET } else { style };
    let letter = cell.letter().unwrap_or(' ');
    // Without letters the pieces stand beside the glyph, as one word.
    let (letter, pieces) =
        if cell.verdict.is_some() { (letter.to_string(), pieces) } else { (String::new(), pieces) };
    let wide = usize::from(CELL) - 2 - letter.chars().count();
    Line::from(vec![
        Span::styled(glyph, style),
        Span::styled(letter, style),
        Span::styled(format!("{pieces:<wide$}"), rest),
    ])
}

fn legend(sizes: &Sizes, session: &Session, area: Rect, buffer: &mut Buffer) {
    let entry = &sizes.entry;
    if !entry.is_empty() {
        let line = Line::from(vec![
            Span::raw("call: "),
            Span::styled(format!(" {entry}▏"), theme::BAR),
            Span::styled(format!("  {} calls it", session.key(ACCEPT)), theme::QUIET),
        ]);
        put_line(buffer, area, 0, 0, line);
        return;
    }
    let words = [
        (Verdict::Fits, "fits"),
        (Verdict::FitsAfterPostDilatation, "post-dil."),
        (Verdict::Unknown, "unknown"),
        (Verdict::Undersized, "small"),
        (Verdict::No, "no"),
    ];
    let mut spans = Vec::new();
    for (verdict, word) in words {
        let (glyph, style) = theme::verdict(verdict);
        spans.push(Span::styled(glyph, style));
        spans.push(Span::styled(format!(" {word} "), theme::QUIET));
    }
    spans.push(Span::styled("×2 pieces", theme::QUIET));
    let order = Span::styled(" a b c first by the rules", theme::QUIET);
    let wide: usize = spans.iter().map(Span::width).sum();
    if session.work.judgement.is_some() && wide + order.width() <= usize::from(area.width) {
        spans.push(order);
    }
    put_line(buffer, area, 0, 0, Line::from(spans));
}
