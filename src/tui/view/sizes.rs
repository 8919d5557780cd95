//! Sizes: the measures on the left, the grid in the middle, the reasons for the cell under the cursor.

use super::{Hits, columns, first_shown, padded, put, put_line, put_lines, rows, theme, wrapped};
use crate::lesion::Reading;
use crate::measure::Method;
use crate::tui::keys::Action;
use crate::tui::state::{Cell, Form, Input, Overlay, Purpose, Spot, State};
use crate::units::plain;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// Columns of the pane of measures, rows of the pane of reasons, columns of a cell and of the axis.
const MEASURES: u16 = 27;
const REASONS: u16 = 6;
const CELL: u16 = 6;
const AXIS: u16 = 6;
/// From this width on the reasons stand beside the grid.
const WIDE: u16 = 130;

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

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let wide = area.width >= WIDE;
    let (upper, reasons_area) = if wide {
        let beside = area.width - 52;
        (columns(area, 0, beside), columns(area, beside, 52))
    } else {
        let high = area.height.saturating_sub(REASONS);
        (rows(area, 0, high), rows(area, high, REASONS))
    };
    let left = columns(upper, 1, MEASURES - 1);
    match &state.overlay {
        Some(Overlay::Form(form)) if matches!(form.purpose, Purpose::Measure { .. }) => {
            fields(form, left, buffer, hits)
        }
        _ => measures(state, left, buffer),
    }
    grid(state, columns(upper, MEASURES + 1, upper.width), buffer, hits);
    reasons(state, columns(reasons_area, 1, reasons_area.width.saturating_sub(2)), buffer);
}

fn measures(state: &State, area: Rect, buffer: &mut Buffer) {
    let measured = &state.sizes.measured;
    let mut lines = vec![Line::styled(format!("Lesion {}", state.lesion), theme::TITLE)];
    let reading = |value: Option<Reading>| value.map(|value| value.to_string());
    let known = [
        ("method", measured.method.map(|method| method.label().to_string())),
        ("distal lumen", reading(measured.distal_lumen)),
        ("distal EEM", reading(measured.distal_eem)),
        ("proximal lumen", reading(measured.proximal_lumen)),
        ("proximal EEM", reading(measured.proximal_eem)),
        (measured.method.map_or("length", Method::length_field), measured.length.map(|l| l.to_string())),
        ("side branch", reading(measured.branch_lumen)),
        ("branch at", measured.branch_at.map(|at| at.to_string())),
        ("longest device", measured.limit.map(|l| l.to_string())),
        ("segment", measured.segment.clone()),
        ("guide", measured.guide.map(|guide| guide.to_string())),
        (
            "site",
            (!measured.sites.is_empty())
                .then(|| measured.sites.iter().map(|s| s.name()).collect::<Vec<_>>().join(" ")),
        ),
    ];
    for (name, value) in known {
        if let Some(value) = value {
            lines.push(Line::from(vec![
                Span::styled(format!("{name} "), theme::QUIET),
                Span::styled(value, theme::STRONG),
            ]));
        }
    }
    if lines.len() == 1 {
        lines.push(Line::styled("nothing measured:", theme::QUIET));
        lines.push(Line::styled("any size can be called", theme::QUIET));
        lines.push(Line::from(vec![
            Span::styled(state.key(Action::Measure), theme::KEY),
            Span::styled(" types the measures", theme::QUIET),
        ]));
    }
    if let Some(lesion) = &state.sizes.lesion {
        let target = &lesion.target;
        let [least, most] = target.window;
        lines.push(Line::raw(""));
        lines.push(Line::styled(format!("In rule {}", target.rule), theme::TITLE));
        lines.push(Line::raw(format!("labelled {least} to {most}")));
        lines.push(Line::raw(format!("length {}", lesion.target.length_in_words())));
        if let Some(wanted) = target.proximal_target {
            lines.push(Line::raw(format!("proximal wants {wanted}")));
        }
    }
    for fault in &state.sizes.faults {
        lines.extend(
            wrapped(&fault.message, area.width).into_iter().map(|text| Line::styled(text, theme::HEED)),
        );
    }
    put_lines(buffer, area, lines);
}

/// The measures while they are being typed.
fn fields(form: &Form, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    put(buffer, area, 0, 0, &form.title, theme::TITLE);
    let room = usize::from(area.height.saturating_sub(1));
    let first = first_shown(form.cursor, form.fields.len(), room);
    for (index, field) in form.fields.iter().enumerate().skip(first).take(room) {
        let here = index == form.cursor;
        let mark = if field.fault.is_some() {
            "!"
        } else if here {
            "▸"
        } else {
            " "
        };
        let value = match &field.input {
            Input::AnyOf { choices, chosen } => {
                let names: Vec<&str> = choices
                    .iter()
                    .filter(|(letter, _)| chosen.contains(letter))
                    .map(|(_, name)| name.as_str())
                    .collect();
                names.join(" ")
            }
            _ => field.value(),
        };
        // The names are long in two places only; the value stands at one column all the same.
        let name: String = field.label.chars().take(14).collect();
        let row = u16::try_from(index - first + 1).unwrap_or(u16::MAX);
        let style = if here { theme::CURSOR } else { theme::STRONG };
        let shown = if here { padded(&value, 10) } else { value };
        hits.add_in_row(area, 0, row, area.width, Spot::Field(index));
        put_line(
            buffer,
            area,
            0,
            row,
            Line::from(vec![
                Span::styled(mark, theme::HEED),
                Span::styled(format!("{name:<14} "), if here { theme::PLAIN } else { theme::QUIET }),
                Span::styled(shown, style),
            ]),
        );
    }
}

fn grid(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let sizes = &state.sizes;
    let grid = &sizes.grid;
    let what = match sizes.product.as_ref().and_then(|id| state.world.catalogue.product(id)) {
        Some(product) => format!("{} · {} · {}", product.name, product.kind, product.maker),
        None => {
            let kinds: Vec<&str> = state.world.policy.judged.iter().map(|kind| kind.name()).collect();
            format!("all products · {}", kinds.join(", "))
        }
    };
    put(buffer, area, 0, 0, &what, theme::TITLE);
    if state.world.catalogue.products.is_empty() {
        for (row, text) in (2..).zip(NO_PRODUCTS) {
            put(buffer, area, 0, row, text, theme::PLAIN);
        }
        return;
    }
    let room_down = usize::from(area.height.saturating_sub(3));
    let room_right = usize::from(area.width.saturating_sub(AXIS) / CELL);
    let (row_at, column_at) = sizes.cursor.unwrap_or_else(|| wanted_place(state));
    let top = first_shown(row_at, grid.diameters.len(), room_down);
    let first = first_shown(column_at, grid.lengths.len(), room_right);
    let more_left = if first > 0 { "…" } else { "" };
    put(buffer, area, 0, 1, &format!("mm{more_left}"), theme::QUIET);
    for (place, length) in grid.lengths.iter().enumerate().skip(first).take(room_right) {
        let x = AXIS + u16::try_from(place - first).unwrap_or(0) * CELL;
        let wanted = sizes.lesion.as_ref().is_some_and(|lesion| lesion.target.takes_length(*length));
        let style = if column_at == place && sizes.cursor.is_some() {
            theme::STRONG
        } else if wanted {
            theme::PLAIN
        } else {
            theme::QUIET
        };
        put(buffer, area, x, 1, &format!("{:>3}", length.to_string()), style);
    }
    let unread = state.world.shelf.unread().is_some();
    for (place, diameter) in grid.diameters.iter().enumerate().skip(top).take(room_down) {
        let y = 2 + u16::try_from(place - top).unwrap_or(0);
        let wanted = sizes.lesion.as_ref().is_some_and(|lesion| lesion.target.takes_diameter(*diameter));
        let style = if row_at == place && sizes.cursor.is_some() {
            theme::STRONG
        } else if wanted {
            theme::PLAIN
        } else {
            theme::QUIET
        };
        put(buffer, area, 0, y, &format!("{diameter}{}", if wanted { "▸" } else { "" }), style);
        for column in (first..grid.lengths.len()).take(room_right) {
            let x = AXIS + u16::try_from(column - first).unwrap_or(0) * CELL;
            if let Some(cell) = grid.cell(place, column) {
                let here = sizes.cursor == Some((place, column));
                put_line(buffer, area, x, y, cell_line(cell, here, unread));
                hits.add_in_row(area, x, y, CELL, Spot::Cell { row: place, column });
            }
        }
    }
    let bottom = 2 + u16::try_from(grid.diameters.len().min(room_down)).unwrap_or(0);
    legend(state, rows(area, bottom, 1), buffer);
}

/// Where the grid is looked at while no cursor stands on it: around what the lesion asks for.
fn wanted_place(state: &State) -> (usize, usize) {
    let grid = &state.sizes.grid;
    let Some(target) = state.sizes.lesion.as_ref().map(|lesion| &lesion.target) else { return (0, 0) };
    let row = grid.diameters.iter().position(|diameter| diameter.mm() >= target.window[0].mm());
    let column = grid.lengths.iter().position(|length| target.takes_length(*length));
    (row.unwrap_or(0), column.unwrap_or(0))
}

/// A glyph for the verdict, and the pieces in date; never a bare digit that reads as a size.
fn cell_line(cell: &Cell, here: bool, unread: bool) -> Line<'static> {
    if cell.boxes.is_empty() {
        let style = if here { theme::CURSOR } else { theme::QUIET };
        return Line::styled(if here { "     " } else { "" }, style);
    }
    let (glyph, style) = cell.verdict.map_or((theme::NOT_JUDGED, theme::PLAIN), theme::verdict);
    let pieces = if unread {
        "?".to_string()
    } else if cell.pieces == 0 {
        "–".to_string()
    } else {
        format!("×{}", cell.pieces)
    };
    let style = if here { style.patch(theme::CURSOR) } else { style };
    let rest = if cell.pieces == 0 && !here { theme::QUIET } else { style };
    Line::from(vec![Span::styled(glyph, style), Span::styled(format!("{pieces:<4}"), rest)])
}

fn legend(state: &State, area: Rect, buffer: &mut Buffer) {
    use crate::fit::Verdict;
    let entry = &state.sizes.entry;
    if !entry.is_empty() {
        let line = Line::from(vec![
            Span::raw("call: "),
            Span::styled(format!(" {entry}▏"), theme::BAR),
            Span::styled(format!("  {} calls it", state.key(Action::SizeCall)), theme::QUIET),
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
    put_line(buffer, area, 0, 0, Line::from(spans));
}

fn reasons(state: &State, area: Rect, buffer: &mut Buffer) {
    let mut lines = Vec::new();
    if let Some(Overlay::Form(form)) = &state.overlay
        && let Some(field) = form.fields.get(form.cursor)
    {
        let help = match &field.input {
            Input::AnyOf { choices, .. } => choices
                .iter()
                .map(|(letter, name)| format!("{letter} {name}"))
                .collect::<Vec<_>>()
                .join(" · "),
            Input::OneOf { choices, .. } => choices.join(" · "),
            Input::Text(_) => field.hint.clone(),
        };
        lines.push(Line::styled(format!("{}: {help}", field.label), theme::QUIET));
        for fault in form.fields.iter().filter_map(|field| field.fault.as_ref()).chain(&form.refused) {
            lines.extend(wrapped(fault, area.width).into_iter().map(|text| Line::styled(text, theme::HEED)));
        }
    }
    lines.extend(why(state, area.width));
    put_lines(buffer, area, lines);
}

/// The answer to "why this one" or "why not": short, or (one key) the whole arithmetic with its sources.
fn why(state: &State, width: u16) -> Vec<Line<'static>> {
    let sizes = &state.sizes;
    let mut lines = Vec::new();
    let Some((diameter, length)) = sizes.size() else {
        if let Some(judgement) = &sizes.judgement {
            // One at a time; the arithmetic (one key) has them all.
            let shown = if sizes.why { usize::MAX } else { 1 };
            for caution in
                sizes.lesion.iter().flat_map(|lesion| &lesion.cautions).chain(&judgement.cautions).take(shown)
            {
                lines.extend(
                    wrapped(&caution.message, width).into_iter().map(|text| Line::styled(text, theme::HEED)),
                );
            }
            for text in &sizes.carina {
                lines.extend(wrapped(text, width).into_iter().map(Line::raw));
            }
            if state.needs_span() {
                let words = format!(
                    "No single device is that long: {} shows sets of overlapping ones",
                    state.key(Action::OpenPlans)
                );
                lines.push(Line::styled(words, theme::HEED));
            }
            let fitting = judgement.ranked().len();
            lines.push(Line::styled(
                format!(
                    "{fitting} of {} boxes fit. Set the cursor on a size with the arrows to see why",
                    judgement.sizes.len()
                ),
                theme::QUIET,
            ));
        }
        return lines;
    };
    let Some(cell) = sizes.cell().filter(|cell| !cell.boxes.is_empty()) else {
        return vec![Line::raw(format!("No product here has {diameter} × {length}"))];
    };
    let (catalogue, policy) = (&state.world.catalogue, &state.world.policy);
    let judged = sizes.judgement.as_ref().zip(sizes.lesion.as_ref());
    for boxed in &cell.boxes {
        let unread = state.world.shelf.unread().is_some();
        let shelf = if unread {
            "not known yet".to_string()
        } else if boxed.pieces == 0 {
            "none".into()
        } else {
            format!("×{}", boxed.pieces)
        };
        let mut spans = vec![
            Span::styled(format!("{diameter} × {length} {} ", boxed.name), theme::STRONG),
            Span::styled(format!("{} · {shelf} on the shelf · ", boxed.reference), theme::QUIET),
        ];
        match boxed.judged.zip(judged) {
            Some((index, (judgement, _))) => {
                let size = &judgement.sizes[index];
                let (glyph, style) = theme::verdict(size.verdict);
                spans.push(Span::styled(format!("{glyph} {}", size.verdict.words()), style));
                if let Some(rank) = size.rank {
                    let of = judgement.ranked().len();
                    spans.push(Span::styled(format!(" · {} of {of}", ordinal(rank)), theme::QUIET));
                }
            }
            None => spans.push(Span::styled("not judged", theme::QUIET)),
        }
        lines.push(Line::from(spans));
    }
    let Some((judgement, lesion)) = judged else { return lines };
    if let Some(caution) = crate::fit::above_lumen(diameter, lesion) {
        lines
            .extend(wrapped(&caution.message, width).into_iter().map(|text| Line::styled(text, theme::HEED)));
    }
    let several = cell.boxes.len() > 1;
    for boxed in cell.boxes.iter().take(if sizes.why { usize::MAX } else { 1 }) {
        let Some(size) = boxed.judged.map(|index| &judgement.sizes[index]) else { continue };
        if several {
            lines.push(Line::styled(format!("{}:", boxed.name), theme::TITLE));
        }
        let reasons = size.reasons(catalogue, lesion, policy);
        let shown: Vec<_> = if sizes.why {
            reasons.iter().collect()
        } else {
            // What decides: what does not hold, or, where all holds, the window.
            let against: Vec<_> =
                reasons.iter().filter(|reason| reason.holds != Some(true)).take(2).collect();
            if against.is_empty() {
                reasons.iter().filter(|r| r.code == "diameter.in-window").collect()
            } else {
                against
            }
        };
        for reason in shown {
            let mark = match reason.holds {
                Some(true) => "+",
                Some(false) => "–",
                None => "?",
            };
            let text = format!("{mark} {} [{}]", reason.in_words(), reason.source);
            lines.extend(wrapped(&text, width).into_iter().map(Line::raw));
        }
        if let Some(doubt) = size.doubt(judgement, catalogue, lesion, policy) {
            lines.extend(wrapped(&doubt, width).into_iter().map(|text| Line::styled(text, theme::HEED)));
        }
        if let Some(atm) = size.deploy.filter(|_| sizes.why) {
            lines.push(Line::raw(format!("deploy at {} atm by its chart, in water", plain(atm.atm()))));
        }
    }
    lines
}

fn ordinal(rank: u32) -> String {
    let ending = match (rank % 10, rank % 100) {
        (1, tens) if tens != 11 => "st",
        (2, tens) if tens != 12 => "nd",
        (3, tens) if tens != 13 => "rd",
        _ => "th",
    };
    format!("{rank}{ending}")
}
