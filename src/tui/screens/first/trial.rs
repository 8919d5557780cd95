//! The page that shows what a scanner sends while it is tried.

use crate::label::Arrival;
use crate::tui::keys::*;
use crate::tui::model::{Canvas, Component, Effects, Session};
use crate::tui::paint::{broken, framed, middle, put, put_lines, rows, theme};
use crate::tui::scan_report;
use chrono::Datelike;
use ratatui::text::{Line, Span};

// The page that shows what a scanner sends.
place! {
    PLACE: "Trying a scanner", Text, within EVERYWHERE;
    CLOSE => "back", "enough of it";
}

/// How many loose keys are shown.
const LOOSE: usize = 40;

/// What a scanner sent while it was tried.
#[derive(Debug, Clone, Default)]
pub struct Trial {
    /// The last scan, line by line.
    lines: Vec<String>,
    /// Keys that came one by one: typed, or sent too slowly for a scan.
    loose: String,
}

impl Component for Trial {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    /// A key that came alone.
    fn typed(&mut self, _: &mut Session, c: char) -> Effects {
        self.loose.push(c);
        if self.loose.chars().count() > LOOSE {
            self.loose = self.loose.chars().skip(1).collect();
        }
        Effects::new()
    }

    /// It is shown, and nothing of it is kept.
    fn scanned(&mut self, session: &Session, bytes: &[u8], complete: bool, _: Arrival) -> bool {
        self.lines = scan_report::report(bytes, complete, session.world.today().year());
        self.loose.clear();
        true
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, .. }: Canvas) {
        let width = area.width.saturating_sub(4).min(110);
        let inside = framed(buffer, middle(area, width, 16), "Try the scanner: nothing of it is kept");
        let mut lines: Vec<Line> = Vec::new();
        if self.lines.is_empty() && self.loose.is_empty() {
            lines.push(Line::styled(" Scan any box, a whole label with lot or serial.", theme::STRONG));
            lines.push(Line::styled(
                " A label's separator (GS) and an Enter at its end should arrive.",
                theme::QUIET,
            ));
        }
        for text in self.lines.iter().filter(|text| !text.is_empty()) {
            let head: String = text.chars().take(12).collect();
            let rest: String = text.chars().skip(12).collect();
            let style = match head.trim() {
                "to set" | "refused" | "but" | "at its end" => theme::WARNING,
                "understood" => theme::GOOD,
                _ => theme::PLAIN,
            };
            for (place, part) in broken(&rest, width.saturating_sub(16)).into_iter().enumerate() {
                let head = if place == 0 { head.as_str() } else { "" };
                lines.push(Line::from(vec![
                    Span::styled(format!(" {head:<12}"), theme::QUIET),
                    Span::styled(part, style),
                ]));
            }
        }
        if !self.loose.is_empty() {
            lines.push(Line::styled(
                format!(" key by key  {}  (typed, or sent too slowly for a scan)", self.loose),
                theme::WARNING,
            ));
        }
        put_lines(buffer, rows(inside, 0, inside.height.saturating_sub(1)), lines);
        let words = format!("{} goes back", session.key(CLOSE));
        put(buffer, inside, 1, inside.height.saturating_sub(1), &words, theme::STRONG);
    }
}
