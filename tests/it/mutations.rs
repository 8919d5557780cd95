//! Every slip of one character in the identifiers of labels: what the check digit catches, and the exact figure of what
//! it can't. A hundred labels in `cargo test`; a thousand in `cargo bench --bench label`, which `.ci/run` starts.
//!
//! What passes the check is caught later: a changed identifier is looked up in the catalogue and is not there, or is
//! another product, whose size the read-back compares with the call; HIBC's second symbol links to the check
//! character of the first, which stays the same at a swap, so there only the catalogue and the printed size are left.

use boxcall::label::{self, Settings};
use boxcall::udi::{mod10_check, mod43_check};

const YEAR: i32 = 2026;

/// Does the reader still give an identifier?
fn passes(text: &str) -> bool {
    label::read(text.as_bytes(), &Settings::of_year(YEAR)).is_ok_and(|label| label.di.is_some())
}

/// Substitutions, swaps of neighbours, and the swaps that pass, in so many labels.
pub fn modulo_10(labels: u64) -> [usize; 3] {
    let (mut substitutions, mut swaps, mut missed) = (0, 0, 0);
    for label in 0..labels {
        let body = format!("0952{:09}", label * 7_654_321 % 1_000_000_000);
        let di = format!("{body}{}", mod10_check(&body).unwrap());
        let text = |di: &str| format!("]d201{di}1727022810L{label}");
        assert!(passes(&text(&di)));
        for at in 0..di.len() {
            for digit in ('0'..='9').filter(|digit| !di[at..].starts_with(*digit)) {
                let hurt = format!("{}{digit}{}", &di[..at], &di[at + 1..]);
                assert!(!passes(&text(&hurt)), "{di} {hurt}");
                substitutions += 1;
            }
            let Some(pair) = di.get(at..at + 2) else { continue };
            let (a, b) = (pair.as_bytes()[0], pair.as_bytes()[1]);
            if a == b {
                continue;
            }
            let hurt = format!("{}{}{}{}", &di[..at], char::from(b), char::from(a), &di[at + 2..]);
            // The property of weights 3 and 1: 2(a - b) is a multiple of 10.
            assert_eq!(passes(&text(&hurt)), a.abs_diff(b) == 5, "{di} {hurt}");
            swaps += 1;
            missed += usize::from(a.abs_diff(b) == 5);
        }
    }
    [substitutions, swaps, missed]
}

/// Substitutions, those that pass behind a space, swaps of neighbours, and the swaps that pass, in so many labels.
pub fn modulo_43(labels: u64) -> [usize; 4] {
    const LETTERS: &str = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
    let (mut substitutions, mut behind_a_space, mut swaps, mut missed) = (0, 0, 0, 0);
    for label in 0..labels {
        let body = format!("+A123C{:05}{}", label * 7919 % 100_000, label % 9);
        let whole = format!("{body}{}", mod43_check(&body).unwrap());
        assert!(passes(&whole));
        // The identifier: behind the plus, before the check.
        for at in 1..body.len() {
            for c in LETTERS.chars().filter(|c| !body[at..].starts_with(*c)) {
                let hurt = format!("{}{c}{}", &whole[..at], &whole[at + 1..]);
                // A check character that is a space may also be a space that the scanner added: then the unit's digit
                // is tried as the check, and one slip in so many makes it hold. Every other slip is caught.
                let slips = passes(&hurt);
                assert!(!slips || whole.ends_with(' '), "{whole} {hurt}");
                behind_a_space += usize::from(slips);
                substitutions += 1;
            }
            let Some(pair) = body.get(at..at + 2).filter(|pair| pair[..1] != pair[1..]) else { continue };
            let hurt = format!("{}{}{}{}", &whole[..at], &pair[1..], &pair[..1], &whole[at + 2..]);
            // The first character of a labeler is a letter: `+9Q…` is no identifier.
            assert_eq!(passes(&hurt), at > 1, "{whole} {hurt}");
            swaps += 1;
            missed += usize::from(at > 1);
        }
    }
    [substitutions, behind_a_space, swaps, missed]
}

#[test]
fn modulo_10_misses_neighbours_that_differ_by_5_and_nothing_else() {
    assert_eq!(modulo_10(100), [12_600, 1_192, 96]);
}

#[test]
fn modulo_43_misses_every_swap_that_keeps_the_form() {
    assert_eq!(modulo_43(100), [38_500, 0, 953, 853]);
}
