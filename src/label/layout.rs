//! A scanner set for another keyboard layout than the computer.
//!
//! Invariant: finds the signs of it; never translates back, for two layouts can explain one string.

use super::carrier::{Ch, Segment, text_of};
use super::gs1;
use super::symbol::refuse;
use super::{LabelCode, Refusal};
use crate::udi::{mod10_holds, mod43_check};

/// The row of digits on a French layout without shift.
const FRENCH_DIGITS: &str = "&é\"'(-è_çà";

/// The byte at which a wrong layout shows, if it does.
pub(super) fn sign(segment: &Segment) -> Option<usize> {
    if segment.id.is_some() || !crate::control::holds("wrong-layout-found") {
        return None;
    }
    let text = text_of(&segment.text);
    let shows = french(&text) || german(&text) || dead_key(&text);
    shows.then(|| segment.text.first().map_or(segment.at, |ch| ch.at))
}

pub(super) fn refusal(at: usize) -> Refusal {
    refuse(
        LabelCode::KeyboardLayout,
        at,
        format!(
            "From byte {at} the keys are those of another keyboard: set the scanner to this computer's keyboard layout."
        ),
    )
}

/// Digits arrive as the signs of the row above the letters.
fn french(text: &str) -> bool {
    let signs = text.chars().filter(|c| FRENCH_DIGITS.contains(*c)).count();
    let accents = text.chars().filter(|c| "éèçà".contains(*c)).count();
    let digits = text.chars().filter(char::is_ascii_digit).count();
    let drawn = text.chars().filter(|c| !c.is_whitespace()).count();
    // `]` and the identifier's letter and digit: `$d é`.
    let mut head = text.chars();
    let identifier = head.next() == Some('$')
        && head.next().is_some_and(|c| c.is_ascii_alphabetic())
        && head.next().is_some_and(|c| FRENCH_DIGITS.contains(c));
    identifier || (accents >= 1 && signs >= 6 && signs > digits && signs * 2 >= drawn)
}

/// `]` arrives as `+`: what looks like HIBC is a GS1 identifier.
fn german(text: &str) -> bool {
    let Some(behind) = text.strip_prefix('+') else { return false };
    let (Some(id), Some(data)) = (behind.get(..2), behind.get(2..)) else { return false };
    let meant = match id {
        "d2" | "e0" | "c1" | "q3" | "j1" => data.starts_with(|c: char| c.is_ascii_digit()),
        "C1" | "Q3" | "J1" | "D2" | "E0" => data.starts_with("01"),
        _ => false,
    };
    // A labeler can have such a code: then the check character of HIBC holds and no GTIN is there.
    let gtin = data.get(2..16).is_some_and(|n| data.starts_with("01") && mod10_holds(n));
    let upper = text.trim_end().to_ascii_uppercase();
    let hibc = upper
        .char_indices()
        .next_back()
        .is_some_and(|(at, last)| upper.get(..at).and_then(mod43_check) == Some(last));
    meant && (gtin || !hibc)
}

/// `+` and `=` arrive as dead accents, alone or on the letter behind them.
fn dead_key(text: &str) -> bool {
    let mut chars = text.chars();
    let first = chars.next();
    let label_like = text.chars().count() >= 6 && text.chars().any(|c| c.is_ascii_digit());
    match first {
        Some('`' | '´' | '¨') => text.chars().count() >= 6,
        Some(c) if "ÀÈÌÒÙÁÉÍÓÚÝàèìòùáéíóúý".contains(c) => {
            label_like && chars.take(3).all(|c| c.is_ascii_alphanumeric())
        }
        _ => false,
    }
}

/// What is behind the first three signs, if those are a GS1 identifier in disguise: it can hold a person's
/// data, which is graver than the layout.
pub(super) fn behind_identifier(segment: &Segment) -> &[Ch] {
    let text = segment.text.as_slice();
    match text.get(3..) {
        Some(rest) if gs1::begins(rest) => rest,
        _ => text,
    }
}
