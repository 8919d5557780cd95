//! Every row of `tests/data/label_vectors.tsv` against the reader. The source of each value stands in its row.

use boxcall::label::{self, Settings};
use boxcall::udi::DeviceId;
use proptest::prelude::*;

const ROWS: &str = include_str!("../data/label_vectors.tsv");

/// The year for which the rows were made.
const YEAR: i32 = 2026;

/// Rows that the reader does not serve.
const NOT_SERVED: [&str; 0] = [];

struct Row<'a> {
    columns: Vec<&'a str>,
}

impl Row<'_> {
    fn column(&self, name: &str) -> &str {
        let header = ROWS.lines().next().unwrap();
        let place = header.split('\t').position(|column| column == name).unwrap();
        self.columns.get(place).copied().unwrap_or("")
    }

    fn bytes(&self) -> Vec<u8> {
        let text = self.column("input_escaped").as_bytes();
        let mut bytes = Vec::new();
        let mut at = 0;
        while at < text.len() {
            match &text[at..] {
                [b'\\', b'x', high, low, ..] => {
                    let digit = |b: u8| char::from(b).to_digit(16).unwrap() as u8;
                    bytes.push(digit(*high) * 16 + digit(*low));
                    at += 4;
                }
                [b'\\', b'\\', ..] => {
                    bytes.push(b'\\');
                    at += 2;
                }
                [byte, ..] => {
                    bytes.push(*byte);
                    at += 1;
                }
                [] => {}
            }
        }
        bytes
    }

    /// What the reader says otherwise than the row does.
    fn differences(&self) -> Vec<String> {
        let mut wrong = Vec::new();
        let mut differ = |what: &str, got: &str| {
            let want = self.column(what);
            if want != got {
                wrong.push(format!("{what}: {got:?} instead of {want:?}"));
            }
        };
        match label::read(&self.bytes(), &Settings::of_year(YEAR)) {
            Ok(label) => {
                let date = |date: Option<chrono::NaiveDate>| date.map_or(String::new(), |d| d.to_string());
                differ("expect", label.code());
                differ("expect_system", label.system.name());
                differ("di", label.di.as_ref().map_or("", DeviceId::as_str));
                differ("lot", label.lot.as_deref().unwrap_or(""));
                differ("serial", label.serial.as_deref().unwrap_or(""));
                differ("use_by", &date(label.use_by));
                differ("made", &date(label.made));
            }
            Err(refusal) => {
                differ("expect", refusal.code.name());
                for field in ["di", "lot", "serial", "use_by", "made"] {
                    differ(field, "");
                }
            }
        }
        wrong
    }
}

fn rows() -> impl Iterator<Item = Row<'static>> {
    ROWS.lines().skip(1).map(|line| Row { columns: line.split('\t').collect() })
}

#[test]
fn every_row_is_read_as_it_says() {
    let mut wrong = Vec::new();
    for row in rows().filter(|row| !NOT_SERVED.contains(&row.column("id"))) {
        let differences = row.differences();
        if !differences.is_empty() {
            wrong.push(format!(
                "{} ({}): {}",
                row.column("id"),
                row.column("source"),
                differences.join("; ")
            ));
        }
    }
    assert!(wrong.is_empty(), "{} rows:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn the_rows_not_served_are_few_and_known() {
    assert!(rows().count() >= 280);
    for id in NOT_SERVED {
        assert!(rows().any(|row| row.column("id") == id), "{id} is no row: take it off the list");
    }
}

#[test]
fn personal_data_is_never_echoed() {
    for row in rows().filter(|row| row.column("expect") == "personal-data") {
        let refusal = label::read(&row.bytes(), &Settings::of_year(YEAR)).unwrap_err();
        assert_eq!(refusal.position, None, "{}", row.column("id"));
        assert!(!refusal.message.bytes().any(|b| b.is_ascii_digit()), "{}", row.column("id"));
    }
}

/// Pieces of labels and noise, so that the deeper paths are met too.
fn pieces() -> impl Strategy<Value = Vec<u8>> {
    let piece = prop_oneof![
        prop::sample::select(vec![
            "]d2",
            "]C1",
            "]E0",
            "]D2",
            "01",
            "09521234543213",
            "17",
            "270228",
            "10",
            "21",
            "LOT7",
            "\x1d",
            "\r",
            "(01)",
            "(10)",
            "(21)",
            "+",
            "A123FL300290L",
            "$$3270228",
            "/",
            "=/",
            "A9999FL300290001",
            "=>",
            "https://id.example.org/01/",
            "?17=",
            "%2B",
            "[)>\x1e05\x1d",
            "\x1e\x04",
            "8018",
            "é",
            "240",
            "|",
            " ",
            "+S40121",
            "&,1",
        ])
        .prop_map(|text| text.as_bytes().to_vec()),
        prop::collection::vec(any::<u8>(), 0..4),
    ];
    prop::collection::vec(piece, 0..12).prop_map(|pieces| pieces.concat())
}

proptest! {
    #[test]
    fn reading_never_panics(bytes in prop_oneof![prop::collection::vec(any::<u8>(), 0..80), pieces()], set in any::<Option<char>>()) {
        let settings = Settings { year: YEAR, separator: set, sends_separators: bytes.len() % 2 == 0 };
        if let Err(refusal) = label::read(&bytes, &settings) {
            prop_assert!(refusal.position.is_none_or(|at| at <= bytes.len().max(4096)));
        }
    }

    #[test]
    fn nothing_is_invented(bytes in pieces()) {
        let Ok(label) = label::read(&bytes, &Settings::of_year(YEAR)) else { return Ok(()) };
        // Case apart (caps lock), and a link's percent signs; a GTIN may be padded with zeros.
        let given = String::from_utf8_lossy(&bytes).to_uppercase();
        let given = format!("{given}\n{}", given.replace("%2B", "+"));
        let values = label.fields.iter().map(|(_, value)| value.clone());
        for value in values.chain(label.lot.clone()).chain(label.serial.clone()) {
            let bare = value.to_uppercase();
            prop_assert!(given.contains(&bare) || given.contains(bare.trim_start_matches('0')), "{value} in {given}");
        }
        prop_assert!(!label.human_readable().chars().any(char::is_control));
    }

    #[test]
    fn a_persons_field_is_found_behind_any_fault(
        before in prop::collection::vec(0usize..9, 0..5),
        person in 0usize..5,
        after in prop::collection::vec(0usize..9, 0..3),
        marked in any::<bool>(),
    ) {
        let pieces = ["10A", "17270228", "0109521234543213", "XX", "01095", "10#", "89A", "21", "0109521234543214"];
        let persons = ["8018952123400000000024", "725020000101", "7253NAME", "7240P", "7259X"];
        let of = |places: &[usize]| places.iter().map(|at| pieces[*at]).collect::<Vec<_>>();
        let all = [of(&before), vec![persons[person]], of(&after)].concat().join("\x1d");
        let text = if marked { format!("]d2{all}") } else { format!("{all}\x1d") };
        let refusal = label::read(text.as_bytes(), &Settings::of_year(YEAR)).unwrap_err();
        prop_assert_eq!((refusal.code.name(), refusal.position), ("personal-data", None), "{}", text);
    }

    #[test]
    fn a_cut_label_never_shows_another_identifier(cut in 0usize..60) {
        // GS-001 of the rows, cut anywhere.
        let whole = b"]C1010952123454321317270228102610A\x1d21S0001";
        let Ok(label) = label::read(&whole[..cut.min(whole.len())], &Settings::of_year(YEAR)) else { return Ok(()) };
        prop_assert_eq!(label.di.as_ref().map(DeviceId::as_str), Some("09521234543213"));
    }
}

/// A value of this format, as the dictionary writes formats. Source of the formats: `tests/data/gs1_ai.tsv`.
fn value_of(format: &str) -> String {
    let mut value = String::new();
    for part in format.split(' ').filter(|part| !part.starts_with('[')) {
        let (form, checks) = part.split_once(',').unwrap_or((part, ""));
        let length: usize = form[1..].trim_start_matches("..").parse().unwrap();
        let checks: Vec<&str> = checks.split(',').collect();
        if checks.contains(&"csum") {
            let body = format!("{:0>width$}", "952", width = length - 1);
            value.push_str(&body);
            value.push(boxcall::udi::mod10_check(&body).unwrap());
        } else if checks.contains(&"csumalpha") {
            // The example of @gs1-check-pair.
            value.push_str("1987654Ad4X4bL5ttr2310c2K");
        } else if checks.iter().any(|check| check.starts_with("yymmd")) {
            value.push_str("270228");
        } else {
            value.push_str(&if form.starts_with('N') { "1" } else { "A" }.repeat(length));
        }
    }
    value
}

#[test]
fn every_identifier_of_the_table_is_read() {
    let table = include_str!("../data/gs1_ai.tsv");
    let mut count = 0;
    for line in table.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let columns: Vec<&str> = line.split('\t').collect();
        let (ai, format) = (columns[0], columns[2]);
        let value = value_of(format);
        let text = format!("]d2{ai}{value}\x1d{}", if ai == "01" { "" } else { "0109521234543213" });
        count += 1;
        match label::read(text.as_bytes(), &Settings::of_year(YEAR)) {
            Ok(label) => assert_eq!(label.fields[0], (ai.to_string(), value), "{line}"),
            // Read, but it does not stand beside 01 alone; or a person's.
            Err(refusal) => assert!(
                ["missing-pair", "forbidden-pair", "personal-data"].contains(&refusal.code.name()),
                "{line}: {text} {refusal:?}"
            ),
        }
        // The identifier and nothing behind it is never taken.
        let short = &text[..3 + ai.len()];
        let code = label::read(short.as_bytes(), &Settings::of_year(YEAR)).unwrap_err().code;
        assert!(["truncated", "empty-field", "personal-data"].contains(&code.name()), "{line}: {code}");
    }
    assert_eq!(count, 541);
}
