//! The application identifiers of GS1: format, separator, pairs.
//!
//! Invariant: facts only, from `gs1_ai.txt`; judges no label.

use std::sync::OnceLock;

/// The characters that a part of a value may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Digits,
    /// Set 82: `!"%&'()*+,-./`, digits, `:;<=>?`, letters and `_`.
    Set82,
    /// Set 39: `#-/`, digits and capital letters.
    Set39,
    /// Base64 for file names.
    Base64,
}

impl Kind {
    pub(super) fn holds(self, c: char) -> bool {
        match self {
            Kind::Digits => c.is_ascii_digit(),
            Kind::Set82 => c.is_ascii_graphic() && !"#$@[\\]^`{|}~".contains(c),
            Kind::Set39 => c.is_ascii_digit() || c.is_ascii_uppercase() || "#-/".contains(c),
            Kind::Base64 => c.is_ascii_alphanumeric() || "-_=".contains(c),
        }
    }
}

/// What must hold of a part, beyond its characters, and is looked at here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Check {
    None,
    Mod10,
    /// The pair of check characters of 8013 and 8014.
    Pair,
    /// YYMMDD; whether the day may be 00.
    Date(bool),
    /// HH or HHMM.
    Time,
    /// MM or SS.
    Sixty,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Part {
    pub kind: Kind,
    /// The greatest length.
    pub length: usize,
    /// All of the length or nothing.
    pub fixed: bool,
    pub optional: bool,
    pub check: Check,
}

#[derive(Debug, Clone)]
pub(super) struct Ai {
    pub code: String,
    /// No separator follows: the first two digits say so, never the fixed format alone.
    pub predefined: bool,
    pub parts: Vec<Part>,
    /// Any of these groups must be there in full.
    pub needs: Vec<Vec<String>>,
    pub forbids: Vec<String>,
    pub title: String,
}

impl Ai {
    /// The greatest length of the value.
    pub(super) fn greatest(&self) -> usize {
        self.parts.iter().map(|part| part.length).sum()
    }

    pub(super) fn digits_only(&self) -> bool {
        self.parts.iter().all(|part| part.kind == Kind::Digits)
    }

    /// It names or describes a person who receives care.
    pub(super) fn personal(&self) -> bool {
        matches!(self.code.as_str(), "8018" | "7240" | "7241" | "7242") || self.code.starts_with("725")
    }
}

/// Does this identifier answer a pattern of the table, in which `n` is any digit?
pub(super) fn answers(code: &str, pattern: &str) -> bool {
    code.len() == pattern.len() && code.chars().zip(pattern.chars()).all(|(c, p)| c == p || p == 'n')
}

/// All of them, in the order of their codes.
pub(super) fn all() -> &'static [Ai] {
    static TABLE: OnceLock<Vec<Ai>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let lines = include_str!("gs1_ai.txt").lines().filter(|line| !line.starts_with('#'));
        let mut table: Vec<Ai> = lines.flat_map(entries).collect();
        table.sort_by(|a, b| a.code.cmp(&b.code));
        table
    })
}

/// The identifier of exactly this code.
pub(super) fn find(code: &str) -> Option<&'static Ai> {
    let table = all();
    table.binary_search_by(|ai| ai.code.as_str().cmp(code)).ok().and_then(|at| table.get(at))
}

/// One line of the data file; a range of codes gives one identifier each.
fn entries(line: &str) -> Vec<Ai> {
    let mut columns = line.split('|');
    let mut next = || columns.next().unwrap_or("");
    let (codes, separator, format, needs, forbids, title) = (next(), next(), next(), next(), next(), next());
    let parts: Vec<Part> = format.split(' ').filter_map(part).collect();
    let needs: Vec<Vec<String>> = list(needs, ',').iter().map(|group| list(group, '+')).collect();
    let (first, last) = codes.split_once('-').unwrap_or((codes, codes));
    let width = first.len();
    let numbers = first.parse::<u32>().unwrap_or(1)..=last.parse::<u32>().unwrap_or(0);
    numbers
        .map(|number| Ai {
            code: format!("{number:0>width$}"),
            predefined: separator == "*",
            parts: parts.clone(),
            needs: needs.clone(),
            forbids: list(forbids, ','),
            title: title.into(),
        })
        .collect()
}

fn list(text: &str, by: char) -> Vec<String> {
    text.split(by).filter(|word| !word.is_empty()).map(String::from).collect()
}

/// A part as the data file writes it: `N14,csum`, `X..20`, `[N4],hhmi`.
fn part(text: &str) -> Option<Part> {
    let (form, checks) = text.split_once(',').unwrap_or((text, ""));
    let inner = form.trim_start_matches('[').trim_end_matches(']');
    let kind = match inner.chars().next()? {
        'N' => Kind::Digits,
        'X' => Kind::Set82,
        'Y' => Kind::Set39,
        'Z' => Kind::Base64,
        _ => return None,
    };
    let length = inner.get(1..)?;
    let check = checks.split(',').find_map(|word| match word {
        "csum" => Some(Check::Mod10),
        "csumalpha" => Some(Check::Pair),
        "yymmd0" => Some(Check::Date(true)),
        "yymmdd" => Some(Check::Date(false)),
        "hhmi" | "hh" => Some(Check::Time),
        "mi" | "ss" => Some(Check::Sixty),
        _ => None,
    });
    Some(Part {
        kind,
        length: length.trim_start_matches("..").parse().ok()?,
        fixed: !length.starts_with(".."),
        optional: form.starts_with('['),
        check: check.unwrap_or(Check::None),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The same facts in another shape.
    const DICTIONARY: &str = include_str!("../../tests/data/gs1_ai.tsv");

    #[test]
    fn the_table_says_what_the_dictionary_says() {
        let mut rows = 0;
        for line in DICTIONARY.lines().filter(|line| !line.starts_with('#')).skip(1) {
            let columns: Vec<&str> = line.split('\t').collect();
            let column = |at: usize| columns.get(at).copied().unwrap_or("");
            let ai = find(column(0)).unwrap_or_else(|| panic!("{} is missing", column(0)));
            rows += 1;
            assert_eq!(ai.predefined, column(1) == "no", "{line}");
            assert_eq!(ai.parts.len(), column(2).split(' ').count(), "{line}");
            let groups: Vec<String> = ai.needs.iter().map(|group| group.join("+")).collect();
            assert_eq!(groups.join(","), column(3), "{line}");
            assert_eq!(ai.forbids.join(","), column(4), "{line}");
            assert_eq!(ai.title, column(5), "{line}");
        }
        assert_eq!((rows, all().len()), (541, 541));
    }

    #[test]
    fn no_identifier_begins_another() {
        for ai in all() {
            let longer = all().iter().find(|other| other.code != ai.code && other.code.starts_with(&ai.code));
            assert!(longer.is_none(), "{} begins {longer:?}", ai.code);
        }
    }

    #[test]
    fn set_82_has_82_characters() {
        // @gs1-syntax-dictionary, lint_cset82.c.
        assert_eq!((0..=255u8).filter(|b| Kind::Set82.holds(char::from(*b))).count(), 82);
    }
}
