//! Help: the tables of keys, place by place.

use crate::deference::LONG;
use crate::tui::keys::*;
use crate::tui::model::{Canvas, Component, List, Session};
use crate::tui::paint::{columns, put_scrolled, theme, wrapped};
use ratatui::text::{Line, Span};

place! {
    PLACE: "Help", Shared, within EVERYWHERE;
    DOWN => "further", "further down";
    PAGE_DOWN => "", "further down";
    UP => "", "further up";
    PAGE_UP => "", "further up";
    CLOSE => "back", "back to the screen before";
}

/// The places of this screen and its overlays.
pub const PLACES: &[&Place] = &[&PLACE];

/// The help page.
#[derive(Debug, Clone)]
pub struct Help {
    scroll: usize,
    /// The place that help was asked for on.
    here: &'static Place,
}

impl Default for Help {
    fn default() -> Self {
        Help { scroll: 0, here: &EVERYWHERE }
    }
}

impl Help {
    /// Help is asked for here.
    pub fn asked_on(&mut self, here: &'static Place) {
        self.here = here;
    }
}

impl Component for Help {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn list<'a>(&'a mut self, _: &'a mut Session) -> Option<List<'a>> {
        Some(List::new(&mut self.scroll, usize::MAX))
    }

    fn entered(&mut self, _: &mut Session) {
        self.scroll = 0;
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, .. }: Canvas) {
        let area = columns(area, 1, area.width.saturating_sub(2));
        let all = lines(&session.settings.keys, &session.places, self.here, area.width);
        let step = usize::from(area.height).saturating_sub(2).max(1);
        put_scrolled(buffer, area, all, self.scroll * step, &session.key(DOWN));
    }
}

/// What a person needs to know that is not a key.
const ABOUT: &[&str] = &[
    LONG,
    "A scan is taken on any screen and goes to read-back; the Enter at its end confirms nothing.",
    "Everything is on disk before the screen says so. Nothing is deleted: undo strikes out.",
];

/// Abbreviations and words with one meaning each, as the screens use them.
pub const WORDS: &[(&str, &str)] = &[
    ("EEM", "external elastic membrane: the vessel's outer wall, seen by IVUS and OCT"),
    ("IVUS OCT QCA", "intravascular ultrasound; optical coherence tomography; quantitative angiography"),
    ("LAD RCA", "left anterior descending artery; right coronary artery"),
    ("REF LOT SN", "the maker's number of a size; the batch; the number of one piece"),
    ("GTIN DI", "the number in a label that stands for one size of one product"),
    ("GS", "the sign with which a label ends a field of no fixed length"),
    ("IFU", "instructions for use: the leaflet in the device's box"),
    ("SD", "standard deviation"),
    ("Fr atm", "French, a third of a millimetre; atmospheres above the pressure of the room"),
    ("CSV", "a table as text, as spreadsheets write it"),
    ("product", "one family of sizes, from one maker"),
    ("box, piece", "one sterile pack of one size; one physical box with its lot"),
    ("call", "a size that has been asked for"),
    ("fate", "what became of an opened box"),
    ("span", "a set of overlapping devices for one long lesion"),
    ("par", "the pieces that the shelf should hold"),
    ("strike out", "a later entry that corrects an earlier one; both stay"),
    ("case code", "five characters: the only tie between a case and a patient's record"),
];

/// The lines of the help page. What the screen has that it was asked for on comes first.
fn lines(keys: &Keys, places: &[&'static Place], here: &'static Place, width: u16) -> Vec<Line<'static>> {
    let about = ABOUT.iter().flat_map(|text| wrapped(text, width));
    let mut lines: Vec<Line> = about.map(|text| Line::styled(text, theme::QUIET)).collect();
    let rest = places.iter().copied().filter(|place| *place != here);
    for place in std::iter::once(here).chain(rest) {
        lines.push(Line::raw(""));
        lines.push(Line::styled(place.title, theme::TITLE));
        for row in place.rows {
            let spellings = keys.spellings(row.action);
            if !spellings.is_empty() {
                explained(&mut lines, &format!("  {:<18}", spellings.join("  ")), row.doc, width);
            }
        }
    }
    lines.push(Line::raw(""));
    lines.push(Line::styled("Words", theme::TITLE));
    for (word, meaning) in WORDS {
        explained(&mut lines, &format!("  {word:<18}"), meaning, width);
    }
    lines
}

/// A key or a word, and beside it what it means.
fn explained(lines: &mut Vec<Line<'static>>, head: &str, text: &str, width: u16) {
    for (place, text) in wrapped(text, width.saturating_sub(20)).into_iter().enumerate() {
        let head = if place == 0 { head.to_string() } else { " ".repeat(20) };
        lines.push(Line::from(vec![Span::styled(head, theme::KEY), Span::raw(text)]));
    }
}
