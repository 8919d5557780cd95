//! The numbers are arithmetic over the rows that are in the tests; how a delivery is counted in is common practice, no
//! source.

use super::*;
use crate::journal::{CaseCode, Entry};
use crate::label::{self, Settings};
use crate::shelf::scan_of;
use crate::udi::DeviceId;

const TODAY: &str = "2026-11-25";

fn piece(lot: &str, serial: Option<&str>, shelf: &str, count: u32) -> Piece {
    Piece {
        di: DeviceId::parse("09521001275293").unwrap(),
        lot: lot.into(),
        serial: serial.map(str::to_string),
        use_by: Some("2027-05-31".parse().unwrap()),
        shelf: shelf.into(),
        count,
        owner: Owner::Own,
    }
}

fn shelf(facts: Vec<Fact>) -> Shelf {
    Shelf::default().after(&facts)
}

fn loaded(pieces: Vec<Piece>) -> Shelf {
    shelf(vec![Fact::StockLoaded { from: "x".into(), pieces }])
}

fn label(bytes: &[u8]) -> Label {
    label::read(bytes, &Settings { sends_separators: true, ..Settings::of_year(2026) }).unwrap()
}

fn of(piece: &Piece) -> Label {
    label(&scan_of(piece))
}

fn ground<'a>(shelf: &'a Shelf, catalogue: &'a Catalogue) -> Ground<'a> {
    Ground { shelf, catalogue, today: TODAY.parse().unwrap() }
}

fn receive() -> Tally {
    Tally::new(Task::Receive { place: "A".into(), owner: Owner::Consigned })
}

fn changes(tally: &Tally, shelf: &Shelf) -> Vec<(String, String, u32, u32)> {
    let row = |change: &Change| {
        (change.piece.shelf.clone(), change.piece.lot.clone(), change.before, change.piece.count)
    };
    tally.changes(shelf).iter().map(row).collect()
}

#[test]
fn fifty_boxes_alike_are_one_row_of_fifty() {
    let (shelf, catalogue) = (loaded(vec![piece("L1", None, "A", 1)]), Catalogue::default());
    let mut tally = receive();
    for _ in 0..50 {
        assert_eq!(
            tally.take(&of(&piece("L1", None, "", 1)), ground(&shelf, &catalogue)),
            Ok(CountOutcome::Counted)
        );
    }
    assert_eq!(tally.count(), 50);
    let [Fact::StockReceived { pieces, .. }] = &tally.facts()[..] else { panic!("{:?}", tally.facts()) };
    assert_eq!(pieces.len(), 1);
    assert_eq!((pieces[0].count, &pieces[0].owner, pieces[0].shelf.as_str()), (50, &Owner::Consigned, "A"));
    assert_eq!(changes(&tally, &shelf), [("A".into(), "L1".into(), 0, 50)], "another owner is another row");
}

#[test]
fn a_serial_number_counts_once_and_not_while_it_is_on_the_shelf() {
    let (shelf, catalogue) = (loaded(vec![piece("L1", Some("S9"), "B", 1)]), Catalogue::default());
    let mut tally = receive();
    let ground = ground(&shelf, &catalogue);
    tally.take(&of(&piece("L1", Some("S1"), "", 1)), ground).unwrap();
    let again = tally.take(&of(&piece("L1", Some("S1"), "", 1)), ground).unwrap_err();
    assert!(again.contains("S1 counts already"), "{again}");
    let there = tally.take(&of(&piece("L1", Some("S9"), "", 1)), ground).unwrap_err();
    assert!(there.contains("on the shelf already, at B"), "{there}");
    assert_eq!(tally.count(), 1);
    assert!(tally.take_back().is_some());
    tally.take(&of(&piece("L1", Some("S1"), "", 1)), ground).unwrap();
    assert_eq!(tally.count(), 1, "what was taken back can be scanned again");
}

#[test]
fn what_stands_against_a_box_is_told_and_it_counts() {
    let recalled = Fact::LotRecalled { di: None, lot: "L2".into() };
    let (shelf, catalogue) = (shelf(vec![recalled]), Catalogue::default());
    let mut tally = receive();
    let old = Piece { use_by: Some("2026-11-24".parse().unwrap()), ..piece("L2", None, "", 1) };
    tally.take(&of(&old), ground(&shelf, &catalogue)).unwrap();
    assert_eq!(tally.counted[0].heed, ["RECALLED", "EXPIRED 2026-11-24", "NOT IN THE CATALOGUE"]);
    let last_day = Piece { use_by: Some(TODAY.parse().unwrap()), ..piece("L3", None, "", 1) };
    tally.take(&of(&last_day), ground(&shelf, &catalogue)).unwrap();
    assert_eq!(tally.counted[1].heed, ["NOT IN THE CATALOGUE"], "in date up to and on its day");
}

#[test]
fn a_box_opened_in_a_case_is_told_when_it_comes_again() {
    let label_read = crate::journal::BoxRead {
        di: Some(piece("L1", None, "", 1).di),
        serial: Some("S1".into()),
        ..Default::default()
    };
    let opened = Fact::BoxOpened {
        item: 1,
        call: None,
        lesion: None,
        label: label_read,
        finding: crate::journal::Finding::NotSaid,
        reason: None,
        minutes_ago: None,
    };
    let at = "2026-11-20T07:00:00+01:00".parse().unwrap();
    let case = Some(CaseCode::from_random([1; 5]));
    let shelf = Shelf::fold(&[Entry { seq: 1, at, command: "c".into(), case, fact: opened }]);
    let mut tally = receive();
    tally.take(&of(&piece("L1", Some("S1"), "", 1)), ground(&shelf, &Catalogue::default())).unwrap();
    assert!(tally.counted[0].heed.contains(&"this serial number was opened in a case".to_string()));
}

/// Two codes of one label: @gs1-strings, AI 01 on one symbol, 17 and 10 on the other.
#[test]
fn two_codes_of_one_label_are_one_box() {
    let (shelf, catalogue) = (Shelf::default(), Catalogue::default());
    let mut tally = receive();
    let ground = ground(&shelf, &catalogue);
    assert_eq!(tally.take(&label(b"]C10109521001275293"), ground), Ok(CountOutcome::Half));
    assert_eq!(tally.count(), 0);
    assert_eq!(tally.take(&label(b"]C11727053110L1"), ground), Ok(CountOutcome::Counted));
    assert_eq!((tally.count(), tally.counted[0].piece.lot.as_str()), (1, "L1"));
    let alone = tally.take(&label(b"]C11727053110L1"), ground).unwrap_err();
    assert!(alone.contains("second code"), "{alone}");
    tally.take(&label(b"]C10109521001275293"), ground).unwrap();
    tally.take(&of(&piece("L2", None, "", 1)), ground).unwrap();
    assert_eq!(tally.count(), 2, "a half without its other half is no box");
}

/// @gs1-indicator: the first digit of a GTIN-14 is its packaging level.
#[test]
fn a_package_of_several_is_not_a_box() {
    let (shelf, catalogue) = (Shelf::default(), Catalogue::default());
    let mut tally = receive();
    let package =
        label(b"]d2011952100127529017270531".iter().chain(b"10L1").copied().collect::<Vec<u8>>().as_slice());
    let why = tally.take(&package, ground(&shelf, &catalogue)).unwrap_err();
    assert!(why.contains("package of several (level 1)"), "{why}");
}

#[test]
fn a_count_shows_what_is_missing_what_is_over_and_what_was_elsewhere() {
    let shelf = loaded(vec![
        piece("L1", None, "A", 2),
        piece("L2", None, "A", 1),
        piece("L4", Some("S4"), "B", 1),
        piece("L5", None, "B", 1),
    ]);
    let catalogue = Catalogue::default();
    let ground = ground(&shelf, &catalogue);
    let mut tally = Tally::new(Task::Count { place: "A".into() });
    for one in [
        piece("L1", None, "", 1),
        piece("L3", None, "", 1),
        piece("L4", Some("S4"), "", 1),
        piece("L5", None, "", 1),
    ] {
        tally.take(&of(&one), ground).unwrap();
    }
    let expected = [
        ("A", "L1", 2, 1),
        ("A", "L2", 1, 0),
        ("A", "L3", 0, 1),
        ("A", "L4", 0, 1),
        ("A", "L5", 0, 1),
        ("B", "L4", 1, 0),
    ];
    assert_eq!(changes(&tally, &shelf), expected.map(|(a, b, c, d)| (a.to_string(), b.to_string(), c, d)));
    assert!(tally.counted[2].heed.iter().any(|words| words.contains("was thought to lie at B")));
    assert!(matches!(&tally.facts()[..], [Fact::StockMoved { .. }, Fact::StockCounted { .. }]));
    let nothing = Tally::new(Task::Count { place: "A".into() });
    assert_eq!(changes(&nothing, &shelf).len(), 2, "an empty place is a count too: L1 and L2 are gone");
}

#[test]
fn a_count_keeps_owner_and_date_of_the_rows_that_lie_there() {
    let mine = piece("L1", None, "A", 1);
    let theirs = Piece { owner: Owner::Consigned, ..mine.clone() };
    let shelf = loaded(vec![mine.clone(), theirs]);
    let catalogue = Catalogue::default();
    let mut tally = Tally::new(Task::Count { place: "A".into() });
    for _ in 0..2 {
        tally.take(&of(&mine), ground(&shelf, &catalogue)).unwrap();
    }
    assert_eq!(changes(&tally, &shelf), []);
}

#[test]
fn a_move_takes_only_what_lies_there() {
    let shelf = loaded(vec![piece("L1", None, "A", 1), piece("L1", None, "B", 1), piece("L2", None, "B", 1)]);
    let catalogue = Catalogue::default();
    let ground = ground(&shelf, &catalogue);
    let mut tally = Tally::new(Task::Move { from: None, to: "C".into() });
    let twice = tally.take(&of(&piece("L1", None, "", 1)), ground).unwrap_err();
    assert!(twice.contains("A and B"), "{twice}");
    tally.take(&of(&piece("L2", None, "", 1)), ground).unwrap();
    let none = tally.take(&of(&piece("L2", None, "", 1)), ground).unwrap_err();
    assert!(none.contains("no such piece"), "there was one: {none}");
    assert_eq!(changes(&tally, &shelf), [("B".into(), "L2".into(), 1, 0), ("C".into(), "L2".into(), 0, 1)]);
    let mut from_a = Tally::new(Task::Move { from: Some("A".into()), to: "C".into() });
    from_a.take(&of(&piece("L1", None, "", 1)), ground).unwrap();
    assert_eq!(changes(&from_a, &shelf), [("A".into(), "L1".into(), 1, 0), ("C".into(), "L1".into(), 0, 1)]);
}

#[test]
fn what_may_not_be_used_is_pulled_and_nothing_else() {
    let old = Piece { use_by: Some("2026-11-24".parse().unwrap()), ..piece("L2", None, "A", 3) };
    let shelf = loaded(vec![piece("L1", None, "A", 1), old]);
    let catalogue = Catalogue::default();
    let tally = Tally::pull(ground(&shelf, &catalogue));
    assert_eq!(tally.count(), 3);
    assert_eq!(changes(&tally, &shelf), [("A".into(), "L2".into(), 3, 0)]);
}
