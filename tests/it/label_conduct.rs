//! Labels beyond the rows of the data file: what the reader does where the standards leave it to conduct.
//!
//! Sources: the forms are those of @gs1-strings, @hibc-structures and @isbt-identifiers; where only our own
//! conduct is checked the row says "conduct". Identifiers are invented (GTIN 952…, and, of the standards' own examples, labeler A123 and facility A9999).

use boxcall::label::{self, Arrival, Label, Raw, Refusal, Settings};
use boxcall::udi::{DeviceId, mod43_check};

fn read(text: &str) -> Result<Label, Refusal> {
    label::read(text.as_bytes(), &Settings::of_year(2026))
}

/// Code, device identifier, lot, serial.
fn said(text: &str) -> (String, String, String, String) {
    match read(text) {
        Ok(label) => (
            label.code().into(),
            label.di.as_ref().map_or("", DeviceId::as_str).into(),
            label.lot.clone().unwrap_or_default(),
            label.serial.clone().unwrap_or_default(),
        ),
        Err(refusal) => (refusal.code.to_string(), String::new(), String::new(), String::new()),
    }
}

/// With its check character.
fn hibc(text: &str) -> String {
    format!("{text}{}", mod43_check(text).unwrap())
}

#[track_caller]
fn check(rows: &[(&str, &str, &str, &str, &str, &str)]) {
    for (text, code, di, lot, serial, source) in rows {
        let want = (code.to_string(), di.to_string(), lot.to_string(), serial.to_string());
        assert_eq!(said(text), want, "{text:?} ({source})");
    }
}

const DI: &str = "09521234543213";

#[test]
fn gs1() {
    check(&[
        ("]E09521234543213|]e01727022810A1", "ok", DI, "A1", "", "engine: a bar parts EAN and composite"),
        ("]E00109521234543213", "caps-lock", DI, "", "", "more than 13 digits: ]e0 turned round"),
        ("0109521234543213\r1727022810LOT7\r", "ok", DI, "LOT7", "", "two symbols without identifiers"),
        (
            "]C10109521234543213]C11727022810LOT721S1",
            "ambiguous-no-separator",
            DI,
            "",
            "",
            "the second ]C1 follows a fixed field, so it stands for no separator; conduct",
        ),
        (
            "]d2010952123454321342252810K1",
            "ambiguous-no-separator",
            DI,
            "",
            "",
            "422 is not predefined: over its length; conduct",
        ),
        (
            "]d20109521234543213301210K1",
            "ambiguous-no-separator",
            DI,
            "",
            "",
            "30 holds digits only, so a separator is lost; conduct",
        ),
        ("]d2010952123454321330X2", "bad-charset", "", "", "", "N..8"),
        (
            "]C11727022810LOT721S1",
            "ambiguous-no-separator",
            "",
            "",
            "",
            "graver than secondary-only; conduct",
        ),
        ("]d20100000000000000", "not-a-label", "", "", "", "zeros alone are none; conduct"),
        (
            "]d2010952123454321321A\r]d2010952123454321321B",
            "two-labels",
            "",
            "",
            "",
            "one DI with two serials in two symbols; conduct",
        ),
        ("]d2010952123454321310A\rhello", "not-a-label", "", "", "", "graver than what was read; conduct"),
        ("]d20109521234543213250A", "missing-pair", "", "", "", "dictionary: 250 needs 21"),
        ("]d2020952123454321310A", "missing-pair", "", "", "", "dictionary: 02 needs 37"),
        ("]C110A\x1d375", "missing-pair", "", "", "", "dictionary: 37 needs 02"),
        ("]d20109521234543213235TP\x1d21S", "forbidden-pair", "", "", "", "dictionary: 21 excludes 235"),
        ("]d2010952123454321370032702001530", "bad-date", DI, "", "", "linter yymmdd: no day 00 in 7003"),
        ("]C18004952A", "not-a-label", "", "", "", "an asset of the hospital is no device's label; conduct"),
        ("10LOT7", "secondary-only", "", "LOT7", "", "a second symbol without identifier"),
        ("1012345678", "not-a-label", "", "", "", "a number typed is never taken for a lot; conduct"),
        ("95211015", "not-a-label", "", "", "", "eight digits may be a date; conduct"),
        (
            "0109520000",
            "not-a-label",
            "",
            "",
            "",
            "digits that nothing marks as GS1 are not a label cut short; conduct",
        ),
        ("99BOTTLES", "not-a-label", "", "", "", "a company's own field in no marked symbol; conduct"),
        ("95ABC21345", "not-a-label", "", "", "", "the same, and a serial that may be none; conduct"),
        ("]C195ABC", "secondary-only", "", "", "", "marked: a symbol of some box; conduct"),
        ("0109521234543213\r95ABC\r", "ok", DI, "", "", "beside the item; conduct"),
        (
            "]C1010952123454321310X21Y\r]C110Z\r",
            "two-labels",
            "",
            "",
            "",
            "Z is the lot in no reading of the first: one DI with two lots in two symbols; conduct",
        ),
        (
            "]C1010952123454321310X21Y\r]C110X\r",
            "ambiguous-no-separator",
            DI,
            "X",
            "",
            "X is the lot in one reading, and alone in the second symbol; conduct",
        ),
        ("]d2", "truncated", "", "", "", "conduct"),
        ("", "not-a-label", "", "", "", "conduct"),
        ("(01) 0952 1234 5432 13 (10) A1", "ok", DI, "A1", "", "spaces by taste"),
        ("(01)09521234543213(10)A 1", "bad-charset", "", "", "", "no space in set 82"),
        ("(89)123", "unknown-ai", "", "", "", "89 is not assigned"),
        (
            "[)>05\x1d0109521234543213\x1d10X1",
            "ok",
            DI,
            "X1",
            "",
            "envelope whose RS and EOT the keyboard dropped",
        ),
    ]);
}

#[test]
fn a_separator_that_the_user_has_set() {
    let text = b"]d2010952123454321310LOT7#21S1";
    let settings = Settings { separator: Some('#'), ..Settings::of_year(2026) };
    let label = label::read(text, &settings).unwrap();
    assert_eq!((label.lot.as_deref(), label.serial.as_deref()), (Some("LOT7"), Some("S1")));
    // A letter can't be set: it stands in lots.
    let settings = Settings { separator: Some('T'), ..Settings::of_year(2026) };
    let label = label::read(b"]d20109521234543213\x1d10LOT7", &settings).unwrap();
    assert_eq!(label.lot.as_deref(), Some("LOT7"));
}

#[test]
fn what_shows_that_a_scanner_sends_separators() {
    let settings = Settings::of_year(2026);
    for (text, shows) in [
        ("]d2010952123454321310A\x1d21B", true),
        ("]d2010952123454321310A|21B", true),
        ("]C1010952123454321310A]C121B", true),
        ("]d2010952123454321310A", false),
        ("]E09521234543213|]e010A", false),
        ("+A123FL300290L", false),
        ("https://id.example.org/01/09521234543213/10/A~B", false),
    ] {
        assert_eq!(label::holds_separator(text.as_bytes(), &settings), shows, "{text:?}");
    }
}

#[test]
fn raw_bytes_come_back() {
    let bytes: Vec<u8> = (0..=255).collect();
    let raw = Raw::new(&bytes, Arrival::Scanned);
    assert!(raw.hex.starts_with("000102") && raw.hex.ends_with("feff"));
    assert_eq!(raw.bytes(), Some(bytes));
    assert_eq!(Raw { hex: "abc".into(), arrival: Arrival::Typed }.bytes(), None);
    assert_eq!(Raw { hex: "zz".into(), arrival: Arrival::Typed }.bytes(), None);
}

#[test]
fn a_lost_separator_shows_all_readings() {
    let text = b"]d201095212345432131727022810LOT721S0001";
    let label = label::read(text, &Settings::of_year(2026)).unwrap();
    let tails: Vec<String> = label
        .readings
        .iter()
        .map(|r| r.fields.iter().skip(2).map(|(id, value)| format!("({id}){value}")).collect())
        .collect();
    assert_eq!(tails, ["(10)LOT721S0001", "(10)LOT7(21)S0001"]);
    assert_eq!(label.human_readable(), "(01)09521234543213(17)270228");
    // A scanner that has sent one before sends them all.
    let settings = Settings { sends_separators: true, ..Settings::of_year(2026) };
    assert_eq!(label::read(text, &settings).unwrap().lot.as_deref(), Some("LOT721S0001"));
}

#[test]
fn two_standards_are_not_joined() {
    // Conduct: a lot of one can't be tied to the identifier of the other.
    assert_eq!(said("]d20109521234543213\r+$LOT7J8").0, "two-labels");
    assert_eq!(said("]d20109521234543213\rhttps://id.example.org/01/09521234543213").0, "ok");
}

#[test]
fn links() {
    let url = "https://id.example.org/01/09521234543213";
    for (tail, code, lot, source) in [
        ("/10/A1/", "ok", "A1", "a slash at the end; conduct"),
        ("/10/A+1", "ok", "A+1", "a plus in a path is a plus"),
        ("?10=A+1", "bad-charset", "", "a plus in a query is a space, which set 82 lacks"),
        ("?10=A%2B1", "ok", "A+1", "percent-encoding"),
        ("/10/A%C3%A9", "bad-charset", "", "set 82 is judged after decoding"),
        ("/10/A%2", "bad-charset", "", "half a percent sign; conduct"),
        ("/10", "empty-field", "", "conduct"),
        ("/11/270101", "unknown-ai", "", "dates are query words"),
        ("/10/A/235/T", "unknown-ai", "", "235 stands alone"),
        ("/235/T", "ok", "", "235 stands alone"),
        ("/10/A#10/B", "ok", "A", "a fragment is no data"),
        ("?89=A", "unknown-ai", "", "a number that is no identifier; conduct"),
        ("/10/8018", "ok", "8018", "a value is no identifier; conduct"),
        ("?7250=20000101", "personal-data", "", "a birth date"),
    ] {
        let said = said(&format!("{url}{tail}"));
        assert_eq!((said.0.as_str(), said.2.as_str()), (code, lot), "{tail} ({source})");
    }
    assert_eq!(said("https://id.example.org/hello").0, "not-a-label");
    assert_eq!(said("https://id.example.org/8018/952123400000000024").0, "personal-data");
}

#[test]
fn hibc_beyond_the_rows() {
    // The forms of @hibc-structures, on invented labels.
    for (text, code, di, lot, source) in [
        ("+A123FL300290L  ".to_string(), "ok", "A123FL300290", "", "spaces that make no check hold go"),
        ("*+A123FL300290L*".to_string(), "ok", "A123FL300290", "", "printed stars are no data"),
        (hibc("+A123FL300290/X123"), "unknown-ai", "", "", "no such supplement"),
        (hibc("+A123FL300290//SSN9"), "empty-field", "", "", "nothing between the slashes"),
        (hibc("+A123FL300290/$"), "empty-field", "", "", "a lot of nothing"),
        (hibc("+A123FL300290/$$327"), "truncated", "", "", "a date of two digits"),
        (hibc("+A123FL300290/$$327O228LOT7"), "bad-charset", "", "", "the letter O in a date"),
        (hibc("+S40121"), "ambiguous-no-separator", "", "", "a labeler with S, or a serial with its link"),
        (
            hibc("+S123FL300290") + "\r" + &hibc("+$LOT7$"),
            "ok",
            "S123FL300290",
            "LOT7",
            "the other link tells",
        ),
        ("+J123AQ3451T\r".to_string() + &hibc("+S40121"), "link-mismatch", "", "", "fits in neither way"),
        (hibc("+A12302FL30029000"), "ok", "A12302FL30029000", "", "16 characters, but HIBC by its label"),
        (hibc("+A12302FL30029005"), "packaging-level", "A12302FL30029005", "", "the last digit is the unit"),
        ("+A123FL300290X+/A123B".to_string(), "personal-data", "", "", "behind a check that does not hold"),
    ] {
        let said = said(&text);
        assert_eq!((said.0.as_str(), said.1.as_str(), said.2.as_str()), (code, di, lot), "{text} ({source})");
    }
    let two = read(&(hibc("+A123FL300290") + "\r" + &hibc("+$LOT7L"))).unwrap();
    assert_eq!(two.human_readable(), format!("+A123FL300290L{}", hibc("+$LOT7L")));
    assert_eq!(read("+A123FL3000S0 ").unwrap().human_readable(), "+A123FL3000S0_");
}

#[test]
fn two_structures_of_isbt_128_that_say_one_thing() {
    // @imdrf-udi-guide, @isbt-identifiers: =>, &> use by; =}, &} made; &,1 and &) lots.
    let di = "A9999FL300290001";
    check(&[
        ("=/A9999FL300290001=>027059&>0270592359", "ok", di, "", "", "one day, with and without its time"),
        ("=/A9999FL300290001=>027059&>0280592359", "duplicate-ai-conflict", "", "", "", "two use-by dates"),
        ("=/A9999FL300290001=}026031&}0260320830", "duplicate-ai-conflict", "", "", "", "made on two days"),
        (
            "=/A9999FL300290001&,100000000000000LOT7&)1234567890",
            "duplicate-ai-conflict",
            "",
            "",
            "",
            "two lots",
        ),
        ("=/A9999FL300290001=>027059\r&>0280592359\r", "two-labels", "", "", "", "in two symbols"),
    ]);
}

#[test]
fn personal_data_wherever_they_stand() {
    for text in [
        "]C1=#123",
        "(hello)(8018)952123400000000024",
        "[)>\x1e05\x1d8018952123400000000024",
        "]d2010952123454321610A\x1d8018952123400000000024",
        "]d2010952123454321310A#\x1d7253NAME",
        "+A123FL300290L\r+/A1234567X",
        "]d2010952123454321310A\r]C18018952123400000000024",
        "+d28018952123400000000024",
    ] {
        let refusal = read(text).unwrap_err();
        assert_eq!((refusal.code.name(), refusal.position), ("personal-data", None), "{text:?}");
    }
}

#[test]
fn a_wrong_layout_is_found_before_anything_is_read() {
    // German and French keyboard tables, from memory.
    for text in ["+C10109521234543213", "+d210LOT7", "&é\"'(-", "´-A9999FL300290001", "À99912345-$10X3"] {
        assert_eq!(said(text).0, "keyboard-layout", "{text:?}");
    }
    // A labeler may be called so: then the check holds and no GTIN follows.
    assert_eq!(said(&hibc("+C101FL300290")).1, "C101FL300290");
    assert_eq!(said(&hibc("+D2019FL30").to_lowercase()).0, "caps-lock");
    // One accent in a lot is a bad character, not a layout.
    assert_eq!(said("]d2010952123454321310LOTé7").0, "bad-charset");
}

#[test]
fn a_refusal_names_the_place_in_the_printed_text() {
    // What the fields are: @gs1-syntax-dictionary, @imdrf-udi-guide; that the printed text is named is conduct.
    let named = |text: &str| match read(text) {
        Ok(label) => label.warnings.into_iter().map(|w| w.message).collect(),
        Err(refusal) => refusal.message,
    };
    for (text, words) in [
        ("(01)09521234543213(17)27022(10)A", "The use-by date (17) is cut short at byte 27"),
        ("]d2010952123454321310LOT#7", "The lot (10) has a character that it can't have"),
        ("]d20109521234543213422528\x1d42252", "The field (422) ORIGIN is cut short"),
        ("]d201095212345432131127133110A", "The date made (11) is not in the calendar"),
        ("]d2010952123454321310A\x1dXX1", "At byte 23, behind the lot (10), there is no GS1 identifier"),
        ("(17)270228(01)09521234543213(99X)1", "behind the GTIN (01), there is no GS1 identifier"),
        ("]d201095212345432132109\x1d21A", "The serial number (21) stands twice"),
        ("]d20109521234543213250A", "The second serial number (250), at byte 19, may not stand without"),
        (
            "]d2010952123454321310A]d2010952000000001110B",
            "second box begins, the device identifier is another",
        ),
        (&hibc("+A123FL-300290"), "A character of the product number can't stand there"),
        (&hibc("+A123FL300290/$$327"), "The use-by date is cut short"),
        (&hibc("+A123FL300290/$AAAAAAAAAAAAAAAAAAA"), "The lot is longer than 18 characters"),
        (&hibc("+A123FL300290/$LOT7/16D20271301"), "The date made (16D) is not in the calendar"),
        ("=/A9999FL300290001=>0270", "The use-by date (=>) is cut short"),
        ("=/A9999FL300290001&,1000000000-000LOT7", "A character of the lot (&,1) can't stand there"),
        ("[)>\x1e06\x1d14D2027\x1e\x04", "The use-by date (14D) is cut short"),
    ] {
        let message: String = named(text);
        assert!(message.contains(words), "{text:?}: {message}");
    }
}

#[test]
fn the_place_of_a_fault_counts_bytes_as_they_came() {
    for (text, at) in [
        ("]d20109521O345432131727022810LOT7", 10),
        ("  ]d2010952123454321317 7022810LOT7", 23),
        ("]d2010952123454321310A\u{241d}89", 25),
        ("(01)09521234543214", 17),
        ("]d2010952123454321310A\r]d2010952000000001110B\r", 26),
    ] {
        assert_eq!(read(text).unwrap_err().position, Some(at), "{text:?}");
    }
}
