//! What a terminal sends, turned into strokes of a label and keys of the table.
//!
//! A keyboard has no key for a label's separators, so scanners send what they can: Ctrl+5 or Ctrl+] (what a
//! terminal makes of 0x1D), F8, or Alt with 0, 2, 9. They all become the separator before `label` sees them.

use super::keys::Key;
use super::state::Message;
use crate::label::Arrival;
use crate::label::burst::{Config, Decoded, Detector, Stroke};
use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use std::time::Instant;

const FS: char = '\u{1c}';
const GS: char = '\u{1d}';
const RS: char = '\u{1e}';
const US: char = '\u{1f}';
const EOT: char = '\u{4}';

/// A key that leaves a program which has no other keys: Esc, or the terminal's own Ctrl+C.
pub(super) fn leaves(key: Key) -> bool {
    key == Key::INTERRUPT || key.code == KeyCode::Esc
}

/// What a terminal sends as keys, decoded into keys that somebody typed and labels that were scanned.
pub(super) struct Decoder {
    mapper: Mapper,
    detector: Detector<Key>,
    started: Instant,
}

impl Decoder {
    /// `started` is before everything that arrives.
    pub(super) fn new(started: Instant) -> Self {
        Decoder { mapper: Mapper::default(), detector: Detector::new(Config::default()), started }
    }

    /// A key event and when it arrived; none of the messages may be left out. A character is held until it is known
    /// whether it was typed or scanned.
    pub(super) fn key(&mut self, at: Instant, event: KeyEvent) -> Vec<Message> {
        let Some((stroke, key)) = self.mapper.map(event) else { return Vec::new() };
        let told = self.detector.push(at.duration_since(self.started), stroke, key);
        told.into_iter().map(message).collect()
    }

    /// When [`Decoder::waited`] is to be asked; none while no character is held.
    pub(super) fn held_until(&self) -> Option<Instant> {
        self.detector.deadline().map(|since| self.started + since)
    }

    /// What was held, if nothing has arrived for long enough. Everything that arrived before `now` has to be taken in
    /// first: characters that still wait would look like a gap in a label, and run as keys.
    pub(super) fn waited(&mut self, now: Instant) -> Vec<Message> {
        self.detector.tick(now.duration_since(self.started)).into_iter().map(message).collect()
    }
}

fn message(told: Decoded<Key>) -> Message {
    match told {
        Decoded::Typed(key) => Message::Key(key),
        Decoded::Scan { text, complete } => {
            Message::Scan { bytes: text.into_bytes(), complete, arrival: Arrival::Scanned }
        }
    }
}

/// Remembers the digits of an Alt code.
#[derive(Debug, Default)]
pub struct Mapper {
    alt_digits: String,
}

impl Mapper {
    /// The stroke and the key of one event; none for a release and for the first digits of an Alt code.
    pub fn map(&mut self, event: KeyEvent) -> Option<(Stroke, Key)> {
        if event.kind == KeyEventKind::Release {
            return None;
        }
        let ctrl = event.modifiers.contains(KeyModifiers::CONTROL);
        let alt = event.modifiers.contains(KeyModifiers::ALT);
        let key = Key { code: event.code, ctrl, alt };
        if let (true, false, KeyCode::Char(digit @ '0'..='9')) = (alt, ctrl, event.code) {
            self.alt_digits.push(digit);
            if "029".starts_with(&self.alt_digits) && self.alt_digits.len() < 3 {
                return None;
            }
            let whole = std::mem::take(&mut self.alt_digits) == "029";
            return whole.then_some((Stroke::Char(GS), key));
        }
        self.alt_digits.clear();
        let stroke = match event.code {
            KeyCode::Char(c) if ctrl => match c {
                '5' | ']' => Stroke::Char(GS),
                '6' | '^' => Stroke::Char(RS),
                '4' | '\\' => Stroke::Char(FS),
                '7' | '_' => Stroke::Char(US),
                'd' => Stroke::Char(EOT),
                'j' | 'm' | 'i' => Stroke::Terminator,
                _ => Stroke::Other,
            },
            KeyCode::F(8) => Stroke::Char(GS),
            KeyCode::Char(c) if !alt => Stroke::Char(c),
            KeyCode::Enter | KeyCode::Tab => Stroke::Terminator,
            _ => Stroke::Other,
        };
        // A line feed and a carriage return are the Enter of some scanners and some terminals.
        let key = match (ctrl, event.code) {
            (true, KeyCode::Char('j' | 'm')) => Key::plain(KeyCode::Enter),
            (true, KeyCode::Char('i')) => Key::plain(KeyCode::Tab),
            _ => key,
        };
        Some((stroke, key))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn map(events: &[(KeyCode, KeyModifiers)]) -> Vec<Stroke> {
        let mut mapper = Mapper::default();
        events
            .iter()
            .filter_map(|(code, with)| mapper.map(KeyEvent::new(*code, *with)))
            .map(|(stroke, _)| stroke)
            .collect()
    }

    /// What crossterm 0.29 delivers for these bytes was measured in a pseudo-terminal.
    #[test]
    fn every_way_of_sending_the_separator_arrives_as_the_separator() {
        let ctrl = |c| (KeyCode::Char(c), KeyModifiers::CONTROL);
        let alt = |c| (KeyCode::Char(c), KeyModifiers::ALT);
        for events in [
            vec![ctrl('5')],
            vec![ctrl(']')],
            vec![(KeyCode::F(8), KeyModifiers::NONE)],
            vec![alt('0'), alt('2'), alt('9')],
        ] {
            assert_eq!(map(&events), vec![Stroke::Char(GS)], "{events:?}");
        }
    }

    #[test]
    fn a_capital_is_text_and_a_line_feed_ends_a_burst() {
        assert_eq!(map(&[(KeyCode::Char('A'), KeyModifiers::SHIFT)]), vec![Stroke::Char('A')]);
        assert_eq!(map(&[(KeyCode::Char('j'), KeyModifiers::CONTROL)]), vec![Stroke::Terminator]);
    }
}
