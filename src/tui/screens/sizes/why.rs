//! Why this size, or why not: two lines of plain words for the box under the cursor; the arithmetic is one key away.

use super::state::{self, Sizes};
use crate::fit::{self, beside::ordinal};
use crate::tui::model::{Cell, CellBox, Form, Input, Session};
use crate::tui::paint::{put_lines, theme, wrapped, wrapped_in};
use crate::units::{Diameter, Length, counted};
use ratatui::prelude::*;

pub fn draw(sizes: &Sizes, session: &Session, form: Option<&Form>, area: Rect, buffer: &mut Buffer) {
    let mut lines = of_the_field(form, area.width);
    lines.extend(why(sizes, session, area.width));
    put_lines(buffer, area, lines);
}

/// What the field that is typed into takes, and what is wrong in the fields.
fn of_the_field(form: Option<&Form>, width: u16) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    let Some(form) = form else { return lines };
    let Some(field) = form.fields.get(form.cursor) else { return lines };
    let help = match &field.input {
        Input::AnyOf { choices, .. } => {
            choices.iter().map(|(letter, name)| format!("{letter} {name}")).collect::<Vec<_>>().join(" · ")
        }
        Input::OneOf { choices, .. } => choices.join(" · "),
        Input::Text(_) => field.hint.clone(),
    };
    let help = wrapped(&format!("{}: {help}", field.label), width).into_iter();
    lines.extend(help.map(|text| Line::styled(text, theme::QUIET)));
    for fault in form.fields.iter().filter_map(|field| field.fault.as_ref()).chain(&form.refused) {
        lines.extend(warning(fault, width));
    }
    lines
}

fn warning(text: &str, width: u16) -> Vec<Line<'static>> {
    wrapped_in(theme::WARNING, text, width).collect()
}

fn why(sizes: &Sizes, session: &Session, width: u16) -> Vec<Line<'static>> {
    let Some((diameter, length)) = sizes.size() else { return of_the_lesion(sizes, session, width) };
    match sizes.cell().zip(sizes.box_here()) {
        Some((cell, boxed)) => of_the_box(session, cell, boxed, (diameter, length), width),
        None => vec![Line::raw(format!("No product here has {diameter} × {length}"))],
    }
}

/// While no cursor stands on a size: one caution, and how many boxes fit.
fn of_the_lesion(sizes: &Sizes, session: &Session, width: u16) -> Vec<Line<'static>> {
    let Some(judgement) = &session.work.judgement else { return Vec::new() };
    let lesion = session.work.lesion.as_ref();
    let cautions = lesion.map(|lesion| judgement.cautions_with(lesion)).unwrap_or_default();
    let mut cautions = cautions.iter();
    // One at a time; the arithmetic (one key) has them all.
    let mut lines = cautions.next().map(|first| warning(&first.message, width)).unwrap_or_default();
    let more = cautions.count();
    if more > 0 {
        let words = format!("and {more} more: {} tells all", session.key(state::WHY));
        lines.push(Line::styled(words, theme::QUIET));
    }
    for text in &session.work.carina {
        lines.extend(wrapped(text, width).into_iter().map(Line::raw));
    }
    if sizes.needs_span(session) {
        let key = session.key(state::OPEN_PLANS);
        let words = format!("No single device is that long: {key} shows sets of overlapping ones");
        lines.extend(warning(&words, width));
    }
    let (fitting, all) = (judgement.ranked().len(), judgement.sizes.len());
    let words = format!(
        "{fitting} of {} fit. Set the cursor on a size with the arrows to see why",
        counted(all, "box")
    );
    lines.extend(wrapped_in(theme::QUIET, &words, width));
    lines
}

fn of_the_box(
    session: &Session,
    cell: &Cell,
    boxed: &CellBox,
    (diameter, length): (Diameter, Length),
    width: u16,
) -> Vec<Line<'static>> {
    let judged = session.work.judgement.as_ref().zip(session.work.lesion.as_ref());
    let size = boxed.judged.zip(judged).and_then(|(index, (judgement, _))| judgement.sizes.get(index));
    let shelf = on_shelf(session, boxed);
    let mut lines = Vec::new();
    let mut verdict = Vec::new();
    match size.zip(judged) {
        Some((size, (judgement, _))) => {
            let (glyph, style) = theme::verdict(size.verdict);
            verdict.push(Span::styled(format!("{glyph} {}", size.verdict.words()), style));
            if let Some(rank) = size.rank {
                let of = judgement.ranked().len();
                verdict.push(Span::styled(format!(" · {} of {of}", ordinal(rank)), theme::QUIET));
            }
        }
        None => verdict.push(Span::styled("not judged", theme::QUIET)),
    }
    let head = vec![
        Span::styled(format!("{diameter} × {length} {} ", boxed.name), theme::STRONG),
        Span::styled(format!("{} · {shelf} on the shelf · ", boxed.reference), theme::QUIET),
    ];
    // A line each where both are too long for one.
    let wide: usize = head.iter().chain(&verdict).map(Span::width).sum();
    if wide <= usize::from(width) {
        lines.push(Line::from([head, verdict].concat()));
    } else {
        lines.extend([Line::from(head), Line::from(verdict)]);
    }
    if let Some((size, (judgement, lesion))) = size.zip(judged) {
        let (catalogue, policy) = (&session.world.catalogue, &session.world.policy);
        let plainly = size.short_reason(catalogue, lesion, policy);
        lines.extend(wrapped(&plainly.what, width).into_iter().map(Line::raw));
        if let Some(source) = plainly.source {
            let source = format!("[{source}]");
            lines.extend(wrapped_in(theme::QUIET, &source, width));
        }
        if let Some(doubt) = size.doubt(judgement, catalogue, lesion, policy) {
            lines.extend(warning(&doubt, width));
        }
        let own = [fit::above_lumen(diameter, lesion), fit::small_vessel(diameter)];
        for caution in own.into_iter().flatten() {
            lines.extend(warning(&caution.message, width));
        }
    }
    lines.extend(others(session, cell, boxed));
    lines
}

/// Its pieces, in a word; nothing is said to be missing while the shelf is not known.
fn on_shelf(session: &Session, boxed: &CellBox) -> String {
    match boxed.pieces {
        _ if session.world.shelf.unread().is_some() => "not known yet".into(),
        0 => "none".into(),
        pieces => format!("×{pieces}"),
    }
}

/// The other products that have this size.
fn others(session: &Session, cell: &Cell, boxed: &CellBox) -> Option<Line<'static>> {
    let names: Vec<String> = cell
        .boxes
        .iter()
        .filter(|other| (&other.product, &other.reference) != (&boxed.product, &boxed.reference))
        .map(|other| format!("{} {}", other.name, on_shelf(session, other)))
        .collect();
    (!names.is_empty()).then(|| {
        Line::from(vec![
            Span::styled("same size: ", theme::QUIET),
            Span::raw(names.join(" · ")),
            Span::raw("  "),
            Span::styled(session.key(state::NEXT_BOX), theme::KEY),
            Span::styled(" looks at it", theme::QUIET),
        ])
    })
}
