//! Labels written and read back; the command card against every label and every slip.

use boxcall::label::card::{self, Command};
use boxcall::label::write::{self, Content, Ground, WriteError};
use boxcall::label::{self, Settings};
use boxcall::udi::{DeviceId, mod10_check};
use chrono::NaiveDate;
use proptest::prelude::*;

const ROWS: &str = include_str!("../data/label_vectors.tsv");
const YEAR: i32 = 2026;

/// @gs1-syntax-dictionary, lint_cset82.c.
const SET_82: &str = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz";

fn content(lot: Option<&str>, serial: Option<&str>) -> Content {
    Content {
        di: DeviceId::parse("09521234543213").unwrap(),
        lot: lot.map(String::from),
        serial: serial.map(String::from),
        use_by: NaiveDate::from_ymd_opt(2027, 2, 28),
    }
}

fn written(label: &label::Label) -> Content {
    Content {
        di: label.di.clone().unwrap(),
        lot: label.lot.clone(),
        serial: label.serial.clone(),
        use_by: label.use_by,
    }
}

#[test]
fn the_element_string_of_the_first_vector() {
    // GS-001 of label_vectors.tsv, on which all three reference readers agree.
    let bytes = write::element_string(&content(Some("2610A"), Some("S0001")), YEAR).unwrap();
    assert_eq!(bytes, b"010952123454321317270228102610A\x1d21S0001");
    assert_eq!(
        write::human_readable(&content(Some("2610A"), Some("S0001")), YEAR).unwrap(),
        "(01)09521234543213(17)270228(10)2610A(21)S0001"
    );
    // No separator behind the last field, nor where nothing follows.
    let bytes = write::element_string(&content(None, Some("S0001")), YEAR).unwrap();
    assert_eq!(bytes, b"01095212345432131727022821S0001");
}

#[test]
fn what_can_not_be_read_back_is_not_written() {
    let fault = |lot, serial| write::element_string(&content(lot, serial), YEAR).unwrap_err();
    assert_eq!(fault(Some(""), None), WriteError::Empty { field: "lot" });
    assert_eq!(
        fault(None, Some("123456789012345678901")),
        WriteError::TooLong { field: "serial", greatest: 20 }
    );
    assert_eq!(fault(Some("A B"), None), WriteError::Charset { field: "lot", at: 1 });
    assert_eq!(fault(Some("AÄ"), None), WriteError::Charset { field: "lot", at: 1 });
    assert_eq!(fault(Some("A\x1d"), None), WriteError::Charset { field: "lot", at: 1 });
    assert_eq!(fault(Some("A<GS>21B"), None), WriteError::Separator { field: "lot" });
    let mut strange = content(None, None);
    strange.di = DeviceId::parse("A123FL300290").unwrap();
    assert_eq!(write::element_string(&strange, YEAR), Err(WriteError::NoGtin { di: "A123FL300290".into() }));
    // @gs1-century: 76 is 2076 in 2026, 77 is 1977.
    let mut late = content(None, None);
    late.use_by = NaiveDate::from_ymd_opt(2076, 12, 31);
    assert!(write::element_string(&late, YEAR).is_ok());
    late.use_by = NaiveDate::from_ymd_opt(2077, 1, 1);
    assert!(matches!(write::element_string(&late, YEAR), Err(WriteError::Century { .. })));
}

proptest! {
    #[test]
    fn written_read_written_is_the_same(
        number in 1u64..10_000_000_000_000,
        lot in proptest::option::of(proptest::sample::subsequence(SET_82.chars().collect::<Vec<_>>(), 1..=20).prop_shuffle()),
        serial in proptest::option::of(proptest::sample::subsequence(SET_82.chars().collect::<Vec<_>>(), 1..=20).prop_shuffle()),
        day in proptest::option::of(0i64..36_000),
    ) {
        let digits = format!("{number:013}");
        let di = format!("{digits}{}", mod10_check(&digits).unwrap());
        let first = NaiveDate::from_ymd_opt(1977, 1, 1).unwrap();
        let wanted = Content {
            di: DeviceId::parse(&di).unwrap(),
            lot: lot.map(|chars| chars.into_iter().collect()),
            serial: serial.map(|chars| chars.into_iter().collect()),
            use_by: day.map(|days| first + chrono::Days::new(days as u64)),
        };
        let bytes = write::element_string(&wanted, YEAR);
        prop_assume!(!matches!(bytes, Err(WriteError::Separator { .. })));
        let bytes = bytes.unwrap();
        let manner = Settings { sends_separators: true, ..Settings::of_year(YEAR) };
        let label = label::read(&write::scanned(&bytes), &manner).unwrap();
        prop_assert_eq!(written(&label), wanted.clone());
        prop_assert_eq!(write::element_string(&written(&label), YEAR).unwrap(), bytes);
        prop_assert_eq!(&label.printed, &write::human_readable(&wanted, YEAR).unwrap());
        prop_assert!(card::read(&write::scanned(label.printed.as_bytes())).is_none());
    }
}

#[test]
fn a_symbol_has_its_borders_and_decodes() {
    let bytes = write::element_string(&content(Some("2610A"), Some("S0001")), YEAR).unwrap();
    let matrix = write::gs1_matrix(&bytes).unwrap();
    let (width, height) = (matrix.width(), matrix.height());
    assert_eq!(width, height);
    // @iso-16022: an L of dark modules at the left and at the bottom, a broken line at the top.
    assert!(
        (0..height).all(|row| matrix.dark(0, row))
            && (0..width).all(|column| matrix.dark(column, height - 1))
    );
    assert!((0..width).all(|column| matrix.dark(column, 0) == (column % 2 == 0)));
    let bits: Vec<bool> =
        (0..height).flat_map(|y| (0..width).map(move |x| (x, y))).map(|(x, y)| matrix.dark(x, y)).collect();
    assert_eq!(datamatrix::DataMatrix::decode(&bits, width).unwrap(), bytes);
    let picture = matrix.half_blocks(Ground::Light);
    assert_eq!(picture.lines().count(), (height + 2 * write::QUIET) / 2);
    assert!(picture.lines().all(|line| line.chars().count() == width + 2 * write::QUIET));
    // The quiet zone: blank on paper, drawn on a dark screen.
    assert!(picture.lines().next().unwrap().trim().is_empty());
    assert!(matrix.half_blocks(Ground::Dark).lines().next().unwrap().chars().all(|c| c == '█'));
    let ascii = matrix.ascii(Ground::Light);
    let drawn = ascii.lines().enumerate().all(|(y, line)| {
        (0..width).all(|x| {
            y < write::QUIET
                || (line.as_bytes()[2 * (x + write::QUIET)] == b'#') == matrix.dark(x, y - write::QUIET)
        })
    });
    assert!(ascii.is_ascii() && drawn);
    assert_eq!(write::plain_matrix(&[b'a'; 4000]), Err(WriteError::TooMuch));
}

#[test]
fn a_card_is_read_with_all_that_a_scanner_adds() {
    for (command, code) in card::all() {
        for sent in [
            code.clone(),
            format!("]d1{code}\r"),
            format!("\x02{code}\x03"),
            format!("{code}\t"),
            code.to_lowercase(),
            format!("]D1{}\r\n", code.to_lowercase()),
        ] {
            assert_eq!(card::read(sent.as_bytes()), Some(Ok(command)), "{sent:?}");
        }
    }
    let codes: Vec<String> = card::all().into_iter().map(|(_, code)| code).collect();
    assert_eq!(codes.len(), 7);
    // @iso-7064: the whole number, letters as 10 to 35, leaves 1.
    for code in &codes {
        let digits: String = code.chars().map(|c| c.to_digit(36).unwrap().to_string()).collect();
        assert_eq!(digits.parse::<u64>().unwrap() % 97, 1, "{code}");
    }
}

fn refused(text: &str) -> bool {
    matches!(card::read(text.as_bytes()), Some(Err(_)))
}

#[test]
fn a_hurt_code_is_refused() {
    for (_, code) in card::all() {
        let chars: Vec<char> = code.chars().collect();
        for at in 0..chars.len() {
            for c in (33u8..127).map(char::from).chain("éèçàß§äöü".chars()) {
                let mut hurt = chars.clone();
                hurt[at] = c;
                let hurt: String = hurt.into_iter().collect();
                if hurt != code {
                    assert!(refused(&hurt), "{hurt}");
                    assert!(label::read(hurt.as_bytes(), &Settings::of_year(YEAR)).is_err(), "{hurt}");
                }
            }
            if at + 1 < chars.len() && chars[at] != chars[at + 1] {
                let mut hurt = chars.clone();
                hurt.swap(at, at + 1);
                let hurt: String = hurt.into_iter().collect();
                assert!(refused(&hurt), "{hurt}");
            }
        }
        assert!(refused(&code[..6]) && refused(&format!("{code}1")));
    }
}

/// What a computer set to another layout makes of an English scanner's keys (from memory).
fn through(code: &str, from: &str, to: &str) -> String {
    code.chars()
        .map(|c| from.chars().position(|f| f == c).map_or(c, |at| to.chars().nth(at).unwrap()))
        .collect()
}

#[test]
fn another_keyboard_never_makes_another_command() {
    let french = ("1234567890]aqzwAQZW", "&é\"'(-è_çà$qawzQAWZ");
    let german = ("]+/-yzYZ", "+`-ßzyZY");
    let german_shift_lock = ("1234567890]", "!\"§$%&/()=*");
    let french_caps = ("]", "£");
    for (command, code) in card::all() {
        for sent in [code.clone(), format!("]d1{code}")] {
            for (from, to) in [french, german, german_shift_lock, french_caps] {
                for caps in [false, true] {
                    let mut got = through(&sent, from, to);
                    if caps {
                        got = got
                            .chars()
                            .map(|c| {
                                if c.is_lowercase() { c.to_ascii_uppercase() } else { c.to_ascii_lowercase() }
                            })
                            .collect();
                    }
                    match card::read(got.as_bytes()) {
                        Some(Ok(read)) => assert_eq!(read, command, "{got}"),
                        Some(Err(_)) => {}
                        None => {
                            assert!(label::read(got.as_bytes(), &Settings::of_year(YEAR)).is_err(), "{got}");
                        }
                    }
                }
            }
        }
        assert_eq!(
            card::read(through(&code, french.0, french.1).as_bytes()).unwrap().unwrap_err().code.name(),
            "keyboard-layout"
        );
    }
}

#[test]
fn no_label_is_a_command_and_no_command_a_label() {
    let mut rows = 0;
    for line in ROWS.lines().skip(1) {
        let input = line.split('\t').nth(1).unwrap().replace("\\x1d", "\x1d").replace("\\\\", "\\");
        assert_eq!(card::read(input.as_bytes()), None, "{line}");
        rows += 1;
    }
    assert_eq!(rows, 280);
    for (_, code) in card::all() {
        for sent in [
            code.clone(),
            code.to_lowercase(),
            format!("]d1{code}"),
            format!("]C0{code}"),
            format!("+D1{code}"),
            format!("+{code}"),
        ] {
            let refusal = label::read(sent.as_bytes(), &Settings::of_year(YEAR));
            assert!(refusal.is_err(), "{sent}: {refusal:?}");
        }
    }
}

#[test]
fn the_sheet_shows_every_word() {
    let sheet = card::sheet_svg(0.5).unwrap();
    for command in Command::ALL {
        assert!(sheet.contains(&format!(">{}<", command.word())) && sheet.contains(&command.code()));
        assert!(command.says().to_lowercase().contains(command.word().split(' ').next_back().unwrap()));
    }
    assert_eq!(sheet.matches("<path").count(), 7);
}
