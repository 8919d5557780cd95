//! The second monitor: what is asked for, at hand and open on the table, and the most pressing thing very large.
//!
//! In this order: the room is not followed; a label that was read; a balloon that is up; the call to fetch.

use crate::case::{Bearing, UndecidedReadBack, label_words, wanted_words};
use crate::journal::Readiness;
use crate::tui::keys::CLOSE;
use crate::tui::paint::{
    beside, big, card, clock, columns, cut, plate, put, put_line, put_lines, rows, theme, wrapped, wrapped_in,
};
use crate::tui::state::Far;
use crate::units::{by_count, counted};
use ratatui::prelude::*;

/// From this size on the lists are large too.
const LARGE: (u16, u16) = (120, 36);
/// Rows of a thing in a large list, the line of words below it and a blank one included.
const EACH: u16 = 9;
/// Rows for the headline and the box before anything below them is large.
const FOR_BOX: u16 = 20;
/// From this width on the clock stands beside what else is large.
const WIDE: u16 = 140;
/// At these widths who decides has a row of its own: the whole line is too long for the heading.
const DECIDES_BELOW: std::ops::Range<u16> = 160..200;

/// Draws the whole far view.
pub fn draw(far: &Far, look: super::Look, area: Rect, buffer: &mut Buffer) {
    if area.width < super::SMALLEST.0 || area.height < super::SMALLEST.1 {
        super::too_small(0, area, buffer);
    } else {
        whole(far, area, buffer);
    }
    theme::finish(buffer, look);
    crate::tui::paint::glyphs::finish(buffer, look.glyphs);
}

fn whole(far: &Far, area: Rect, buffer: &mut Buffer) {
    heading(far, area, buffer);
    let mut top = 1;
    for words in bars(far) {
        let line = rows(area, top, 1);
        buffer.set_style(line, theme::BAR);
        put(buffer, line, 1, 0, &words, theme::BAR);
        top += 1;
    }
    // A label that was read has the room of the lists: its next step is read from where they are not.
    let large = area.width >= LARGE.0 && area.height >= LARGE.1 && far.read_shown().is_none();
    let lists = three(far);
    let below = if large { lists_rows(&lists, area.height) } else { 3 };
    let decides = u16::from(DECIDES_BELOW.contains(&area.width));
    let stage_rows = area.height.saturating_sub(top + below + decides + 1);
    stage(far, columns(rows(area, top, stage_rows), 1, area.width.saturating_sub(2)), buffer);
    let lists_area = columns(rows(area, top + stage_rows, below), 1, area.width.saturating_sub(2));
    if large {
        lists_large(&lists, lists_area, buffer);
    } else {
        lists_small(&lists, lists_area, buffer);
    }
    if decides > 0 {
        put(
            buffer,
            rows(area, area.height - 2, 1),
            1,
            0,
            super::frame::who_decides(area.width),
            theme::QUIET,
        );
    }
    message(far, rows(area, area.height - 1, 1), buffer);
}

fn heading(far: &Far, area: Rect, buffer: &mut Buffer) {
    let mut spans = vec![Span::styled(" boxcall far ", theme::TITLE)];
    match &far.world.case {
        Some(case) => {
            spans.push(Span::raw(" case "));
            spans.push(Span::styled(case.code.to_string(), theme::STRONG));
            if case.signed.is_some() {
                spans.push(Span::styled(" signed off", theme::WARNING));
            }
        }
        None => spans.push(Span::styled(" no case open", theme::QUIET)),
    }
    if !DECIDES_BELOW.contains(&area.width) {
        spans.push(Span::styled(format!(" · {}", super::frame::who_decides(area.width)), theme::QUIET));
    }
    let room = area.width.saturating_sub(10);
    let demo = Span::styled(" · demo room", theme::QUIET);
    if far.world.demo && spans.iter().map(Span::width).sum::<usize>() + demo.width() <= usize::from(room) {
        spans.push(demo);
    }
    put_line(buffer, columns(area, 0, room), 0, 0, Line::from(spans));
    // The seconds run while this program does: a picture that stands still is seen to.
    let time = far.world.now.format("%H:%M:%S").to_string();
    put(buffer, area, area.width.saturating_sub(9), 0, &time, theme::STRONG);
}

fn bars(far: &Far) -> Vec<String> {
    let mut bars = Vec::new();
    if let Some(lost) = &far.lost {
        bars.push(format!("ROOM NOT FOLLOWED SINCE {}", lost.since.format("%H:%M:%S")));
    }
    if let Some(why) = &far.world.broken {
        bars.push(super::frame::does_not_hold(why));
    }
    bars.extend(far.world.date_in_doubt().map(|doubt| super::frame::in_doubt(&doubt)));
    let unsaved = far.heard.unsaved;
    if unsaved > 0 {
        let (entries, them) = (counted(unsaved, "entry"), by_count(unsaved, "it", "them"));
        bars.push(format!("NOT SAVED: {entries} on the other screen. What stands here lacks {them}"));
    }
    if let Some(since) = far.silent_since {
        bars.push(format!(
            "OTHER SCREEN NOT HEARD SINCE {}: a label read there is not shown here",
            since.format("%H:%M:%S")
        ));
    }
    bars
}

fn stage(far: &Far, area: Rect, buffer: &mut Buffer) {
    if let Some(lost) = &far.lost {
        let high = area.height.saturating_sub(4);
        let taken = plate::draw(buffer, rows(area, 0, high), "NOT FOLLOWED", Bearing::Against);
        let mut lines: Vec<Line> = wrapped_in(theme::STRONG, &lost.why, area.width).collect();
        lines.push(Line::styled(
            "It is tried again all the time. Below stands what was known then.",
            theme::WARNING,
        ));
        put_lines(buffer, rows(area, taken + 1, area.height), lines);
        return;
    }
    let clocks = far.clocks();
    let (label, call, brought) = (far.read_shown(), far.call_shown(), far.card());
    let alone = label.is_none() && brought.is_none();
    let rest = match (clocks.is_empty(), alone) {
        (true, _) => area,
        (false, true) => {
            clock::draw(&clocks, area, buffer);
            return;
        }
        (false, false) if area.width >= WIDE => {
            let left = area.width * 3 / 5;
            clock::draw(&clocks, columns(area, left + 2, area.width), buffer);
            columns(area, 0, left)
        }
        (false, false) => {
            let high = if label.is_some() { 5 } else { 8 };
            let taken = clock::draw(&clocks, rows(area, 0, high.max(area.height / 3)), buffer);
            rows(area, taken + 1, area.height)
        }
    };
    match (&label, call, brought) {
        (Some(reading), ..) => read(reading, rest, buffer),
        (None, Some(call), Some(brought)) => {
            card::draw(call, &brought, "", rest, buffer);
        }
        _ => nothing(far, rest, buffer),
    }
}

/// A label that was read: the headline, the box beside the call, every field that differs, the next step.
fn read(reading: &UndecidedReadBack, area: Rect, buffer: &mut Buffer) {
    let signal = &reading.signal;
    let next = (format!("▸ {}", signal.next), theme::STRONG);
    let mut texts: Vec<(String, Style)> =
        signal.differing.iter().map(|words| (words.clone(), plate::style(signal.bearing))).collect();
    if texts.is_empty() {
        texts.push((reading.words.clone(), theme::STRONG));
    }
    let lines = |words: &str| u16::try_from(wrapped(words, area.width).len()).unwrap_or(u16::MAX);
    let told = texts.iter().fold(0u16, |rows, (words, _)| rows.saturating_add(lines(words)));
    // The next step is large before the fields are: they stand in the box beside the call.
    let for_next = big::least_rows(&next.0, area.width).map(|high| high + 1);
    let for_next = for_next.filter(|high| area.height.saturating_sub(told + high) >= FOR_BOX);
    let least = told + for_next.unwrap_or(lines(&next.0));
    let large = area.height.saturating_sub(least);
    let large = large - large.saturating_sub(FOR_BOX + 4) / 2;
    let for_box = if signal.beside.is_some() && large >= 11 { (large * 9 / 20).max(5) } else { 0 };
    let mut taken = plate::draw(buffer, rows(area, 0, large - for_box), &signal.big, signal.bearing);
    if let Some(beside) = signal.beside.as_ref().filter(|_| for_box > 0) {
        taken += beside::draw(buffer, rows(area, taken, large - taken), beside);
    }
    let below = rows(area, taken, area.height);
    if for_next.is_none() {
        texts.push(next);
        big::stack(buffer, below, &texts, big::Size::MOST);
        return;
    }
    let half = (below.height.saturating_sub(least) / 2).saturating_add(told + 1);
    let used = big::stack(buffer, rows(below, 0, half), &texts, big::Size::MOST);
    big::stack(buffer, rows(below, used + 1, below.height), &[next], big::Size::MOST);
}

fn nothing(far: &Far, area: Rect, buffer: &mut Buffer) {
    let words = if far.is_over() { "NO CASE IS OPEN" } else { "NOTHING TO FETCH" };
    let high = (area.height / 2).max(4);
    big::draw(buffer, rows(area, area.height.saturating_sub(high) / 2, high), words, theme::QUIET, &[]);
}

/// A list in few letters: its title, and a line a thing in large letters and in words.
struct List {
    title: &'static str,
    things: Vec<(String, String)>,
}

fn three(far: &Far) -> [List; 3] {
    let short = |size: Option<String>, name: &str| size.unwrap_or_else(|| name.to_string());
    let asked = far.others_asked().into_iter().map(|call| {
        let size = call.wanted.diameter.zip(call.wanted.length);
        let ready = if call.readiness == Readiness::HaveReady { ", have it ready" } else { "" };
        let words = wanted_words(&call.wanted);
        let big = short(size.map(|(d, l)| crate::case::size_letters(d, l)), &words);
        (big, format!("call {}: {words}{ready}", call.number))
    });
    let item = |item: &crate::case::Item| {
        let size = item.label.diameter.zip(item.label.length);
        let words = label_words(&item.label);
        let lot = item.label.lot.as_ref().map_or(String::new(), |lot| format!(", lot {lot}"));
        (short(size.map(|(d, l)| crate::case::size_letters(d, l)), &words), format!("{words}{lot}"))
    };
    let at_hand = far.world.at_hand().into_iter().map(|thing| {
        let (big, words) = item(thing);
        let call = thing.call.map_or(String::new(), |call| format!(", for call {call}"));
        let now = far.finding_at_hand(thing).map_or(String::new(), |back| format!(", now {}", back.finding));
        (big, format!("{words}{call}{now}"))
    });
    let open = far.on_the_table().into_iter().map(|thing| {
        let (big, words) = item(thing);
        let time = thing.opened_at.map_or(String::new(), |at| at.format("%H:%M ").to_string());
        (big, format!("{time}{words}"))
    });
    [
        List {
            title: if far.shows_a_call() { "asked for too" } else { "asked for" },
            things: asked.collect(),
        },
        List { title: "at hand, unopened", things: at_hand.collect() },
        List { title: "open on the table", things: open.collect() },
    ]
}

/// One line a list: what has no room is counted.
fn lists_small(lists: &[List], area: Rect, buffer: &mut Buffer) {
    for (row, list) in (0..).zip(lists) {
        let mut spans = vec![Span::styled(format!("{:<18} ", list.title), theme::TITLE)];
        if list.things.is_empty() {
            spans.push(Span::styled("nothing", theme::QUIET));
        }
        let mut room = usize::from(area.width).saturating_sub(19 + 4);
        for (told, (_, words)) in list.things.iter().enumerate() {
            let words = format!("{words}   ");
            let wide = Span::raw(&words).width();
            if wide > room && told > 0 {
                spans.push(Span::styled(format!("+{}", list.things.len() - told), theme::STRONG));
                break;
            }
            room = room.saturating_sub(wide);
            spans.push(Span::styled(words, theme::STRONG));
        }
        put_line(buffer, area, 0, row, Line::from(spans));
    }
}

/// Rows for the lists: what the longest needs, up to a third of the screen.
fn lists_rows(lists: &[List], height: u16) -> u16 {
    let most = lists.iter().map(|list| list.things.len()).max().unwrap_or(0);
    let wanted = u16::try_from(most).unwrap_or(u16::MAX).saturating_mul(EACH).saturating_add(2);
    wanted.min(height / 3)
}

/// A column a list, each thing in large letters with its words below.
fn lists_large(lists: &[List], area: Rect, buffer: &mut Buffer) {
    let wide = area.width / 3;
    for (place, list) in (0..).zip(lists) {
        let column = columns(area, place * wide, wide - 2);
        let count = list.things.len();
        put(buffer, column, 0, 0, &format!("{} ({count})", list.title), theme::TITLE);
        let room = column.height.saturating_sub(2);
        let shown = u16::try_from(count).unwrap_or(u16::MAX).clamp(1, (room / 6).max(1));
        let share = room / shown;
        let mut taken = 1;
        for (big, words) in list.things.iter().take(usize::from(shown)) {
            let high = share.saturating_sub(2).min(11);
            taken += big::draw(buffer, rows(column, taken, high), big, theme::STRONG, &[]);
            put(buffer, column, 0, taken, words, theme::PLAIN);
            taken += 2;
        }
        let left = count.saturating_sub(usize::from(shown));
        if left > 0 {
            put(buffer, column, 0, column.height - 1, &format!("+{left}"), theme::STRONG);
        }
    }
}

/// What was written last, or that nothing can be done here.
fn message(far: &Far, line: Rect, buffer: &mut Buffer) {
    let leave = far.keys.spelling(CLOSE);
    let words = match far.world.case.as_ref().and_then(|case| case.story.last()) {
        _ if far.key_refused => "Nothing is typed or scanned here: go to the other screen".to_string(),
        Some(last) => format!("written {}: {}", last.at.format("%H:%M:%S"), last.words),
        None => "Nothing is written in a case yet".to_string(),
    };
    let style = if far.key_refused { theme::WARNING } else { theme::PLAIN };
    let looks_on = if line.width < LARGE.0 { "" } else { "looks on, writes nothing · " };
    let end = [
        Span::styled(looks_on, theme::QUIET),
        Span::styled(leave, theme::KEY),
        Span::styled(" leaves ", theme::QUIET),
    ];
    let wide = u16::try_from(end.iter().map(Span::width).sum::<usize>()).unwrap_or(0);
    let room = line.width.saturating_sub(wide + 2);
    put(buffer, columns(line, 0, room), 1, 0, &cut(&words, usize::from(room) - 1), style);
    put_line(buffer, columns(line, room + 1, line.width), 0, 0, Line::from(end.to_vec()));
}
