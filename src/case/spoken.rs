//! Sizes as they are said aloud, and sizes that look alike.

use super::Call;
use crate::catalogue::Catalogue;
use crate::journal::Wanted;
use crate::units::plain;

const ONES: [&str; 20] = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
];
const TENS: [&str; 10] =
    ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

/// The sentence to say back: "three point zero, by twenty-nine, Fell".
pub fn say(call: &Call, catalogue: &Catalogue) -> String {
    say_wanted(&call.wanted, catalogue)
}

fn say_wanted(wanted: &Wanted, catalogue: &Catalogue) -> String {
    let mut parts = Vec::new();
    parts.extend(wanted.diameter.map(|diameter| diameter_words(diameter.mm())));
    parts.extend(wanted.length.map(|length| {
        let words = length_words(length.mm());
        if wanted.diameter.is_some() { format!("by {words}") } else { words }
    }));
    match (&wanted.product, wanted.kind) {
        (Some(id), _) => {
            parts.push(catalogue.product(id).map_or_else(|| id.clone(), |product| product.name.clone()));
        }
        (None, Some(kind)) => parts.push(format!("any {kind}")),
        (None, None) if wanted.reference.is_some() => {}
        (None, None) => parts.push("any stent".into()),
    }
    parts.extend(wanted.reference.as_ref().map(|reference| format!("REF {}", spaced(reference))));
    parts.join(", ")
}

/// A diameter digit by digit after the point, at least one of them: 2.25 is "two point two five".
fn diameter_words(mm: f64) -> String {
    let text = plain(mm);
    let (whole, part) = text.split_once(['.', ',']).unwrap_or((&text, "0"));
    if !crate::control::holds("size-in-words") {
        return text.clone();
    }
    format!("{} point {}", cardinal(whole), digits(part))
}

/// A length as a number word: 29 is "twenty-nine", 22.5 "twenty-two point five".
fn length_words(mm: f64) -> String {
    let text = plain(mm);
    match text.split_once(['.', ',']) {
        Some((whole, part)) => format!("{} point {}", cardinal(whole), digits(part)),
        None => cardinal(&text),
    }
}

fn cardinal(text: &str) -> String {
    match text.parse::<usize>() {
        Ok(number @ 0..20) => ONES[number].into(),
        Ok(number @ 20..100) if number % 10 == 0 => TENS[number / 10].into(),
        Ok(number @ 20..100) => format!("{}-{}", TENS[number / 10], ONES[number % 10]),
        // No coronary device is that long; digits can't be misheard for another number.
        _ => digits(text),
    }
}

fn digits(text: &str) -> String {
    let word = |digit: char| match digit.to_digit(10) {
        Some(digit) => ONES[digit as usize].to_string(),
        None if digit == '-' => "minus".into(),
        None => digit.to_string(),
    };
    text.chars().map(word).collect::<Vec<_>>().join(" ")
}

fn spaced(reference: &str) -> String {
    reference.chars().map(String::from).collect::<Vec<_>>().join(" ")
}

/// Which characters of `a` differ from those of `b`, by their place from 0: the ones to mark where two sizes
/// are near each other. Diameter and length are compared apart, each from its right end, so that 8 and 18
/// differ in the 1. Empty for the same size.
pub fn alike(a: &str, b: &str) -> Vec<usize> {
    let a: Vec<char> = a.chars().collect();
    let b: Vec<char> = b.chars().collect();
    let cut = |text: &[char]| text.iter().position(|c| matches!(c, 'x' | 'X' | '×')).unwrap_or(text.len());
    let (a_cut, b_cut) = (cut(&a), cut(&b));
    let mut places = differing(&a[..a_cut], &b[..b_cut], 0);
    if a_cut < a.len() {
        let b_rest = b.get(b_cut + 1..).unwrap_or_default();
        places.extend(differing(&a[a_cut + 1..], b_rest, a_cut + 1));
    }
    places
}

fn differing(a: &[char], b: &[char], offset: usize) -> Vec<usize> {
    let from_right = |text: &[char], place: usize| text.len().checked_sub(place + 1).map(|i| text[i]);
    let mut places: Vec<usize> = (0..a.len())
        .filter(|&place| from_right(a, place) != from_right(b, place))
        .map(|place| offset + a.len() - 1 - place)
        .collect();
    places.reverse();
    places
}

/// Two different sizes of which one or two characters tell one from the other.
pub fn looks_alike(a: &str, b: &str) -> bool {
    let differ = alike(a, b).len().max(alike(b, a).len());
    (1..=2).contains(&differ)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Kind;
    use crate::units::{Diameter, Length};

    /// English number words; the habit of saying the digits after the point one by one is common practice.
    #[test]
    fn sizes_are_said_as_words() {
        for (mm, words) in [
            (2.25, "two point two five"),
            (3.5, "three point five"),
            (3.0, "three point zero"),
            (2.0, "two point zero"),
            (4.0, "four point zero"),
            (10.0, "ten point zero"),
        ] {
            assert_eq!(diameter_words(mm), words);
        }
        for (mm, words) in [
            (8.0, "eight"),
            (12.0, "twelve"),
            (15.0, "fifteen"),
            (20.0, "twenty"),
            (29.0, "twenty-nine"),
            (40.0, "forty"),
            (48.0, "forty-eight"),
            (22.5, "twenty-two point five"),
            (120.0, "one two zero"),
        ] {
            assert_eq!(length_words(mm), words);
        }
    }

    #[test]
    fn a_call_is_said_with_what_it_asks_for() {
        let wanted = Wanted {
            diameter: Some(Diameter::from_mm(3.0)),
            length: Some(Length::from_mm(29.0)),
            ..Wanted::default()
        };
        let none = Catalogue::default();
        assert_eq!(say_wanted(&wanted, &none), "three point zero, by twenty-nine, any stent");
        let kind = Wanted { kind: Some(Kind::DrugElutingStent), ..wanted.clone() };
        assert_eq!(say_wanted(&kind, &none), "three point zero, by twenty-nine, any drug-eluting stent");
        let wire = Wanted { reference: Some("FP190".into()), ..Wanted::default() };
        assert_eq!(say_wanted(&wire, &none), "REF F P 1 9 0");
    }

    #[test]
    fn differing_digits_are_found() {
        assert_eq!(alike("2.25x15", "2.50x15"), [2, 3]);
        assert_eq!(alike("3.00x39", "3.00x29"), [5]);
        assert_eq!(alike("3.00 × 39", "3.00 × 29"), [7]);
        assert_eq!(alike("3.00x18", "3.00x8"), [5]);
        assert_eq!(alike("3.00x8", "3.00x18"), [0usize; 0]);
        assert_eq!(alike("3.00x29", "3.00x29"), [0usize; 0]);
        assert_eq!(alike("", "3.00x29"), [0usize; 0]);
        assert!(looks_alike("3.00x8", "3.00x18"));
        assert!(looks_alike("2.25x15", "2.50x15"));
        assert!(!looks_alike("3.00x29", "3.00x29"));
        assert!(!looks_alike("2.25x15", "3.50x46"));
    }
}
