//! In which order pieces are taken, and in which order a cupboard is walked.

use crate::catalogue::Piece;
use chrono::NaiveDate;
use std::cmp::Ordering;

/// First expired, first out; what shows no date last; then by lot and serial, so that the order is one.
pub(super) fn first_out(a: &Piece, b: &Piece) -> Ordering {
    let key = |piece: &Piece| piece.use_by.unwrap_or(NaiveDate::MAX);
    key(a).cmp(&key(b)).then_with(|| a.lot.cmp(&b.lot)).then_with(|| a.serial.cmp(&b.serial))
}

/// By place, then identifier, then first out.
pub(super) fn cupboard(a: &Piece, b: &Piece) -> Ordering {
    place(&a.shelf, &b.shelf).then_with(|| a.di.cmp(&b.di)).then_with(|| first_out(a, b))
}

/// Places as people number them: A2 is before A10; no place is last.
pub(super) fn place(a: &str, b: &str) -> Ordering {
    if a.is_empty() != b.is_empty() {
        return a.is_empty().cmp(&b.is_empty());
    }
    let (mut left, mut right) = (a.chars().peekable(), b.chars().peekable());
    loop {
        let (Some(x), Some(y)) = (left.peek().copied(), right.peek().copied()) else {
            return left.peek().cmp(&right.peek()).then_with(|| a.cmp(b));
        };
        let step = if x.is_ascii_digit() && y.is_ascii_digit() {
            let x = digits(&mut left);
            let y = digits(&mut right);
            x.len().cmp(&y.len()).then_with(|| x.cmp(&y))
        } else {
            left.next();
            right.next();
            x.to_lowercase().cmp(y.to_lowercase()).then_with(|| x.cmp(&y))
        };
        if step != Ordering::Equal {
            return step;
        }
    }
}

/// A run of digits without its leading zeros: as long as the number is large.
fn digits(text: &mut std::iter::Peekable<std::str::Chars>) -> String {
    let mut run = String::new();
    while let Some(digit) = text.next_if(char::is_ascii_digit) {
        run.push(digit);
    }
    run.trim_start_matches('0').to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbered places count as people count: common practice, no source.
    #[test]
    fn places_stand_as_people_number_them() {
        let mut places = ["B1", "", "A10", "A2", "A", "A02", "a3", "A2-left"];
        places.sort_by(|a, b| place(a, b));
        assert_eq!(places[0], "A");
        assert_eq!(places[6], "B1");
        assert_eq!(places[7], "", "no place is last");
        let of = |wanted| places.iter().position(|place| *place == wanted);
        assert!(of("A2") < of("A10"));
        assert!(of("A02") < of("A10"));
    }
}
