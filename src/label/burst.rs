//! A scan told from typing, by the gaps between the strokes.
//!
//! Invariant: pure; instants come in, no clock is read and no key of a terminal is known. What the caller's own
//! key event is (`K`) is carried along and given back, never looked at.
//!
//! A paste is not a stroke: the caller hands it to the reader by itself, as a label of unknown origin.
//!
//! A printable stroke is held for `gap`. A further one within it makes a burst, and the characters of a burst of
//! `min_len` or more are never given out as keys: they would run as commands.

use std::time::Duration;

/// What a stroke means to the detector.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    /// A printable character, or one of the control characters GS, RS, FS, US and EOT, which labels hold.
    Char(char),
    /// Enter, Tab, line feed: what scanners send behind a label.
    Terminator,
    /// Any other key: it ends what is held and passes at once.
    Other,
}

/// How bursts are told from typing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Config {
    gap: Duration,
    min_len: usize,
    max_len: usize,
}

impl Config {
    /// The shortest and the longest gap that can be set. People type with 60 to 100 ms a key, scanners with 1 to 8;
    /// a network between them adds its own.
    pub const GAPS: [Duration; 2] = [Duration::from_millis(20), Duration::from_millis(200)];

    /// With another gap. `None` outside [`Config::GAPS`].
    pub fn with_gap(gap: Duration) -> Option<Self> {
        let [least, most] = Self::GAPS;
        (least <= gap && gap <= most).then(|| Config { gap, ..Config::default() })
    }

    /// The longest time between two characters of one burst.
    pub fn gap(&self) -> Duration {
        self.gap
    }
}

impl Default for Config {
    /// 50 ms; a burst has at least 6 characters; at most 512 are held, so a stuck scanner does no harm.
    fn default() -> Self {
        Config { gap: Duration::from_millis(50), min_len: 6, max_len: 512 }
    }
}

/// What the detector has made out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Decoded<K> {
    /// A key that somebody typed: exactly the event that came in.
    Typed(K),
    /// A burst. Without its terminator it is not complete: show it, never book it.
    Scan {
        /// As it came, without the terminator.
        text: String,
        /// It ended with one.
        complete: bool,
    },
}

/// Holds strokes until it is known what they are. Ask for `deadline` and call `tick` then.
#[derive(Debug, Clone)]
pub struct Detector<K> {
    config: Config,
    held: Vec<(char, K)>,
    /// The instant of the last stroke held.
    last: Duration,
    /// The instant of the last terminator of a scan.
    ended: Option<Duration>,
    /// Until then, what comes is the rest of a burst that broke off: no key, and never complete.
    broken: Option<Duration>,
}

/// A stall in the middle of a scan is over within so many gaps.
const STALL: u32 = 4;

impl<K> Detector<K> {
    /// Nothing is held yet.
    pub fn new(config: Config) -> Self {
        Detector { config, held: Vec::new(), last: Duration::ZERO, ended: None, broken: None }
    }

    /// When `tick` must be called; `None` if nothing is held. In the time that `push` is given.
    pub fn deadline(&self) -> Option<Duration> {
        (!self.held.is_empty()).then(|| self.last.saturating_add(self.config.gap))
    }

    /// Takes a stroke and the key event that brought it. Instants since any start; they must not run backwards.
    pub fn push(&mut self, now: Duration, stroke: Stroke, key: K) -> Vec<Decoded<K>> {
        let mut told = self.tick(now);
        let is_tail = self.ended.is_some_and(|ended| now < ended.saturating_add(self.config.gap));
        if self.held.is_empty() && self.broken.is_some_and(|until| now >= until) {
            self.broken = None;
        }
        let is_rest = self.broken.is_some();
        match stroke {
            // A control character behind the terminator, as some scanners send EOT, belongs to the scan.
            Stroke::Char(c) if c.is_control() && self.held.is_empty() && is_tail => self.ended = Some(now),
            Stroke::Char(c) => {
                self.last = now;
                self.ended = None;
                if self.held.len() < self.config.max_len {
                    self.held.push((c, key));
                } else if !self.is_one_key() {
                    self.flush(now, false, &mut told);
                    self.held.push((c, key));
                }
            }
            // CR and LF: the second must not confirm what the scan has just opened.
            Stroke::Terminator
                if crate::control::holds("terminator-confirms-nothing")
                    && self.held.is_empty()
                    && (is_tail || is_rest) =>
            {
                self.ended = Some(now);
            }
            Stroke::Terminator if is_rest => {
                self.flush(now, false, &mut told);
                self.ended = Some(now);
            }
            Stroke::Terminator if self.held.len() >= self.config.min_len => {
                self.flush(now, true, &mut told);
                self.ended = Some(now);
            }
            Stroke::Terminator | Stroke::Other => {
                self.flush(now, false, &mut told);
                self.ended = None;
                told.push(Decoded::Typed(key));
            }
        }
        told
    }

    /// Gives out what was held for longer than the gap.
    pub fn tick(&mut self, now: Duration) -> Vec<Decoded<K>> {
        let mut told = Vec::new();
        if let Some(deadline) = self.deadline().filter(|deadline| now >= *deadline) {
            self.flush(deadline, false, &mut told);
        }
        told
    }

    /// Everything held is one and the same character.
    fn is_one_key(&self) -> bool {
        self.held.windows(2).all(|pair| pair[0].0 == pair[1].0)
    }

    fn flush(&mut self, now: Duration, complete: bool, told: &mut Vec<Decoded<K>>) {
        let one_key = self.is_one_key();
        let held = std::mem::take(&mut self.held);
        if held.is_empty() {
            return;
        }
        if held.len() < self.config.min_len && self.broken.is_none() {
            told.extend(held.into_iter().map(|(_, key)| Decoded::Typed(key)));
            return;
        }
        // No label is one character over and over: a key is held down, or something is on it. It counts once.
        if one_key && !complete && self.broken.is_none() && crate::control::holds("held-key-counts-once") {
            told.extend(held.into_iter().map(|(_, key)| Decoded::Typed(key)).take(1));
            return;
        }
        self.broken = (!complete).then(|| now.saturating_add(self.config.gap * STALL));
        let text = held.into_iter().map(|(c, _)| c).collect();
        told.push(Decoded::Scan { text, complete });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const LABEL: &str = "]d20109521234543213172702281012345\x1d21SN1";

    #[test]
    fn a_key_that_is_held_down_counts_once() {
        let held: Vec<(u64, char)> = (0..2_000).map(|n| (n * 33, '=')).collect();
        assert_eq!(run(&held, 99_999), vec![Decoded::Typed('=')]);
    }

    /// `\r` and `\n` are terminators, `←` another key. Each stroke's key is its own character.
    fn run(strokes: &[(u64, char)], end: u64) -> Vec<Decoded<char>> {
        let mut detector = Detector::new(Config::default());
        let mut told = Vec::new();
        for (ms, c) in strokes {
            let stroke = match c {
                '\r' | '\n' => Stroke::Terminator,
                '←' => Stroke::Other,
                c => Stroke::Char(*c),
            };
            told.extend(detector.push(Duration::from_millis(*ms), stroke, *c));
        }
        told.extend(detector.tick(Duration::from_millis(end)));
        assert_eq!(detector.deadline(), None);
        told
    }

    fn every(ms: u64, text: &str) -> Vec<(u64, char)> {
        text.chars().enumerate().map(|(place, c)| (place as u64 * ms, c)).collect()
    }

    fn scan(text: &str, complete: bool) -> Decoded<char> {
        Decoded::Scan { text: text.into(), complete }
    }

    #[test]
    fn a_burst_and_its_terminator_are_a_scan() {
        for ms in [0, 1, 8, 20, 49] {
            assert_eq!(run(&every(ms, &format!("{LABEL}\r")), 9999), [scan(LABEL, true)], "{ms} ms a key");
        }
    }

    #[test]
    fn further_terminators_confirm_nothing() {
        for tail in ["\r\n", "\r\r\n", "\r\x04\r"] {
            assert_eq!(run(&every(1, &format!("{LABEL}{tail}")), 9999), [scan(LABEL, true)], "{tail:?}");
        }
        assert_eq!(run(&every(1, &format!("{LABEL}\x04\r")), 9999), [scan(&format!("{LABEL}\x04"), true)]);
    }

    #[test]
    fn a_late_enter_is_a_key() {
        let mut strokes = every(1, &format!("{LABEL}\r"));
        strokes.push((200, '\r'));
        assert_eq!(run(&strokes, 9999), [scan(LABEL, true), Decoded::Typed('\r')]);
    }

    #[test]
    fn typing_comes_back_key_by_key() {
        let typed: Vec<Decoded<char>> = "jjkl\r".chars().map(Decoded::Typed).collect();
        assert_eq!(run(&every(60, "jjkl\r"), 9999), typed);
        // A short bunch within the gap too, and a key that is not a character ends it at once.
        assert_eq!(run(&every(1, "jjkl\r"), 9999), typed);
        assert_eq!(
            run(&every(1, "j←k"), 9999),
            [Decoded::Typed('j'), Decoded::Typed('←'), Decoded::Typed('k')]
        );
    }

    #[test]
    fn a_scan_without_its_end_is_not_complete() {
        assert_eq!(run(&every(1, LABEL), 9999), [scan(LABEL, false)]);
        let mut stalled = every(1, &format!("{LABEL}\r"));
        for stroke in stalled.iter_mut().skip(20) {
            stroke.0 += 80;
        }
        let (head, tail) = LABEL.split_at(20);
        assert_eq!(run(&stalled, 9999), [scan(head, false), scan(tail, false)]);
    }

    #[test]
    fn the_short_end_of_a_scan_that_stalled_runs_no_command() {
        for ms in [60, 100, 200] {
            let mut stalled = every(1, &format!("{LABEL}\r\n"));
            let short = LABEL.len() - 3;
            for stroke in stalled.iter_mut().skip(short) {
                stroke.0 += ms;
            }
            let (head, tail) = LABEL.split_at(short);
            assert_eq!(run(&stalled, 9999), [scan(head, false), scan(tail, false)], "{ms} ms");
        }
    }

    #[test]
    fn a_scan_right_after_a_scan_stands_alone() {
        let mut strokes = every(1, &format!("{LABEL}\r"));
        strokes.extend(every(1, &format!("{LABEL}\r")).into_iter().map(|(ms, c)| (ms + 60, c)));
        assert_eq!(run(&strokes, 9999), [scan(LABEL, true), scan(LABEL, true)]);
    }

    #[test]
    fn a_stuck_scanner_never_types() {
        let told = run(&every(1, &format!("{}\r", "78".repeat(514))), 9999);
        assert!(told.iter().all(|one| matches!(one, Decoded::Scan { complete: false, .. })), "{told:?}");
    }

    #[test]
    fn a_gap_out_of_range_is_refused() {
        assert_eq!(Config::with_gap(Duration::from_millis(19)), None);
        assert_eq!(Config::with_gap(Duration::from_millis(201)), None);
        assert_eq!(Config::with_gap(Duration::from_millis(50)), Some(Config::default()));
    }

    proptest! {
        #[test]
        fn no_character_is_lost_or_doubled(strokes in prop::collection::vec((0u64..120, "[a-z0-9]"), 0..700)) {
            let mut now = 0;
            let mut given = String::new();
            let mut timed = Vec::new();
            for (gap, c) in strokes {
                now += gap;
                given.push_str(&c);
                timed.extend(c.chars().map(|c| (now, c)));
            }
            let back: String = run(&timed, now + 1000).into_iter().map(|one| match one {
                Decoded::Typed(c) => c.to_string(),
                Decoded::Scan { text, .. } => text,
            }).collect();
            prop_assert_eq!(back, given);
        }
    }
}
