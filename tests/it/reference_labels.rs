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

fn ours(id: &str, fields: &BTreeMap<&str, [&str; 5]>) -> [String; 5] {
    fields[id].map(String::from)
}

#[test]
fn where_both_references_agree_we_say_the_same() {
    // `labels.rs` proves that the reader gives the fields of each row, so the rows stand for it here.
    let rows: BTreeMap<&str, [&str; 5]> = ROWS
        .lines()
        .skip(1)
        .map(|line| {
            let columns: Vec<&str> = line.split('\t').collect();
            (columns[0], [columns[3], columns[4], columns[5], columns[6], columns[7]])
        })
        .collect();
    let (mut agreed, mut differ) = (0, Vec::new());
    for line in ANSWERS.lines().skip(3) {
        let columns: Vec<&str> = line.split('\t').collect();
        if (columns[1], columns[7]) == ("ok", "ok") && columns[2..7] == columns[8..13] {
            if ours(columns[0], &rows).iter().eq(columns[2..7].iter()) {
                agreed += 1;
            } else {
                differ.push(columns[0]);
            }
        }
    }
    assert_eq!(differ, BOTH_DIFFER.map(|(id, _)| id), "of {agreed}");
    assert!(agreed >= 30, "{agreed}");
    assert!(BOTH_DIFFER.iter().all(|(_, why)| !why.is_empty()));
    assert!(label::read(b"]d20109521234543213", &Settings::of_year(2026)).is_ok());
}
