//! The read-back: the headline is the worst thing that is true.

use crate::entries::*;
use boxcall::case::readback::{Context, Headline, LabelField, ReadBack, Scan, known_item, read_back};
use boxcall::catalogue::Catalogue;
use boxcall::journal::{BoxRead, Fact, Wanted};
use boxcall::label::{Label, LabelCode, Refusal, Warning};
use boxcall::measure::Kind;
use boxcall::shelf::Shelf;
use boxcall::units::{Diameter, Length};
use proptest::prelude::*;

fn scan(label: Label) -> Scan {
    Scan { label: Ok(label), raw: raw(), complete: true }
}

fn good() -> Label {
    label(Some(FELL_30029), Some("L1"), Some("2027-12-31"))
}

fn judge(journal: &Journal, scan: &Scan) -> ReadBack {
    let catalogue = catalogue();
    judge_with(&catalogue, journal, scan)
}

fn judge_with(catalogue: &Catalogue, journal: &Journal, scan: &Scan) -> ReadBack {
    let shelf = Shelf::fold_with(catalogue, &journal.entries);
    let case = boxcall::case::Case::fold(&journal.entries);
    read_back(scan, &Context { catalogue, shelf: &shelf, case: case.as_ref(), today: today().into() })
}

/// The box at hand that a label belongs to, as it will be written down.
fn at_hand(journal: &Journal, back: &ReadBack) -> Option<u32> {
    known_item(&back.read, boxcall::case::Case::fold(&journal.entries).as_ref())
}

/// A room with two lots of Fell 3.00 x 29, the printed sizes typed once, and call 1 for that size.
fn room() -> Journal {
    let mut journal = room_without_call();
    journal.call(1, wanted(Some("fell"), 3.0, 29.0));
    journal
}

fn room_without_call() -> Journal {
    let mut journal = Journal::default();
    let pieces = vec![
        piece(FELL_30029, "L1", "2027-12-31", "A2", 1),
        piece(FELL_30029, "L0", "2026-12-31", "A1", 1),
        piece(FELL_30029, "OLD", "2026-11-24", "A1", 1),
    ];
    journal.push_to(None, Fact::StockLoaded { from: "stock.csv".into(), pieces });
    for identifier in [FELL_30029, FELL_30039, FELL_27529, SKERRY_30029, BECK_35012] {
        typed(&mut journal, identifier, true);
    }
    journal.push(Fact::CaseBegun);
    journal
}

fn typed(journal: &mut Journal, identifier: &str, agrees: bool) {
    let length = Length::from_mm(29.0);
    let diameter = Some(Diameter::from_mm(3.0));
    journal.push_to(None, Fact::PrintedSizeTyped { di: di(identifier), diameter, length, agrees });
}

fn recall(journal: &mut Journal, identifier: Option<&str>, lot: &str) {
    journal.push_to(None, Fact::LotRecalled { di: identifier.map(di), lot: lot.into() });
}

fn warned(mut label: Label, code: LabelCode) -> Label {
    label.warnings.push(Warning { code, message: "said by the reader".into() });
    label
}

/// Each row adds one thing that is worse than everything in the rows below it: design choice.
#[test]
fn the_headline_is_the_worst_thing_that_is_true() {
    let same = room();
    let nothing_waits = room_without_call();
    let mut recalled = room();
    recall(&mut recalled, Some(FELL_30029), "l1");
    let mut stranger_recalled = room();
    recall(&mut stranger_recalled, None, "L1");
    let refusal = Refusal { code: LabelCode::CheckDigit, message: "check digit".into(), position: Some(3) };
    let cannot = Scan { label: Err(refusal), raw: raw(), complete: true };
    let expired = Some("2026-11-24");
    let with = |identifier, use_by| scan(label(identifier, Some("L1"), use_by));
    let late = Some("2027-12-31");
    let doubtful = |label| scan(warned(label, LabelCode::AmbiguousNoSeparator));
    let other_size = label(Some(FELL_30039), Some("L1"), late);
    let rows = [
        ("refused, in a room with a recall", &recalled, cannot, Headline::CannotRead, "CAN'T READ"),
        (
            "recalled and expired",
            &recalled,
            with(Some(FELL_30029), expired),
            Headline::Recalled,
            "STOP: RECALLED",
        ),
        (
            "recalled, not known",
            &stranger_recalled,
            with(Some(STRANGER), late),
            Headline::Recalled,
            "STOP: RECALLED",
        ),
        ("recalled, no identifier", &recalled, with(None, late), Headline::Recalled, "STOP: RECALLED"),
        ("expired, not known", &same, with(Some(STRANGER), expired), Headline::Expired, "STOP: EXPIRED"),
        (
            "expired, else the same",
            &same,
            with(Some(FELL_30029), expired),
            Headline::Expired,
            "STOP: EXPIRED",
        ),
        (
            "expired, nothing waits",
            &nothing_waits,
            with(Some(FELL_30029), expired),
            Headline::Expired,
            "STOP: EXPIRED",
        ),
        (
            "not known and doubtful",
            &same,
            doubtful(label(Some(STRANGER), Some("L1"), late)),
            Headline::NotKnown,
            "STOP: NOT KNOWN",
        ),
        (
            "no identifier and doubtful",
            &same,
            doubtful(label(None, Some("L1"), late)),
            Headline::NoIdentifier,
            "NO IDENTIFIER",
        ),
        ("doubtful and different", &same, doubtful(other_size.clone()), Headline::Doubtful, "DOUBTFUL"),
        ("different, no use-by date", &same, with(Some(FELL_30039), None), Headline::Different, "DIFFERENT"),
        ("different and unverified", &same, with(Some(SKERRY_30029), late), Headline::Different, "DIFFERENT"),
        (
            "the same, no use-by date",
            &same,
            with(Some(FELL_30029), None),
            Headline::CheckByEye,
            "CHECK BY EYE",
        ),
        (
            "no use-by date, nothing waits",
            &nothing_waits,
            with(Some(FELL_30029), None),
            Headline::CheckByEye,
            "CHECK BY EYE",
        ),
        ("nothing waits", &nothing_waits, with(Some(FELL_30029), late), Headline::NoCall, "NO CALL"),
        ("the same", &same, with(Some(FELL_30029), late), Headline::Same, "SAME AS CALL 1"),
        (
            "the same on its last day",
            &same,
            with(Some(FELL_30029), Some("2026-11-25")),
            Headline::Same,
            "SAME AS CALL 1",
        ),
    ];
    for (name, journal, scan, headline, big) in rows {
        let back = judge(journal, &scan);
        assert_eq!((back.headline, back.finding.to_string().as_str()), (headline, big), "{name}: {back:?}");
        assert!(!back.next.is_empty(), "{name}");
    }
}

#[test]
fn a_scan_that_broke_off_is_doubtful() {
    let back = judge(&room(), &Scan { complete: false, ..scan(good()) });
    assert_eq!(back.headline, Headline::Doubtful);
}

#[test]
fn a_recall_of_another_product_or_lot_stops_nothing() {
    let mut journal = room();
    recall(&mut journal, Some(FELL_30039), "L1");
    recall(&mut journal, Some(FELL_30029), "L2");
    assert_eq!(judge(&journal, &scan(good())).headline, Headline::Same);
    let no_lot = Label { serial: Some("S1".into()), lot: None, ..good() };
    assert_eq!(judge(&room(), &scan(no_lot.clone())).headline, Headline::Same);
    let back = judge(&journal, &scan(no_lot));
    assert_eq!(back.headline, Headline::CheckByEye, "its lot may be the recalled one");
}

#[test]
fn an_unverified_product_is_never_the_same() {
    let mut journal = room_without_call();
    journal.call(1, wanted(None, 3.0, 29.0));
    let back = judge(&journal, &scan(label(Some(SKERRY_30029), Some("F1"), Some("2027-12-31"))));
    assert_eq!(back.headline, Headline::CheckByEye);
    assert_eq!(back.matching, [1]);
    assert_eq!(judge(&journal, &scan(good())).headline, Headline::Same, "any product");
}

/// A size that was not called has no lot that was proposed for the call.
#[test]
fn of_a_box_that_was_not_called_no_lot_is_the_one_that_was_proposed() {
    let mut journal = room_without_call();
    let pieces =
        vec![piece(FELL_30029, "L1", "2027-12-31", "A2", 1), piece(FELL_30039, "M1", "2027-12-31", "A2", 1)];
    journal.push_to(None, Fact::StockLoaded { from: "stock.csv".into(), pieces });
    journal.call(1, wanted(Some("fell"), 3.0, 29.0));
    let lot = |identifier| {
        let back = judge(&journal, &scan(label(Some(identifier), Some("M1"), Some("2027-12-31"))));
        let line = back.lines.iter().find(|line| line.field == LabelField::Lot).expect("a lot").clone();
        (line.called, line.same, back.notes)
    };
    let (called, same, notes) = lot(FELL_30039);
    assert_eq!((called, same), (None, None));
    assert!(!notes.iter().any(|note| note.contains("proposed")), "{notes:?}");
    assert_eq!(lot(FELL_30029).0.as_deref(), Some("L1"), "of the called size it is");
}

#[test]
fn another_lot_than_proposed_is_the_same_with_a_quiet_line() {
    let back = judge(&room(), &scan(good()));
    assert_eq!(back.headline, Headline::Same);
    let lot = back.lines.iter().find(|line| line.field == LabelField::Lot).unwrap();
    assert_eq!((lot.called.as_deref(), lot.on_box.as_deref(), lot.same), (Some("L0"), Some("L1"), None));
    assert!(back.notes.iter().any(|note| note.contains("L0 expires first")), "{:?}", back.notes);
    let back = judge(&room(), &scan(label(Some(FELL_30029), Some("L0"), Some("2026-12-31"))));
    assert_eq!(back.lines.iter().find(|line| line.field == LabelField::Lot).unwrap().same, Some(true));
    assert!(back.notes.is_empty(), "a clean box has no note: {:?}", back.notes);
    assert_eq!(back.read.shelf.as_deref(), Some("A1"));
    assert_eq!(back.read.price, Some(900.0));
}

#[test]
fn a_different_box_is_held_against_the_nearest_call_field_by_field() {
    let mut journal = room();
    journal.call(2, wanted(Some("beck"), 3.5, 12.0));
    let back = judge(&journal, &scan(label(Some(FELL_30039), Some("L1"), Some("2027-12-31"))));
    assert_eq!((back.nearest, back.matching.len()), (Some(1), 0));
    let line = |field: &str| back.lines.iter().find(|line| line.field.word() == field).unwrap();
    assert_eq!(line("product").same, Some(true));
    assert_eq!(line("diameter").same, Some(true));
    let length = line("length");
    assert_eq!(
        (length.called.as_deref(), length.on_box.as_deref(), length.same),
        (Some("29"), Some("39"), Some(false))
    );
    assert_eq!(line("REF").same, Some(false));
    assert_eq!(line("use by").same, Some(true));
    assert!(length.field.name().contains("by the catalogue"));
}

#[test]
fn every_call_that_the_box_answers_is_named_oldest_first() {
    let mut journal = room();
    journal.call(2, wanted(Some("fell"), 2.75, 29.0));
    journal.call(3, wanted(None, 3.0, 29.0));
    let back = judge(&journal, &scan(good()));
    assert_eq!(back.matching, [1, 3]);
    assert_eq!(back.finding.to_string(), "SAME AS CALL 1");
    assert!(back.notes.iter().any(|note| note == "answers call 3 too"));
}

#[test]
fn the_first_box_of_an_identifier_has_its_printed_size_typed_once() {
    let mut journal = Journal::case();
    journal.call(1, wanted(Some("fell"), 3.0, 29.0));
    let back = judge(&journal, &scan(good()));
    assert!(back.needs_printed_size && back.headline == Headline::Same);
    assert!(back.next.contains("type the size printed on it"), "{}", back.next);
    typed(&mut journal, FELL_30029, true);
    let back = judge(&journal, &scan(good()));
    assert!(!back.needs_printed_size && back.headline == Headline::Same);
    assert!(back.next.contains("open it when the operator says so"), "{}", back.next);
    typed(&mut journal, FELL_30029, false);
    assert_eq!(judge(&journal, &scan(good())).headline, Headline::CheckByEye, "it did not agree");
}

#[test]
fn a_box_at_hand_scanned_again_is_the_same_box() {
    let mut journal = room();
    let with_serial = Label { serial: Some("S1".into()), ..good() };
    let read = judge(&journal, &scan(with_serial.clone())).read;
    journal.at_hand(1, Some(1), read.clone());
    let back = judge(&journal, &scan(with_serial.clone()));
    let found = (at_hand(&journal, &back), back.headline, back.matching.as_slice());
    assert_eq!(found, (Some(1), Headline::Same, &[1][..]));
    let other = judge(&journal, &scan(good()));
    assert_eq!(at_hand(&journal, &other), None, "one without a serial number is another box");
    journal.open(1, Some(1), read);
    journal.call(2, wanted(Some("fell"), 3.0, 29.0));
    let back = judge(&journal, &scan(with_serial));
    assert_eq!((at_hand(&journal, &back), back.headline), (None, Headline::CheckByEye));
    assert!(back.notes[0].contains("open already"), "{:?}", back.notes);
}

#[test]
fn without_a_serial_a_second_box_is_likelier_while_a_call_waits() {
    let mut journal = room();
    let read = judge(&journal, &scan(good())).read;
    journal.at_hand(1, Some(1), read);
    assert_eq!(at_hand(&journal, &judge(&journal, &scan(good()))), Some(1));
    journal.call(2, wanted(Some("fell"), 3.0, 29.0));
    let back = judge(&journal, &scan(good()));
    assert_eq!((at_hand(&journal, &back), back.matching.as_slice()), (None, &[2][..]));
}

#[test]
fn a_box_without_a_size_answers_by_its_reference() {
    let mut journal = Journal::case();
    let reference = Some("FP190".to_string());
    journal.call(1, Wanted { reference, kind: Some(Kind::Other), ..Wanted::default() });
    let back = judge(&journal, &scan(label(Some(WIRE), Some("R1"), Some("2027-12-31"))));
    assert_eq!((back.headline, back.needs_printed_size), (Headline::Same, false));
    assert_eq!(judge(&journal, &scan(good())).headline, Headline::Different);
    // A length alone, as wires and guide extensions have it, is kept with the box.
    let mut catalogue = catalogue();
    let wires = catalogue.products.iter_mut().flat_map(|product| &mut product.sundries);
    wires.for_each(|wire| wire.length = Some(Length::from_mm(1_900.0)));
    let back = judge_with(&catalogue, &journal, &scan(label(Some(WIRE), Some("R1"), Some("2027-12-31"))));
    assert_eq!((back.read.diameter, back.read.length), (None, Some(Length::from_mm(1_900.0))));
}

#[test]
fn nothing_of_a_refused_label_is_kept_but_its_bytes_and_nothing_at_all_of_a_persons() {
    let refused = |code| Scan {
        label: Err(Refusal { code, message: "refused".into(), position: None }),
        raw: raw(),
        complete: true,
    };
    let back = judge(&room(), &refused(LabelCode::Truncated));
    assert_eq!(back.read, BoxRead { raw: Some(raw()), ..BoxRead::default() });
    assert_eq!(judge(&room(), &refused(LabelCode::PersonalData)).read, BoxRead::default());
}

#[test]
fn a_second_identifier_of_the_same_box_is_the_same_box() {
    let mut catalogue = catalogue();
    let fell = catalogue.products.last_mut().unwrap();
    fell.diameters[1].boxes[0].di.push(di(STRANGER));
    let other = label(Some(STRANGER), Some("L1"), Some("2027-12-31"));
    let mut journal = room();
    assert_eq!(judge_with(&catalogue, &journal, &scan(other.clone())).headline, Headline::Same);
    recall(&mut journal, Some(FELL_30029), "L1");
    assert_eq!(judge_with(&catalogue, &journal, &scan(other)).headline, Headline::Recalled);
}

#[test]
fn without_a_case_a_label_is_still_judged() {
    let mut journal = Journal::default();
    typed(&mut journal, FELL_30029, true);
    assert_eq!(judge(&journal, &scan(good())).headline, Headline::NoCall);
}

#[test]
fn a_second_box_while_the_first_is_at_hand_is_told_so() {
    let mut journal = room();
    let first = Label { serial: Some("S1".into()), ..good() };
    let read = judge(&journal, &scan(first)).read;
    journal.at_hand(1, Some(1), read);
    let second = judge(&journal, &scan(Label { serial: Some("S2".into()), ..good() }));
    assert_eq!((second.headline, at_hand(&journal, &second)), (Headline::NoCall, None));
    assert!(second.notes.iter().any(|note| note == "call 1 has box 1 at hand"), "{:?}", second.notes);
}

#[test]
fn a_date_that_could_not_be_read_is_said_once() {
    let bad_date = warned(label(Some(FELL_30029), Some("L0"), None), LabelCode::BadDate);
    let back = judge(&room(), &scan(bad_date));
    assert_eq!(back.headline, Headline::CheckByEye);
    assert_eq!(back.notes, ["said by the reader"]);
}

proptest! {
    /// SAME is said only where nothing is known against the box, whatever is on the label and whatever waits.
    #[test]
    fn same_is_never_said_of_a_box_with_something_against_it(
        identifier in prop::sample::select(vec![
            None, Some(FELL_30029), Some(FELL_30039), Some(FELL_27529), Some(SKERRY_30029), Some(STRANGER), Some(WIRE),
        ]),
        lot in prop::sample::select(vec![None, Some("L0"), Some("L1"), Some("BAD")]),
        use_by in prop::sample::select(vec![None, Some("2026-11-24"), Some("2026-11-25"), Some("2027-12-31")]),
        serial in prop::sample::select(vec![None, Some("S1"), Some("S2")]),
        warning in prop::sample::select(vec![None, Some(LabelCode::AmbiguousNoSeparator), Some(LabelCode::PackagingLevel)]),
        complete in any::<bool>(),
        calls in prop::collection::vec(
            (prop::sample::select(vec![None, Some("fell"), Some("skerry")]), 0usize..3), 0..4,
        ),
        opened in any::<bool>(),
    ) {
        let mut journal = room_without_call();
        recall(&mut journal, None, "BAD");
        for (number, (product, size)) in calls.iter().enumerate() {
            let (diameter, length) = [(3.0, 29.0), (3.0, 39.0), (2.75, 29.0)][*size];
            journal.call(number as u32 + 1, wanted(*product, diameter, length));
        }
        if opened {
            journal.open(1, None, BoxRead { serial: Some("S1".into()), ..fell(FELL_30029, 3.0, 29.0, "L1") });
        }
        let mut label = Label { serial: serial.map(String::from), ..label(identifier, lot, use_by) };
        if let Some(code) = warning {
            label = warned(label, code);
        }
        let back = judge(&journal, &Scan { complete, ..scan(label) });
        if back.headline == Headline::Same {
            prop_assert!(back.lines.iter().all(|line| line.same != Some(false)), "{back:?}");
            prop_assert!(!back.matching.is_empty() && complete && warning.is_none());
            prop_assert!(lot != Some("BAD") && use_by.is_some_and(|date| date >= "2026-11-25"));
            prop_assert!(identifier.is_some_and(|di| di != STRANGER && di != SKERRY_30029));
        }
        prop_assert_eq!(back.headline == Headline::Same, back.finding.to_string().starts_with("SAME"));
        let stop = matches!(back.headline, Headline::Recalled | Headline::Expired | Headline::NotKnown);
        prop_assert_eq!(stop, back.finding.to_string().starts_with("STOP"));
        prop_assert!(back.matching.is_empty() || back.nearest == back.matching.first().copied());
    }
}

/// What each headline asks of the people: eyes, or a size and a reason typed; where neither, one key goes on.
#[test]
fn each_headline_asks_for_what_it_is() {
    use Headline::*;
    for (headline, reason, eyes) in [
        (CannotRead, true, false),
        (Recalled, true, false),
        (Expired, true, false),
        (NotKnown, true, false),
        (NoIdentifier, true, false),
        (Doubtful, true, false),
        (Different, true, false),
        (CheckDate, false, true),
        (CheckByEye, false, true),
        (NoCall, false, false),
        (Same, false, false),
    ] {
        assert_eq!((headline.needs_reason(), headline.needs_eyes()), (reason, eyes), "{headline:?}");
    }
}

/// The record stands on these months later: what the label said and the very bytes.
#[test]
fn all_that_the_label_said_is_kept() {
    let scanned = Label { made: Some(day("2026-01-31")), ..good() };
    let read = judge(&room(), &scan(scanned.clone())).read;
    assert_eq!((read.made, read.system, read.raw), (scanned.made, Some(scanned.system), Some(raw())));
    assert_eq!(read.printed, None, "this label has no line under its bars");
    assert_eq!(read.maker.as_deref(), Some("Lowfell (invented)"), "by the catalogue");
}
