//! Opened: every box whose seal is broken, the one under the cursor in full: its inflations, what became of it.

mod after;
mod fate;
mod inflation;
mod keys;
mod overlap;

pub use inflation::balloon_down;
pub use keys::*;

use crate::case::{Inflated, Item, label_words};
use crate::journal::Fact;
use crate::tui::columns::{padded, widest};
use crate::tui::keys::*;
use crate::tui::model::{Canvas, Component, Effects, List, Session};
use crate::tui::paint::{Spot, clock, columns, first_shown, put, put_lines, rows, theme, wrapped};
use crate::units::plain;
use after::{ask_areas, ask_balloon};
use fate::{ask_fate, ask_strike};
use inflation::ask_inflation;
use overlap::{ask_overlap, lies_beside};
use ratatui::prelude::*;

/// Rows that the pane of one box in full has at least; it has those too that a short list leaves.
const DETAIL: u16 = 11;

/// The boxes of the case.
#[derive(Debug, Clone, Default)]
pub struct Opened {
    /// The box under the cursor.
    shown: usize,
    /// The box that the cursor goes to as soon as it is there.
    sought: Option<u32>,
}

impl Opened {
    pub fn item_shown<'a>(&self, session: &'a Session) -> Option<&'a Item> {
        session.world.opened().get(self.shown).copied()
    }

    /// The cursor goes to this box, or to the last one until it is there.
    pub fn show(&mut self, session: &Session, item: u32) {
        let place = session.world.opened().iter().position(|open| open.number == item);
        (self.shown, self.sought) = match place {
            Some(place) => (place, None),
            None => (usize::MAX, Some(item)),
        };
    }
}

impl Component for Opened {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        let Some(item) = self.item_shown(session).map(|item| item.number) else {
            return session.say("No box has been opened in this case");
        };
        match action {
            INFLATE => ask_inflation(session, item),
            CLOCK if session.is_up(item) => balloon_down(session, item),
            CLOCK => session.balloon_up(item),
            BALLOON => ask_balloon(session, item),
            AREAS => ask_areas(session, item),
            FATE => ask_fate(session, item),
            OVERLAP => ask_overlap(session, item),
            STRIKE => ask_strike(session, item),
            TABLE | AGAIN if session.warns_of_device(item, action) => Effects::new(),
            TABLE => session.write_in_shown_case(vec![Fact::BackOnTable { item }]),
            AGAIN => {
                let lesion = session.lesion;
                session.write_in_shown_case(vec![Fact::UsedAgain { item, lesion, call: None }])
            }
            _ => Effects::new(),
        }
    }

    fn list<'a>(&'a mut self, session: &'a mut Session) -> Option<List<'a>> {
        Some(List::new(&mut self.shown, session.world.opened().len()))
    }

    fn refresh(&mut self, session: &mut Session) {
        if let Some(item) = self.sought {
            self.show(session, item);
        }
        self.shown = self.shown.min(session.world.opened().len().saturating_sub(1));
    }

    fn offers(&self, session: &Session, action: Action) -> bool {
        match self.item_shown(session) {
            Some(item) => action != OVERLAP || lies_beside(session, item.number).is_some(),
            None => !PLACE.has(action) || [UP, DOWN].contains(&action),
        }
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, hits, .. }: Canvas) {
        let area = columns(area, 1, area.width.saturating_sub(2));
        let opened = session.world.opened();
        if opened.is_empty() {
            put(buffer, area, 0, 1, "No box has been opened in this case.", theme::STRONG);
            return;
        }
        let up = session.clocks();
        let least = if up.is_empty() { DETAIL } else { DETAIL.max(area.height / 2) };
        let all = u16::try_from(opened.len()).unwrap_or(u16::MAX);
        let list = rows(area, 1, area.height.saturating_sub(least + 2).min(all));
        let room = usize::from(list.height);
        let wide = Wide::of(&opened, area.width);
        put(
            buffer,
            area,
            0,
            0,
            &wide.row(["time", "size", "product", "lot", "lesion", "inflations", "fate"]),
            theme::TITLE,
        );
        let first = first_shown(self.shown, opened.len(), room);
        let lines = opened.iter().enumerate().skip(first).take(room).map(|(index, item)| {
            let here = index == self.shown;
            let style = if here { theme::CURSOR } else { theme::PLAIN };
            let not = if session.is_unsaved(item.seq) { " · NOT SAVED" } else { "" };
            Line::styled(format!("{}{not}", row(item, &wide)), style)
        });
        hits.add_rows(list, 0, (first..opened.len()).map(Spot::Row));
        put_lines(buffer, list, lines);
        if let Some(item) = opened.get(self.shown) {
            let pane = rows(area, list.height + 2, area.height);
            let clock = if up.is_empty() { 0 } else { pane.width * 2 / 5 };
            detail(session, item, columns(pane, 0, pane.width - clock), buffer);
            clock::draw(&up, columns(pane, pane.width - clock + 1, clock), buffer);
        }
    }
}

/// Columns of what is longer in one room than in another.
struct Wide {
    size: u16,
    name: u16,
    lot: u16,
}

/// Columns that a row has for what became of the box, and of those that are the same everywhere.
const FOR_FATE: u16 = 16;

const FIXED: u16 = 7 + 8 + 12 + 3;

impl Wide {
    /// As wide as the widest, as far as there is room for what became of the box; a lot comes before a name.
    fn of(opened: &[&Item], width: u16) -> Wide {
        let texts =
            |text: fn(&Item) -> String| -> Vec<String> { opened.iter().map(|item| text(item)).collect() };
        let of = |texts: &[String], most: u16| widest(texts.iter().map(String::as_str), 8, most);
        let size = of(&texts(size), 13);
        let room = width.saturating_sub(FIXED + FOR_FATE + size);
        let lot = of(&texts(lot), room.saturating_sub(8));
        Wide { size, lot, name: of(&texts(|item| item.label.name.clone()), room.saturating_sub(lot)) }
    }

    fn row(&self, [time, size, name, lot, lesion, inflations, fate]: [&str; 7]) -> String {
        let (size, name, lot) = (padded(size, self.size), padded(name, self.name), padded(lot, self.lot));
        format!("{time:<5}  {size} {name} {lot} {lesion:<7} {inflations:<11} {fate}")
    }
}

fn size(item: &Item) -> String {
    match (item.label.diameter, item.label.length) {
        (Some(diameter), Some(length)) => format!("{diameter} × {length}"),
        _ => item.label.reference.clone().unwrap_or_default(),
    }
}

fn lot(item: &Item) -> String {
    item.label.lot.clone().unwrap_or_else(|| "–".into())
}

fn row(item: &Item, wide: &Wide) -> String {
    let time = item.opened_at.map_or(String::new(), |at| at.format("%H:%M").to_string());
    let lesions: Vec<String> = item.lesions.iter().map(u8::to_string).collect();
    let inflations = match item.inflations.last() {
        Some(last) => format!("{} to {} atm", item.inflations.len(), plain(last.inflation.at_atm.atm())),
        None => "–".into(),
    };
    let (size, lot, lesions) = (size(item), lot(item), lesions.join(","));
    wide.row([&time, &size, &item.label.name, &lot, &lesions, &inflations, &item.fate_in_words()])
}

fn detail(session: &Session, item: &Item, area: Rect, buffer: &mut Buffer) {
    let broken = |text: &str, style: Style| {
        wrapped(text, area.width).into_iter().map(move |text| Line::styled(text, style)).collect::<Vec<_>>()
    };
    let mut lines = of_the_label(item, broken);
    let asked = match item.call.and_then(|number| session.world.case.as_ref()?.call(number)) {
        Some(call) => format!("asked for as call {}: {}", call.number, call.words()),
        None => "opened without a call".into(),
    };
    lines.extend(broken(&format!("{asked} · read back: {}", item.finding), theme::PLAIN));
    let in_play = session.world.in_play().iter().any(|there| there.number == item.number);
    if let Some(against) = session.world.against_in_play(item).filter(|_| in_play) {
        lines.extend(broken(&format!("now {}: don't use it", against.finding), theme::STOP));
    }
    if let Some(reason) = &item.reason {
        lines.extend(broken(&format!("went on because: {reason}"), theme::WARNING));
    }
    let laid = session.world.case.as_ref().map(|case| case.laid()).unwrap_or_default();
    for laid in laid.iter().filter(|laid| laid.stents.iter().any(|stent| stent.number == item.number)) {
        lines.extend(broken(&format!("as placed, lesion {}: {}", laid.lesion, laid.words()), theme::PLAIN));
    }
    if let Some(seconds) = item.pressure_open {
        let words = format!("balloon was up for {seconds} s; {} writes its pressure", session.key(INFLATE));
        lines.extend(broken(&words, theme::WARNING));
    }
    if let Some(words) = inflation::pressures(session, item) {
        lines.extend(broken(&words, theme::QUIET));
    }
    for inflated in item.inflations.iter().rev().take(3) {
        lines.extend(broken(&inflation_words(session, inflated), theme::PLAIN));
    }
    let criteria: Vec<String> = after::expansion(session, item)
        .iter()
        .flat_map(|expansion| &expansion.criteria)
        .filter(|criterion| criterion.bound.is_some())
        .filter_map(|criterion| criterion.in_words())
        .collect();
    let whole: Vec<Line> = criteria.iter().flat_map(|words| broken(words, theme::PLAIN)).collect();
    // Where there is no room for all of them whole, a line each: whether it is met stands before what it was made for.
    if lines.len() + whole.len() <= usize::from(area.height) {
        lines.extend(whole);
    } else {
        lines.extend(criteria.into_iter().map(Line::raw));
    }
    put_lines(buffer, area, lines);
}

fn of_the_label(item: &Item, broken: impl Fn(&str, Style) -> Vec<Line<'static>>) -> Vec<Line<'static>> {
    let label = &item.label;
    let or_none = |text: Option<&String>| text.cloned().unwrap_or_else(|| "–".into());
    let use_by = label.use_by.map_or("–".into(), |day| day.to_string());
    let mut lines = broken(&format!("Box {}: {}", item.number, label_words(label)), theme::TITLE);
    let numbers = format!(
        "REF {} · LOT {} · SN {} · use by {use_by}",
        or_none(label.reference.as_ref()),
        or_none(label.lot.as_ref()),
        or_none(label.serial.as_ref())
    );
    lines.extend(broken(&numbers, theme::PLAIN));
    lines
}

fn inflation_words(session: &Session, inflated: &Inflated) -> String {
    let inflation = &inflated.inflation;
    let seconds = inflation.seconds.map_or(String::new(), |seconds| format!(" for {seconds} s"));
    let chart = inflation.chart_mm.map_or(String::new(), |mm| format!(" · chart diameter {mm}, in water"));
    let past = if inflation.is_past_rated_burst() { " · PAST RATED BURST" } else { "" };
    let at = inflated.at.format("%H:%M");
    let not = if session.is_unsaved(inflated.seq) { " · NOT SAVED" } else { "" };
    format!("{at} balloon up to {} atm{seconds}{chart}{past}{not}", inflation.at_atm)
}
