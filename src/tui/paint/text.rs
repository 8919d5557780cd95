//! Text, lines and windows at a place of the screen, cut off at their edges.

use super::theme;
use crate::units::counted;
use ratatui::prelude::*;
use ratatui::widgets::{Block, BorderType, Clear, Widget};

/// A line that is covered from here on shows nothing useful in fewer columns than this.
const READABLE: u16 = 16;

/// Text at a place of an area, cut off at its edges.
pub fn put(buffer: &mut Buffer, area: Rect, x: u16, y: u16, text: &str, style: Style) {
    put_line(buffer, area, x, y, Line::from(Span::styled(text, style)));
}

/// A line that has more than its room ends with a sign that there is more: a number that is cut must not be read as a
/// shorter one.
pub fn put_line(buffer: &mut Buffer, area: Rect, x: u16, y: u16, line: Line) {
    let area = area.intersection(buffer.area);
    if x < area.width && y < area.height {
        let room = Rect::new(area.x + x, area.y + y, area.width - x, 1);
        let is_cut = is_longer(&line, usize::from(room.width));
        line.render(room, buffer);
        if is_cut {
            buffer[(room.right() - 1, room.y)].set_symbol("…");
        }
    }
}

/// Whether more than blanks stands past so many columns.
fn is_longer(line: &Line, room: usize) -> bool {
    if line.width() <= room {
        return false;
    }
    let (mut wide, mut seen) = (0, 0);
    for span in &line.spans {
        wide += span.width();
        let trimmed = span.content.trim_end();
        if !trimmed.is_empty() {
            seen = wide - (span.width() - Span::raw(trimmed).width());
        }
    }
    seen > room
}

/// Lines from the top of an area; returns how many rows they took.
pub fn put_lines<'a>(buffer: &mut Buffer, area: Rect, lines: impl IntoIterator<Item = Line<'a>>) -> u16 {
    let mut row = 0;
    for line in lines {
        put_line(buffer, area, 0, row, line);
        row = row.saturating_add(1);
    }
    row.min(area.height)
}

/// The words, or as many of them as there is room for and a sign that there are more.
pub fn cut(words: &str, room: usize) -> String {
    if Span::raw(words).width() <= room {
        return words.to_string();
    }
    let mut short = String::new();
    for c in words.chars() {
        if Span::raw(&short).width() + 2 > room {
            break;
        }
        short.push(c);
    }
    format!("{}…", short.trim_end())
}

/// A text broken into lines of at most so many columns, at spaces.
pub fn wrapped(text: &str, width: u16) -> Vec<String> {
    let width = usize::from(width.max(1));
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let needed = Span::raw(word).width() + if line.is_empty() { 0 } else { Span::raw(&line).width() + 1 };
        if needed > width && !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    lines.push(line);
    lines
}

/// The same as lines in one style.
pub fn wrapped_in(style: Style, text: &str, width: u16) -> impl Iterator<Item = Line<'static>> {
    wrapped(text, width).into_iter().map(move |text| Line::styled(text, style))
}

/// A row of columns as it stands where there is room; else its columns stand as close as they go, and what still has no
/// room goes on below, further in: a lot that is cut off is another lot.
pub fn in_columns(text: &str, width: u16) -> Vec<String> {
    if Span::raw(text).width() <= usize::from(width) {
        return vec![text.to_string()];
    }
    let inset = text.len() - text.trim_start().len();
    let lines = wrapped(text, width.saturating_sub(u16::try_from(inset + 2).unwrap_or(u16::MAX)));
    let further = lines.into_iter().enumerate();
    further.map(|(row, line)| " ".repeat(if row == 0 { inset } else { inset + 2 }) + &line).collect()
}

/// A framed box over what lies below, and the area inside it.
pub fn framed(buffer: &mut Buffer, area: Rect, title: &str) -> Rect {
    let area = area.intersection(buffer.area);
    Clear.render(with_its_sides(area, buffer.area), buffer);
    let block = Block::bordered()
        .border_type(BorderType::Plain)
        .border_style(theme::QUIET)
        .title(Span::styled(format!(" {title} "), theme::TITLE));
    let inside = block.inner(area);
    block.render(area, buffer);
    inside
}

/// A window with the columns beside it in which nothing would be left that can be read: of a line behind it the end
/// tells nothing, and neither does a short beginning.
fn with_its_sides(window: Rect, screen: Rect) -> Rect {
    let beside = window.left() - screen.left();
    let left = if beside < READABLE { beside } else { 1 };
    Rect::new(window.x - left, window.y, screen.right() - window.left() + left, window.height)
}

/// The middle of an area, at most so large.
pub fn middle(area: Rect, width: u16, height: u16) -> Rect {
    let (width, height) = (width.min(area.width), height.min(area.height));
    Rect::new(area.x + (area.width - width) / 2, area.y + (area.height - height) / 2, width, height)
}

/// The rows of an area from `from` on, at most `count`.
pub fn rows(area: Rect, from: u16, count: u16) -> Rect {
    let from = from.min(area.height);
    Rect::new(area.x, area.y + from, area.width, count.min(area.height - from))
}

/// The columns of an area from `from` on, at most `count`.
pub fn columns(area: Rect, from: u16, count: u16) -> Rect {
    let from = from.min(area.width);
    Rect::new(area.x + from, area.y, count.min(area.width - from), area.height)
}

/// Lines from `first` on, but no further than to the last; where more follow, how many, and the key that goes there:
/// nobody takes the last line that is seen for the end.
pub fn put_scrolled(buffer: &mut Buffer, area: Rect, lines: Vec<Line>, first: usize, key: &str) {
    let room = usize::from(area.height);
    let first = first.min(lines.len().saturating_sub(room));
    let ends = lines.len() <= first + room;
    let shown = if ends { room } else { room.saturating_sub(1) };
    let more = format!("{} {key}", counted(lines.len().saturating_sub(first + shown), "more line"));
    put_lines(buffer, area, lines.into_iter().skip(first).take(shown));
    if !ends && area.height > 0 {
        put(buffer, area, 0, area.height - 1, &more, theme::KEY);
    }
}

/// The first of `count` things to show in `room` rows so that `cursor` is among them.
pub fn first_shown(cursor: usize, count: usize, room: usize) -> usize {
    if count <= room { 0 } else { cursor.saturating_sub(room / 2).min(count - room) }
}

/// A text without spaces is broken where the room ends.
pub fn broken(text: &str, width: u16) -> Vec<String> {
    let width = usize::from(width.max(1));
    let mut parts = Vec::new();
    for line in wrapped(text, u16::try_from(width).unwrap_or(u16::MAX)) {
        let chars: Vec<char> = line.chars().collect();
        parts.extend(chars.chunks(width).map(|part| part.iter().collect()));
    }
    parts
}
