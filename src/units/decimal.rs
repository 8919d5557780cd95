//! The decimal mark of numbers that a person reads.
//!
//! A number has a point wherever a program may read it: files, JSON, CSV, the journal. Where a screen is made, the
//! mark of the reader's language stands instead. Which of the two holds is said around the making
//! (`shown_with`) and not at each of the hundred sentences that hold a number: a sentence that forgot to ask would
//! show another mark than its neighbour.

use std::cell::Cell;
use std::fmt;

/// The mark between the whole part and the decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Decimal {
    /// `2.75`: in every file, and where the language has it.
    #[default]
    Point,
    /// `2,75`: on screens, where the language has it.
    Comma,
}

impl Decimal {
    /// The words of the settings file.
    pub const NAMES: &'static [&'static str] = &["point", "comma"];

    /// The mark of this word; none for any other.
    pub fn from_name(name: &str) -> Option<Self> {
        match name {
            "point" => Some(Decimal::Point),
            "comma" => Some(Decimal::Comma),
            _ => None,
        }
    }
}

thread_local! {
    static MARK: Cell<Decimal> = const { Cell::new(Decimal::Point) };
}

/// Runs `make` so that the numbers it writes have this mark; afterwards the mark is what it was, also where `make`
/// panics.
pub fn shown_with<T>(mark: Decimal, make: impl FnOnce() -> T) -> T {
    struct Back(Decimal);
    impl Drop for Back {
        fn drop(&mut self) {
            MARK.set(self.0);
        }
    }
    let _back = Back(MARK.replace(mark));
    make()
}

/// A text of ours with the mark that holds here in its numbers: each point between two digits. Never for what a
/// label, a file or a person says: a lot may hold a point.
pub fn marked(text: String) -> String {
    if MARK.get() == Decimal::Point || !text.contains('.') {
        return text;
    }
    let chars: Vec<char> = text.chars().collect();
    let digit = |at: Option<usize>| at.and_then(|at| chars.get(at)).is_some_and(char::is_ascii_digit);
    let shown = |(at, c): (usize, &char)| {
        if *c == '.' && digit(at.checked_sub(1)) && digit(Some(at + 1)) { ',' } else { *c }
    };
    chars.iter().enumerate().map(shown).collect()
}

/// A number without a type of its own, shown as `f64` would be but with the mark that holds: `{:.2}` gives two
/// decimals.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Figure(pub f64);

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let text = match f.precision() {
            Some(decimals) => format!("{:.decimals$}", self.0),
            None => self.0.to_string(),
        };
        let text = marked(text);
        // Precision cuts texts, and has been used already.
        match f.width() {
            Some(width) => write!(f, "{text:>width$}"),
            None => f.write_str(&text),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Diameter, Length, Pressure, number, plain};

    #[test]
    fn the_mark_holds_inside_and_is_taken_back() {
        let all = || {
            let (d, l, p) = (Diameter::from_mm(2.75), Length::from_mm(22.5), Pressure::from_atm(14.5));
            format!("{d} {l} {p} {} {:.1} {:6.2}", plain(0.5), Figure(3.25), Figure(1.0))
        };
        assert_eq!(shown_with(Decimal::Comma, all), "2,75 22,5 14,5 0,5 3,2   1,00");
        assert_eq!(all(), "2.75 22.5 14.5 0.5 3.2   1.00");
        let panicked = std::panic::catch_unwind(|| shown_with(Decimal::Comma, || panic!("on purpose")));
        assert!(panicked.is_err());
        assert_eq!(plain(0.5), "0.5");
    }

    #[test]
    fn what_is_shown_reads_back_with_either_mark() {
        for mark in [Decimal::Point, Decimal::Comma] {
            assert_eq!(number(&shown_with(mark, || plain(2.25))), Some(2.25));
        }
    }
}
