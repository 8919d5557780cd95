//! How the stents of one lesion lie, to scale: a row a stent, distal on the left, so that overlaps are seen one below
//! the other.

#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "columns of a line")]

use crate::case::{StentLayout, size_words};

/// Columns before the drawing and after it.
const HEAD: usize = 9;
const TAIL: usize = 14;

/// Rows of at most `width` columns (40 at least), then the sum. Without a drawing where a length or an overlap is
/// not known: nothing is drawn by guess.
pub(super) fn layout(laid: &StentLayout, width: usize) -> Vec<String> {
    let room = width.max(40) - HEAD - TAIL;
    let mut lines = Vec::new();
    if let (Some(begins), Ok(whole)) = (laid.begins(), &laid.end_to_end) {
        let last = begins.iter().fold(whole.mm(), |last, at| last.max(*at)).max(1.0);
        let first = begins.iter().fold(0.0_f64, |first, at| first.min(*at));
        let column = |mm: f64| ((mm - first) / (last - first) * room as f64).round() as usize;
        for (item, at) in laid.stents.iter().zip(begins) {
            let ends = at + item.label.length.map_or(0.0, |length| length.mm());
            let (from, to) = (column(at).min(room - 1), column(ends).min(room));
            // What is there is never drawn as nothing.
            let bar = "#".repeat(to.saturating_sub(from).max(1));
            let bar = format!("{}{bar}", " ".repeat(from));
            let size = size_words(item.label.diameter, item.label.length);
            lines.push(format!("{:<HEAD$}{bar:<room$} {size}", format!("box {}", item.number)));
        }
    }
    lines.push(laid.words());
    lines
}
