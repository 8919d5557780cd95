//! Names in any writing: rows stay aligned, figures stay where they are, and nothing that a terminal obeys reaches it.

use crate::hand::{Hand, demo_catalogue, demo_pieces};
use boxcall::journal::Fact;
use boxcall::tui::view::Look;
use ratatui::buffer::Buffer;

/// The demo room, the name of its first product and every lot changed.
fn room(name: &str, lot: &str) -> Hand {
    let mut catalogue = demo_catalogue();
    for product in &mut catalogue.products {
        if ["Fell", "Corrie"].contains(&product.name.as_str()) || product.kind.name() == "covered stent" {
            product.name = name.to_string();
        }
    }
    let mut pieces = demo_pieces(&catalogue);
    for (number, piece) in pieces.iter_mut().enumerate() {
        piece.lot = format!("{lot}{}", number % 10);
    }
    let mut hand = Hand::with(catalogue, Vec::new());
    hand.room(vec![Fact::StockLoaded { from: "stock.csv".into(), pieces }]);
    hand.state.world.demo = true;
    hand
}

const NAMES: &[(&str, &str)] = &[
    ("山の湖", "山"),
    ("Be\u{301}alach", "e\u{301}"),
    ("אגם צפון", "ל"),
    ("بحيرة", "ب"),
    ("\u{202e}Fell\u{202c}", "\u{2067}L"),
    ("Ta\u{1b}[31mrn\u{7}\r\n", "L\t"),
    ("A name that is longer than its column", "L"),
    ("👩\u{200d}🔬", "L"),
];

/// Where a sign stands in a row, column by column.
fn columns_of(buffer: &Buffer, y: u16, sign: &str) -> Vec<u16> {
    (0..buffer.area.width).filter(|x| buffer[(*x, y)].symbol() == sign).collect()
}

#[test]
fn rows_stay_aligned_whatever_a_name_is_written_in() {
    // Each screen, and the sign that stands behind the names in its rows.
    for (keys, sign) in [
        ("<Esc><F7>", "×"),
        ("<Esc><F7><→><→>", "×"),
        ("<Esc><F7><←>", "×"),
        ("<Esc><F9>", "▸"),
        ("<Esc>3 29<Enter><Esc>Po3 29<Enter>f1<F2>2.5 11<Enter>Po2.5 11<Enter>f1<F5>", "–"),
    ] {
        // A label holds ASCII alone (set 82 of @gs1-syntax-dictionary): a box that is scanned has such a lot.
        let scans = keys.contains('P');
        let mut plain = room("Fell", "L");
        let plain = plain.keys(keys).buffer(160, 30, Look::default());
        let mut compared = 0;
        for (name, lot) in NAMES {
            let lot = if scans { "L" } else { lot };
            let odd = room(name, lot).keys(keys).buffer(160, 30, Look::default());
            // The rows of the page; what is above and below tells in free words. Columns are as wide as the names
            // of their list need: rows that stand below each other with plain names do so with odd ones.
            for y in 3..25 {
                let [there, here] = [&plain, &odd].map(|page| [y, y + 1].map(|y| columns_of(page, y, sign)));
                if !there[0].is_empty() && there[0].last() == there[1].last() {
                    assert_eq!(here[0].last(), here[1].last(), "{name:?} in {keys}, row {y}");
                    compared += 1;
                }
            }
        }
        assert!(compared > 0, "{keys} shows no row");
    }
}

#[test]
fn nothing_that_a_terminal_obeys_reaches_it() {
    for (name, lot) in NAMES {
        for keys in [
            "<Esc>",
            "<Esc>p",
            "<Esc>/",
            "<Esc><F7>",
            "<Esc><F9>",
            "<Esc>3 29<Enter><Esc><F3>",
            "<Esc>3 29<Enter><Esc>P",
        ] {
            let mut hand = room(name, lot);
            let buffer = hand.keys(keys).buffer(100, 30, Look::default());
            for cell in &buffer.content {
                let obeyed = cell.symbol().chars().find(|c| {
                    // The mark that holds figures apart is put there by the view itself.
                    c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200b}'..='\u{200d}')
                });
                assert_eq!(obeyed, None, "{name:?} in {keys}: {:?}", cell.symbol());
            }
        }
    }
}
