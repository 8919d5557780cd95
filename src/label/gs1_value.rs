//! One value against the format of its application identifier.
//!
//! Invariant: knows one field at a time.

use super::carrier::{Ch, text_of};
use super::gs1_table::{Ai, Check};
use super::symbol::refuse;
use super::{LabelCode, Refusal, dates, place};
use crate::udi;
use crate::units::counted;

/// What is wrong with a value: nothing of the label may be taken.
pub(super) fn refusal(ai: &Ai, fault: ValueFault, at: usize) -> Refusal {
    let name = place::first_word(&place::gs1(ai));
    let message = match fault {
        ValueFault::Truncated => {
            format!("{name} is cut short at byte {at}: scan again, or type the printed text.")
        }
        ValueFault::Empty => format!("{name} is empty at byte {at}: scan again, or type the printed text."),
        ValueFault::Charset => {
            format!(
                "{name} has a character that it can't have, at byte {at}: scan again, or type the printed text."
            )
        }
        ValueFault::TooLong => {
            format!(
                "{name} is longer than its {}, at byte {at}: scan again.",
                counted(ai.greatest(), "character")
            )
        }
        ValueFault::CheckDigit => {
            format!("{name} has a wrong check digit at byte {at}: scan again, or type the printed text.")
        }
    };
    refuse(fault.code(), at, message)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ValueFault {
    Truncated,
    Empty,
    Charset,
    TooLong,
    CheckDigit,
}

impl ValueFault {
    pub(super) const fn code(self) -> LabelCode {
        match self {
            ValueFault::Truncated => LabelCode::Truncated,
            ValueFault::Empty => LabelCode::EmptyField,
            ValueFault::Charset => LabelCode::BadCharset,
            ValueFault::TooLong => LabelCode::TooLong,
            ValueFault::CheckDigit => LabelCode::CheckDigit,
        }
    }
}

/// Looks at a value from left to right. `Ok` says whether its dates and times are in the calendar; an error
/// says what was met first, and at which character of the value (its length: behind the last one).
pub(super) fn check(ai: &Ai, value: &[Ch], year: i32) -> Result<bool, (ValueFault, usize)> {
    let mut dates_hold = true;
    let mut from = 0;
    for part in &ai.parts {
        let rest = &value[from..];
        if rest.is_empty() {
            match (part.optional, part.fixed || from > 0) {
                (true, _) => break,
                (false, true) => return Err((ValueFault::Truncated, from)),
                (false, false) => return Err((ValueFault::Empty, from)),
            }
        }
        let taken = &rest[..rest.len().min(part.length)];
        if let Some(bad) = taken.iter().position(|ch| !part.kind.holds(ch.c)) {
            return Err((ValueFault::Charset, from + bad));
        }
        from += taken.len();
        if part.fixed && taken.len() < part.length {
            return Err((ValueFault::Truncated, from));
        }
        let text = text_of(taken);
        match part.check {
            Check::None => {}
            Check::Mod10 if udi::mod10_holds(&text) => {}
            Check::Pair if pair_holds(&text) => {}
            Check::Mod10 | Check::Pair => return Err((ValueFault::CheckDigit, from - 1)),
            Check::Date(day_00) => dates_hold &= dates::yymmdd(&text, year, day_00).is_some(),
            Check::Time => dates_hold &= dates::is_time(&text),
            Check::Sixty => dates_hold &= text.as_str() < "60",
        }
    }
    if from < value.len() { Err((ValueFault::TooLong, from)) } else { Ok(dates_hold) }
}

/// The two check characters of a global model number: each character's place in set 82, times the primes from
/// the right, modulo 1021, in two characters of 32. Source: @gs1-check-pair, and the test's example.
fn pair_holds(text: &str) -> bool {
    const SET_82: &str =
        "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz";
    const SET_32: &[u8] = b"23456789ABCDEFGHJKLMNPQRSTUVWXYZ";
    const PRIMES: [usize; 23] =
        [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83];
    let Some(split) = text.len().checked_sub(2) else { return false };
    let (Some(body), Some(pair)) = (text.get(..split), text.get(split..)) else { return false };
    let sum: usize =
        body.chars().rev().zip(PRIMES).map(|(c, prime)| SET_82.find(c).unwrap_or(0) * prime).sum();
    let rest = sum % 1021;
    pair.bytes().eq([rest >> 5, rest & 31].iter().filter_map(|place| SET_32.get(*place).copied()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_check_pair_of_a_model_number() {
        assert!(pair_holds("1987654Ad4X4bL5ttr2310c2K"));
        assert!(!pair_holds("1987654Ad4X4bL5ttr2310c2L"));
        assert!(!pair_holds("1987654Ad4X4bL5ttr2301c2K"));
        assert!(!pair_holds("K"));
    }
}
