//! Boxes that are received, counted or moved: how many, in letters that are read from three metres, and the last ones.

use crate::tui::keys::CLOSE;
use crate::tui::paint::{big, columns, put, put_line, put_lines, rows, theme, wrapped};
use crate::tui::state::{LastScan, Scanning, State, SumRow, tally};
use crate::units::counted;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// Rows of the big letters and of what stands above and below them.
const LIST_FROM: u16 = 12;

pub fn draw(state: &State, scanning: &Scanning, area: Rect, buffer: &mut Buffer) {
    bar(state, scanning, rows(area, 0, 1), buffer);
    let area = columns(area, 1, area.width.saturating_sub(2));
    match &scanning.sum {
        Some(changes) => sum(state, scanning, changes, area, buffer),
        None => counting(scanning, area, buffer),
    }
}

/// Unmistakable: where a scan goes now.
fn bar(state: &State, scanning: &Scanning, area: Rect, buffer: &mut Buffer) {
    let task = scanning.tally.task.words().to_uppercase();
    let words = match state.case_has_the_scanner() {
        _ if !scanning.tally.task.scans() => format!(" {task}"),
        Some(why) => format!(" NOT COUNTING: {why}"),
        None => format!(" {task} · scans are COUNTED HERE, not read back"),
    };
    buffer.set_style(area, theme::BAR);
    put(buffer, area, 0, 0, &words, theme::BAR);
}

fn counting(scanning: &Scanning, area: Rect, buffer: &mut Buffer) {
    let tally = &scanning.tally;
    let (words, style) = match &scanning.last {
        LastScan::NotCounted(_) => ("NOT COUNTED".to_string(), theme::STOP),
        LastScan::Half => (format!("{} + half", tally.count()), theme::HEED),
        _ => (tally.count().to_string(), theme::STRONG),
    };
    big::draw(buffer, rows(area, 2, 7), &words, style, &[]);
    let line = match (&scanning.last, tally.counted.last()) {
        (LastScan::NotCounted(why), _) => {
            Line::styled(format!("{} count. The last: {why}", tally.count()), theme::STOP)
        }
        (LastScan::Half, _) => Line::styled("half a label: scan its second code", theme::HEED),
        (LastScan::TakenBack(words), _) => Line::styled(format!("taken back: {words}"), theme::HEED),
        (_, Some(_)) => Line::styled("boxes, not written yet; the last ones:", theme::QUIET),
        (_, None) => Line::styled("scan the first box", theme::QUIET),
    };
    put_line(buffer, area, 0, 10, line);
    let room = usize::from(area.height.saturating_sub(LIST_FROM));
    let list = tally.counted.iter().enumerate().rev().take(room).map(|(place, one)| {
        let newest = place + 1 == tally.counted.len();
        let style = if newest { theme::STRONG } else { theme::PLAIN };
        let serial = one.piece.serial.as_ref().map(|serial| format!(" SN {serial}")).unwrap_or_default();
        let mut spans = vec![
            Span::styled(format!("{:>4}  ", place + 1), theme::QUIET),
            Span::styled(format!("{}  lot {}{serial}", one.words, one.piece.lot), style),
        ];
        if !one.heed.is_empty() {
            spans.push(Span::styled(format!("  ! {}", one.heed.join(", ")), theme::HEED));
        }
        Line::from(spans)
    });
    put_lines(buffer, rows(area, LIST_FROM, area.height), list);
}

fn sum(state: &State, scanning: &Scanning, changes: &[SumRow], area: Rect, buffer: &mut Buffer) {
    let (write, back) = (state.key(tally::WRITE), state.key(CLOSE));
    let words = if changes.is_empty() {
        format!("{}: nothing changes. {back} goes back", counted(scanning.tally.count(), "box"))
    } else {
        let rows = changes.len();
        format!(
            "Boxes: {}; rows that change: {rows}. NOT WRITTEN YET: {write} writes, {back} goes back",
            scanning.tally.count()
        )
    };
    put(buffer, area, 0, 2, &words, theme::HEED);
    let list = rows(area, 4, area.height);
    let told: Vec<Vec<Line>> = changes.iter().map(|row| change(row, list.width)).collect();
    // The last row that scrolling reaches stands at the bottom.
    let mut room = usize::from(list.height);
    let below = told.iter().rev().take_while(|lines| {
        let fits = lines.len() <= room;
        room = room.saturating_sub(lines.len());
        fits
    });
    let first = scanning.scroll.min(told.len().saturating_sub(below.count().max(1)));
    put_lines(buffer, list, told.into_iter().skip(first).flatten());
}

/// What changes in one row of the shelf; what has no room goes on below: a use-by date is not left out.
fn change(row: &SumRow, width: u16) -> Vec<Line<'static>> {
    let difference = i64::from(row.after) - i64::from(row.before);
    let style = if difference < 0 { theme::HEED } else { theme::STRONG };
    let change = format!("{difference:>+4}  {:>3} → {:<3} ", row.before, row.after);
    let inset = Span::raw(&change).width();
    let words = wrapped(&row.words, width.saturating_sub(u16::try_from(inset).unwrap_or(u16::MAX)));
    let lead = |place: usize| if place == 0 { change.clone() } else { " ".repeat(inset) };
    let lines = words.into_iter().enumerate();
    lines.map(|(place, text)| Line::from(vec![Span::styled(lead(place), style), Span::raw(text)])).collect()
}
