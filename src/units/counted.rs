//! A number and what it counts: `1 box`, `3 boxes`.

use std::fmt::Display;

/// `1 entry`, `0 entries`, `3 boxes`: the noun is in the singular, its last word is the one that changes.
pub fn counted<N: Display + PartialEq + From<u8>>(count: N, noun: &str) -> String {
    let words = plural(&count, noun);
    format!("{count} {words}")
}

/// The verb or the pronoun that goes with a number: `one` for 1, `many` for every other.
pub fn by_count<'a, N: PartialEq + From<u8>>(count: N, one: &'a str, many: &'a str) -> &'a str {
    if count == N::from(1) { one } else { many }
}

fn plural<N: PartialEq + From<u8>>(count: &N, noun: &str) -> String {
    if *count == N::from(1) {
        return noun.into();
    }
    let vowel_before = |stem: &str| stem.ends_with(['a', 'e', 'i', 'o', 'u']);
    match noun.strip_suffix('y') {
        Some(stem) if !vowel_before(stem) => format!("{stem}ies"),
        _ if noun.ends_with(['s', 'x']) || noun.ends_with("ch") || noun.ends_with("sh") => {
            format!("{noun}es")
        }
        _ => format!("{noun}s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The regular plurals of English; the irregular ones are not counted here.
    #[test]
    fn one_is_one_and_all_others_are_many() {
        let told = |count: u32| {
            ["row", "box", "entry", "day", "more line", "body"].map(|noun| counted(count, noun)).join(", ")
        };
        assert_eq!(told(1), "1 row, 1 box, 1 entry, 1 day, 1 more line, 1 body");
        assert_eq!(told(0), "0 rows, 0 boxes, 0 entries, 0 days, 0 more lines, 0 bodies");
        assert_eq!(told(21), "21 rows, 21 boxes, 21 entries, 21 days, 21 more lines, 21 bodies");
        assert_eq!((by_count(1_u64, "is", "are"), by_count(2_usize, "is", "are")), ("is", "are"));
    }
}
