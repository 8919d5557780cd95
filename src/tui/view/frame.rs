//! What stands on every screen: the case, the screens, the boxes opened last, who decides, what was written, the keys.

use crate::case::label_words;
use crate::deference::{FOOTER, LINE};
use crate::journal::Doubt;
use crate::tui::keys::*;
use crate::tui::model::Screen;
use crate::tui::paint::{Hits, Spot, columns, cut, put, put_line, rows, theme};
use crate::tui::state::State;
use crate::units::{by_count, counted};
use ratatui::prelude::*;
use ratatui::widgets::Widget;

/// From so many columns on the whole line is shown.
const FULL: u16 = 160;

const TABS: &[(Screen, Action, &str)] = &[
    (Screen::Sizes, GO_SIZES, "Sizes"),
    (Screen::Fetch, GO_FETCH, "Fetch"),
    (Screen::ReadBack, GO_READ_BACK, "Read-back"),
    (Screen::Opened, GO_OPENED, "Opened"),
    (Screen::CaseEnd, GO_CASE_END, "Case end"),
    (Screen::Shelf, GO_SHELF, "Shelf"),
    (Screen::BailOut, GO_BAIL_OUT, "Bail-out"),
];

/// Draws the frame and returns the area that is left for the screen.
pub fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) -> Rect {
    put_line(
        buffer,
        columns(area, 0, area.width.saturating_sub(7)),
        0,
        0,
        heading(state, usize::from(area.width).saturating_sub(7)),
    );
    let time = state.world.now.format("%H:%M").to_string();
    put(buffer, area, area.width.saturating_sub(6), 0, &time, theme::STRONG);
    let tabs = tabs(state, rows(area, 1, 1), hits);
    let above_said = rows(area, area.height - 3, 1);
    let decides = who_decides(area.width);
    // A row is wide enough for the whole line, or for the boxes opened last and its short form.
    let opened = if decides == LINE {
        put(buffer, above_said, 1, 0, decides, theme::QUIET);
        columns(rows(area, 1, 1), columns_of(&tabs.spans) + 2, area.width)
    } else {
        let at = area.width - columns_of(&[Span::raw(decides)]) - 1;
        put(buffer, above_said, at, 0, decides, theme::QUIET);
        columns(above_said, 0, at - 1)
    };
    put_line(buffer, area, 0, 1, tabs);
    put_line(buffer, opened, 0, 0, strip(state, opened.width));
    said(state, area, buffer);
    let foot = rows(area, area.height - 1, 1);
    put_line(buffer, foot, 0, 0, footer(state, foot, hits));
    let mut top = 2;
    let date = state
        .world
        .date_in_doubt()
        .map(|doubt| format!("{} {} confirms it", in_doubt(&doubt), state.key(CONFIRM_DATE)));
    for words in state.world.broken.as_deref().map(does_not_hold).into_iter().chain(date) {
        let bar = rows(area, top, 1);
        buffer.set_style(bar, theme::BAR);
        put(buffer, bar, 1, 0, &words, theme::BAR);
        top += 1;
    }
    rows(area, top, area.height - 3 - top)
}

/// The bar of a date that nobody has confirmed.
pub fn in_doubt(doubt: &Doubt) -> String {
    format!("CHECK THE DATE: computer {}, journal {}.", doubt.clock, doubt.last)
}

/// Who decides, in as many words as a screen of so many columns has room for.
pub fn who_decides(width: u16) -> &'static str {
    if width < FULL { FOOTER } else { LINE }
}

/// The bar of a journal of which an entry says something else than was written.
pub fn does_not_hold(why: &str) -> String {
    format!("THE JOURNAL DOES NOT HOLD: {why}")
}

fn heading(state: &State, room: usize) -> Line<'static> {
    let mut spans = vec![Span::styled(" boxcall ", theme::TITLE)];
    match &state.world.case {
        Some(case) => {
            spans.push(Span::raw(" case "));
            spans.push(Span::styled(case.code.to_string(), theme::STRONG));
            if let Some(signed) = &case.signed {
                let words = if signed.unsettled == 0 {
                    " signed off".into()
                } else {
                    format!(" signed with {} unsettled", signed.unsettled)
                };
                spans.push(Span::styled(words, theme::WARNING));
            }
        }
        None => spans.push(Span::styled(" no case open", theme::QUIET)),
    }
    spans.push(Span::raw(format!(" · lesion {}", state.lesion)));
    let waiting = state.world.waiting().len();
    if waiting > 0 {
        spans.push(Span::styled(format!(" · {waiting} to fetch"), theme::STRONG));
    }
    let at_hand = state.world.at_hand().len();
    if at_hand > 0 {
        spans.push(Span::raw(format!(" · {at_hand} at hand")));
        if let Some(stop) = state.stop_at_hand() {
            spans.push(Span::styled(format!(": {}", stop.finding()), theme::STOP));
        }
    }
    if let Some(tally) = state.tally.as_ref().filter(|_| state.screen() != Screen::Shelf) {
        spans.push(Span::styled(format!(" · {} counted on Shelf", tally.tally.count()), theme::WARNING));
    }
    if let Some(seconds) = state.balloon_seconds() {
        spans.push(Span::styled(format!(" · BALLOON UP {}:{:02}", seconds / 60, seconds % 60), theme::STOP));
    }
    if state.world.shelf.is_being_read() {
        spans.push(Span::styled(" · reading the shelf", theme::WARNING));
    } else if state.world.shelf.unread().is_some() {
        spans.push(Span::styled(" · SHELF NOT READ", theme::STOP));
    }
    let demo = Span::styled(" · demo room", theme::QUIET);
    if state.world.demo && spans.iter().map(Span::width).sum::<usize>() + demo.width() <= room {
        spans.push(demo);
    }
    Line::from(spans)
}

fn tabs(state: &State, line: Rect, hits: &mut Hits) -> Line<'static> {
    let mut spans = vec![Span::raw(" ")];
    let mut left = 1;
    for (screen, action, name) in TABS {
        let style = if *screen == state.screen() { theme::CURSOR } else { theme::PLAIN };
        let tab = [Span::styled(state.key(*action), theme::KEY), Span::styled(format!(" {name} "), style)];
        let wide = columns_of(&tab);
        hits.add_in_row(line, left, 0, wide, Spot::Key(*action));
        left = left.saturating_add(wide);
        spans.extend(tab);
    }
    Line::from(spans)
}

fn columns_of(spans: &[Span]) -> u16 {
    u16::try_from(spans.iter().map(Span::width).sum::<usize>()).unwrap_or(u16::MAX)
}

/// The boxes opened last, newest first, each with what became of it. The newest is always there, cut where it has to
/// be: its name first, then its fate. What has no room is counted.
fn strip(state: &State, width: u16) -> Line<'static> {
    const TITLE: &str = " opened ";
    const GAP: usize = 3;
    /// Time, size and the beginning of a name.
    const LEAST: usize = 22;
    let opened = state.world.opened();
    let mut spans = vec![Span::styled(TITLE, theme::QUIET)];
    if opened.is_empty() {
        spans.push(Span::styled("nothing yet", theme::QUIET));
    }
    let mut room = usize::from(width).saturating_sub(TITLE.len());
    for (told, item) in opened.iter().rev().enumerate() {
        let older = opened.len() - told - 1;
        let for_count = if older > 0 { format!("+{older}").len() + GAP } else { 0 };
        let fate = item.fate_in_words();
        let time = item.opened_at.map_or(String::new(), |at| at.format("%H:%M ").to_string());
        let not = if state.is_unsaved(item.seq) { "NOT SAVED " } else { "" };
        let words = format!("{not}{time}{} ", label_words(&item.label));
        let (for_words, for_fate) = (Span::raw(&words).width(), Span::raw(&fate).width());
        let free = room.saturating_sub(for_count);
        let fits = for_words + for_fate <= free;
        if !fits && told > 0 {
            spans.push(Span::styled(format!("+{}", older + 1), theme::STRONG));
            break;
        }
        room = room.saturating_sub(for_words + for_fate + GAP);
        let (words, fate) = if fits {
            (words, fate)
        } else {
            let fate = cut(&fate, free.saturating_sub(for_words.min(not.len() + LEAST)));
            (cut(&words, free.saturating_sub(Span::raw(&fate).width() + 1)) + " ", fate)
        };
        let style = if item.fate.is_none() { theme::WARNING } else { theme::QUIET };
        spans.extend([Span::raw(words), Span::styled(fate, style), Span::raw(" ".repeat(GAP))]);
    }
    Line::from(spans)
}

fn said(state: &State, area: Rect, buffer: &mut Buffer) {
    let line = rows(area, area.height - 2, 1);
    let count = state.unsaved.count();
    if count > 0 {
        let key = state.key_here(TRY_AGAIN);
        let waits = format!("{} {}", counted(count, "entry"), by_count(count, "waits", "wait"));
        let words = format!(" NOT SAVED: {waits}. {key}: what to do. {}", state.said.words);
        buffer.set_style(line, theme::BAR);
        Line::styled(words, theme::BAR).render(line, buffer);
    } else if state.said.written {
        put_line(buffer, line, 0, 0, written(state, line.width));
    } else if state.said.warns {
        put(buffer, line, 0, 0, &format!(" ! {}", state.said.words), theme::WARNING);
    } else {
        put(buffer, line, 1, 0, &state.said.words, theme::PLAIN);
    }
}

/// What has just been written down, and the key that strikes it out: that stays in sight however long the words are.
fn written(state: &State, width: u16) -> Line<'static> {
    let key = state.key(UNDO);
    let undo = if state.can_take_back() { " strikes it out" } else { "" };
    let around = if undo.is_empty() { 0 } else { key.len() + undo.len() + 3 };
    let room = usize::from(width).saturating_sub(around + 11);
    let style = if state.said.warns { theme::WARNING } else { theme::PLAIN };
    let words = Span::styled(cut(&state.said.words, room), style);
    let mut spans = vec![Span::styled(" written: ", theme::QUIET), words];
    if !undo.is_empty() {
        spans.extend([Span::raw("  "), Span::styled(key, theme::KEY), Span::styled(undo, theme::QUIET)]);
    }
    Line::from(spans)
}

/// The keys of the moment: as many of the place's own as there is room for, then those of everywhere. Help comes
/// last and always stands there.
fn footer(state: &State, line: Rect, hits: &mut Hits) -> Line<'static> {
    let front = state.front();
    if front.any_key().is_some() {
        hits.add(line, Spot::Covered);
        let own = front
            .place(state)
            .rows
            .iter()
            .map(|row| format!(" {} begins {} ·", state.key(row.action), row.short));
        return Line::styled(format!("{} any key goes on", own.collect::<String>()), theme::KEY);
    }
    let place = state.place();
    let everywhere = EVERYWHERE.rows.iter().filter(|row| !place.has_own_letters() && row.action != HELP);
    let help = || EVERYWHERE.rows.iter().filter(|row| row.action == HELP);
    let words = |row: &Row| format!(" {}  ", row.short);
    let wide = |row: &Row| Span::raw(state.key(row.action)).width() + Span::raw(words(row)).width();
    let mut room = usize::from(line.width) - 1 - help().map(wide).sum::<usize>();
    let mut spans = vec![Span::raw(" ")];
    let has_key = |row: &Row| !state.settings.keys.of(row.action).is_empty();
    let fitting = place
        .rows
        .iter()
        .chain(everywhere)
        .filter(|row| !row.short.is_empty() && has_key(row) && state.offers(row.action))
        .filter(|row| {
            let fits = wide(row) <= room;
            room = if fits { room - wide(row) } else { room };
            fits
        });
    let mut left = 1;
    for row in fitting.collect::<Vec<_>>().into_iter().chain(help()) {
        let button =
            [Span::styled(state.key(row.action), theme::KEY), Span::styled(words(row), theme::QUIET)];
        let wide = columns_of(&button);
        hits.add_in_row(line, left, 0, wide.saturating_sub(1), Spot::Key(row.action));
        left = left.saturating_add(wide);
        spans.extend(button);
    }
    Line::from(spans)
}
