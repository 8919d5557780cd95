//! Our reader against the answers of two public readers, biip 5.2.0 and gs1-barcode-parser-mod 1.2.1, which
//! `tests/reference/labels.py` asked about the same bytes.

use boxcall::label::{self, Settings};
use std::collections::BTreeMap;

const ROWS: &str = include_str!("../data/label_vectors.tsv");
const ANSWERS: &str = include_str!("../reference/labels.tsv");

/// Rows on which both references give the same fields and we give others, and why.
const BOTH_DIFFER: [(&str, &str); 9] = [
    ("WE-007", "<GS> is what some scanners send for a separator: both take it into the lot"),
    ("WE-030", "a lost separator: both take the longest lot and say nothing; we leave it open"),
    ("WE-031", "as WE-030"),
    ("WE-033", "as WE-030"),
    (
        "DA-048",
        "two values of one field: both keep them, the first wins by accident; refused by GS1's syntax engine",
    ),
    ("DA-049", "as DA-048"),
    ("DA-057", "37 beside 01 is forbidden (GS1 syntax dictionary); neither judges pairs"),
    ("DA-058", "as DA-057, another pair"),
    ("DA-101", "data of a person: refused whole, a rule of our own"),
];

/// The bytes of a row: `\\xNN` and a doubled backslash are escapes.
fn bytes(text: &str) -> Vec<u8> {
    let pieces = text.split("\\\\").map(|piece| {
        let mut parts = piece.split("\\x");
        let mut bytes = parts.next().unwrap().as_bytes().to_vec();
        for part in parts {
            bytes.push(u8::from_str_radix(&part[..2], 16).unwrap());
            bytes.extend_from_slice(&part.as_bytes()[2..]);
        }
        bytes
    });
    pieces.collect::<Vec<_>>().join(&b'\\')
}

fn ours(text: &str) -> [String; 5] {
    let Ok(label) = label::read(&bytes(text), &Settings::of_year(2026)) else { return Default::default() };
    let date = |day: Option<chrono::NaiveDate>| day.map_or(String::new(), |day| day.to_string());
    let di = label.di.map_or(String::new(), |di| di.to_string());
    [
        di,
        label.lot.unwrap_or_default(),
        label.serial.unwrap_or_default(),
        date(label.use_by),
        date(label.made),
    ]
}

#[test]
fn where_both_references_agree_we_say_the_same() {
    let inputs: BTreeMap<&str, &str> = ROWS
        .lines()
        .skip(1)
        .filter_map(|line| Some((line.split('\t').next()?, line.split('\t').nth(1)?)))
        .collect();
    let (mut agreed, mut differ) = (0, Vec::new());
    for line in ANSWERS.lines().skip(3) {
        let columns: Vec<&str> = line.split('\t').collect();
        if (columns[1], columns[7]) == ("ok", "ok") && columns[2..7] == columns[8..13] {
            if ours(inputs[columns[0]]).iter().eq(columns[2..7].iter()) {
                agreed += 1;
            } else {
                differ.push(columns[0]);
            }
        }
    }
    assert_eq!(differ, BOTH_DIFFER.map(|(id, _)| id), "of {agreed}");
    assert!(agreed >= 30, "{agreed}");
}
