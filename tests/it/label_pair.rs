//! Two codes of one label; a lost separator that the caller's knowledge settles.

use boxcall::label::pair::join;
use boxcall::label::{self, Label, Settings, Supported, support};
use boxcall::udi::mod43_check;

const YEAR: i32 = 2026;

fn read(text: &str) -> Label {
    label::read(text.as_bytes(), &Settings::of_year(YEAR))
        .unwrap_or_else(|refusal| panic!("{text}: {refusal}"))
}

fn with_check(text: &str) -> String {
    format!("{text}{}", mod43_check(text).unwrap())
}

#[test]
fn identifier_and_lot_of_gs1_are_one_label() {
    // The fields of GS-001 of label_vectors.tsv, on two linear symbols.
    let whole = read("]C1010952123454321317270228102610A\x1d21S0001");
    let (first, second) = (read("]C10109521234543213"), read("]C117270228102610A\x1d21S0001"));
    for joined in [join(&first, &second).unwrap(), join(&second, &first).unwrap()] {
        assert_eq!((&joined.di, &joined.lot, &joined.serial), (&whole.di, &whole.lot, &whole.serial));
        assert_eq!((joined.use_by, joined.code()), (whole.use_by, "ok"));
    }
    assert_eq!(join(&first, &second).unwrap().printed, whole.printed);
    assert_eq!(join(&whole, &whole).unwrap(), whole);
}

#[test]
fn what_does_not_belong_together_is_refused_with_both_named() {
    let di = read("]C10109521234543213");
    let full = read("]C10109521234543213102610A");
    let lot = read("]C117270228102610A");
    let other_lot = read("]C117270228102610B");
    let other_di = read("]C10159521234543218102610A");
    let hibc = read(&with_check("+A123FL300290"));
    for (first, second, code) in [
        (&full, &other_lot, "two-labels"),
        (&di, &other_di, "two-labels"),
        (&lot, &other_lot, "secondary-only"),
        (&lot, &lot, "secondary-only"),
        (&di, &hibc, "two-labels"),
        (&hibc, &lot, "two-labels"),
    ] {
        let refusal = join(first, second).unwrap_err();
        assert_eq!(refusal.code.name(), code, "{refusal}");
        assert!(refusal.message.contains(&first.printed) && refusal.message.contains(&second.printed));
    }
    // 37 beside 01 is forbidden: @gs1-syntax-dictionary.
    let contents = read("]C1020952123454321337100");
    assert!(join(&di, &contents).is_err());
}

#[test]
fn the_link_of_hibc_joins_or_refuses() {
    let primary = with_check("+A123FL300290");
    let link = primary.chars().next_back().unwrap();
    let secondary = read(&with_check(&format!("+$$3270228L7{link}")));
    let joined = join(&read(&primary), &secondary).unwrap();
    assert_eq!(joined.di.as_ref().map(|di| di.as_str()), Some("A123FL300290"));
    assert_eq!((joined.lot.as_deref(), joined.code()), (Some("L7"), "ok"));
    assert_eq!(
        joined,
        join(&secondary, &read(&primary))
            .map(|label| Label { printed: joined.printed.clone(), fields: joined.fields.clone(), ..label })
            .unwrap()
    );
    // Every other link is of another box; a space is one of them.
    for c in "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%".chars().filter(|c| *c != link) {
        let strange = read(&with_check(&format!("+$$3270228L7{c}")));
        assert_eq!(join(&read(&primary), &strange).unwrap_err().code.name(), "link-mismatch", "{c}");
    }
    // One symbol with all in it says the same lot.
    let whole = read(&with_check("+A123FL300290/$$3270228L7"));
    assert_eq!(join(&whole, &secondary).unwrap().lot.as_deref(), Some("L7"));
}

#[test]
fn one_supported_reading_is_offered_as_doubtful() {
    let label = read("01095212345432131727022810LOT721S0001");
    assert_eq!((label.code(), label.lot.as_deref()), ("ambiguous-no-separator", None));
    assert!(label.readings.len() >= 2);
    let has = |wanted: &'static [(&str, &str)]| {
        move |reading: &label::PossibleReading| {
            wanted.iter().all(|(id, value)| reading.fields.iter().any(|(i, v)| i == id && v == value))
        }
    };
    let Supported::One(one) = support(&label, YEAR, &has(&[("10", "LOT7"), ("21", "S0001")])) else {
        panic!()
    };
    assert_eq!((one.lot.as_deref(), one.serial.as_deref()), (Some("LOT7"), Some("S0001")));
    assert_eq!((one.code(), &one.readings), ("ambiguous-no-separator", &label.readings));
    assert_eq!((one.use_by, &one.di), (label.use_by, &label.di));
    assert_eq!(support(&label, YEAR, &has(&[("10", "LOT8")])), Supported::None);
    assert_eq!(support(&label, YEAR, &|_| true), Supported::Several);
    // What is still in doubt joins with nothing.
    assert_eq!(join(&one, &read("]C10109521234543213")).unwrap_err().code.name(), "ambiguous-no-separator");
    assert_eq!(support(&read("]C10109521234543213"), YEAR, &|_| true), Supported::None);
}
