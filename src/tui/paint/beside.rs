//! The box in large letters beside what was called, with the digits marked that differ.

use super::big::{self, Size};
use super::text::{columns, put, rows};
use super::theme;
use crate::case::SideBySide;
use ratatui::prelude::*;

/// Columns between the two.
const GAP: u16 = 2;

/// Draws both in letters of one size, side by side or one below the other, whichever is larger; the rows they took.
pub fn draw(buffer: &mut Buffer, area: Rect, beside: &SideBySide) -> u16 {
    if beside.called.is_empty() {
        put(buffer, area, 0, 0, &beside.title, theme::QUIET);
        return 1 + big::draw(buffer, rows(area, 1, area.height), &beside.on_box, theme::STRONG, &[]);
    }
    let half = (area.width.saturating_sub(GAP)) / 2;
    let apart = size_of(beside, half, area.height.saturating_sub(1));
    let below = size_of(beside, area.width, (area.height / 2).saturating_sub(1));
    let larger = |a: Option<Size>, b: Option<Size>| a.map(|s| s.rows(false)) >= b.map(|s| s.rows(false));
    match (apart, below) {
        (Some(size), other) if larger(Some(size), other) => {
            let high = box_side(buffer, columns(area, 0, half), beside, size);
            high.max(call_side(buffer, columns(area, half + GAP, half), beside, size))
        }
        (_, Some(size)) => {
            let high = box_side(buffer, area, beside, size);
            high + call_side(buffer, rows(area, high, area.height), beside, size)
        }
        _ => {
            put(buffer, area, 0, 0, &format!("box  {}", beside.on_box), theme::STRONG);
            put(buffer, area, 0, 1, &format!("call {}", beside.called), theme::STRONG);
            2.min(area.height)
        }
    }
}

/// The largest letters in which either stands in one line.
fn size_of(beside: &SideBySide, width: u16, height: u16) -> Option<Size> {
    let on_box = Size::fitting(&beside.on_box, true, width, height)?;
    let called = Size::fitting(&beside.called, true, width, height)?;
    Some(if on_box.rows(false) <= called.rows(false) { on_box } else { called })
}

fn box_side(buffer: &mut Buffer, area: Rect, beside: &SideBySide, size: Size) -> u16 {
    side(buffer, area, &beside.title, (&beside.on_box, &beside.box_marked), (size, theme::STOP))
}

fn call_side(buffer: &mut Buffer, area: Rect, beside: &SideBySide, size: Size) -> u16 {
    side(buffer, area, "called", (&beside.called, &beside.called_marked), (size, theme::STRONG))
}

fn side(
    buffer: &mut Buffer,
    area: Rect,
    title: &str,
    (words, marked): (&str, &[usize]),
    (size, style): (Size, Style),
) -> u16 {
    put(buffer, area, 0, 0, title, theme::QUIET);
    big::draw_at(buffer, rows(area, 1, area.height), words, size, style, marked);
    1 + size.rows(true)
}
