//! What answers a query: common practice, no source; the boxes are in the demo's own files.

use super::*;
use crate::catalogue::{self, Piece, demo};
use crate::journal::Fact;

fn demo_room() -> (Catalogue, Shelf) {
    let files: Vec<_> = demo::files().into_iter().map(|(name, text)| (name.into(), text.into())).collect();
    let catalogue = catalogue::read(&files).unwrap();
    let pieces = catalogue::stock::read("stock.csv", demo::stock(), &catalogue).unwrap().pieces;
    let shelf = Shelf::default().after(&[Fact::StockLoaded { from: "x".into(), pieces }]);
    (catalogue, shelf)
}

fn asked(query: &str) -> Vec<(String, String, Option<String>)> {
    let (catalogue, shelf) = demo_room();
    let (index, lots) = (Index::new(&catalogue), Lots::new(&catalogue, &shelf));
    let all: Vec<Found> = every_box(&catalogue).collect();
    let hits = index.find(&lots, query).into_iter();
    hits.map(|hit| {
        let found = &all[hit.place];
        (found.product().name.clone(), found.reference().to_string(), hit.lot)
    })
    .collect()
}

fn first(query: &str) -> String {
    asked(query).first().unwrap_or_else(|| panic!("{query:?} is answered by nothing")).1.clone()
}

#[test]
fn a_size_is_found_in_any_order_and_shape() {
    for query in [
        "fell 29 3.0", "fell 3.0 29", "3x29 fell", "29x3 fell", "3,00 × 29 fell", "fell 3.00x29",
        "3 x 29 fell",
    ] {
        assert_eq!(first(query), "FL30029", "{query}");
    }
    let sizes = asked("29 3.0");
    let (catalogue, _) = demo_room();
    let exact = every_box(&catalogue)
        .filter(|found| found.size().is_some_and(|(d, l)| d.mm() == 3.0 && l.mm() == 29.0))
        .map(|found| found.reference().to_string())
        .collect::<Vec<_>>();
    assert!(exact.len() > 1);
    assert!(sizes[..exact.len()].iter().all(|(_, reference, _)| exact.contains(reference)), "{sizes:?}");
}

#[test]
fn a_size_that_is_half_typed_is_answered_by_what_begins_like_it() {
    assert!(asked("fell 2.7").iter().all(|(_, reference, _)| reference.starts_with("FL275")));
    assert_eq!(first("fell 3x2"), "FL30020");
}

#[test]
fn a_name_is_found_with_a_slip_or_a_letter_missing() {
    for query in ["fell 3x29", "flel 3x29", "felk 3x29", "fll 3x29", "FELL 3x29", "fel 3x29"] {
        let (name, reference, _) = asked(query)[0].clone();
        assert_eq!((name.as_str(), reference.as_str()), ("Fell", "FL30029"), "{query}");
    }
    assert!(asked("covered").iter().all(|(name, ..)| ["Oxbow", "Hedgerow"].contains(&name.as_str())));
}

#[test]
fn a_catalogue_number_is_found_whole_begun_and_loosely() {
    assert_eq!(first("fl30029"), "FL30029");
    assert!(first("30028").ends_with("30028"));
    assert_eq!(first("fl329"), "FL30029");
    assert_eq!(first("ES-4"), "ES-4");
}

#[test]
fn a_lot_finds_its_box_and_says_where_it_lies() {
    let (_, shelf) = demo_room();
    let piece: Piece = shelf.pieces()[0].clone();
    let found = asked(&piece.lot.to_lowercase());
    let by_lot = found[0].2.clone().unwrap();
    assert_eq!(by_lot, format!("lot {} at {}", piece.lot, piece.shelf));
    assert!(
        asked(&piece.lot[..5]).iter().any(|(.., lot)| lot.as_deref() == Some(by_lot.as_str())),
        "while typing"
    );
}

#[test]
fn every_word_has_to_be_answered_and_nothing_typed_shows_the_first() {
    assert_eq!(asked("fell zzzz"), []);
    assert_eq!(asked("").len(), MOST);
    assert_eq!(asked("9.99x999"), []);
}
