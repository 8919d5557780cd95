//! A mouse points at what is seen, and does no more than a key would.

use crate::hand::Hand;
use crate::scenes;
use boxcall::journal::Fact;
use boxcall::tui::keys::UNDO;
use boxcall::tui::state::{Message, Screen, Spot, ask, case_code, menu};
use proptest::prelude::*;

#[test]
fn screens_menu_entries_and_footer_keys_are_buttons() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>").click("Opened");
    assert_eq!(hand.state.screen(), Screen::Opened);
    hand.keys("g").click("Go to");
    assert_eq!(hand.state.overlay_place(), Some(&menu::PLACE), "the title of a list is no entry of it");
    hand.click("f   Fetch");
    assert_eq!(hand.state.screen(), Screen::Fetch);
    hand.keys("<F2>").click("m measure");
    assert!(hand.state.form().is_some());
    hand.click("length");
    let Some(form) = hand.state.form() else { panic!("the form is open") };
    assert!(form.fields[form.cursor].label.contains("length"));
    hand.click("Esc back").click("F1 help");
    assert_eq!(hand.state.screen(), Screen::Help);
}

#[test]
fn a_cell_takes_the_cursor_and_is_not_called() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>");
    let written = hand.journal.len();
    let hits = hand.hits(80, 24);
    let grid = hand.state.screens().sizes.grid().clone();
    let has_boxes = |spot: &Spot| match spot {
        Spot::Cell { row, column } => grid.cell(*row, *column).is_some_and(|cell| !cell.boxes.is_empty()),
        _ => false,
    };
    let (area, spot) = *hits.iter().find(|(_, spot)| has_boxes(spot)).expect("a size that is made");
    assert_eq!(hits.at(area.x, area.y), Some(spot));
    hand.send(Message::Click(spot));
    hand.send(Message::Click(spot));
    let Spot::Cell { row, column } = spot else { panic!("a cell") };
    assert_eq!(hand.state.screens().sizes.cursor(), Some((row, column)));
    assert_eq!(hand.journal.len(), written, "two clicks on a cell call nothing");
    hand.click("Enter call");
    assert!(matches!(hand.journal.last().map(|entry| &entry.fact), Some(Fact::Called { .. })));
}

#[test]
fn a_click_takes_nothing_back() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>3 29<Enter><Esc><F3>");
    let written = hand.journal.len();
    hand.click("Delete cancel");
    assert_eq!(hand.journal.len(), written);
    assert!(hand.small().contains("A click takes nothing back: Delete does"), "{}", hand.small());
    hand.keys("<Delete>");
    assert_eq!(hand.journal.len(), written + 1);
}

#[test]
fn an_answer_is_its_number_and_what_is_beneath_is_not_meant() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>3 29<Enter><Esc>Po3 29<Enter>f");
    let screen = hand.small();
    assert_eq!(hand.state.overlay_place(), Some(&ask::CHOICE), "{screen}");
    for (area, spot) in hand.hits(80, 24).iter() {
        let row_beneath = matches!(spot, Spot::Row(_)) && hand.hits(80, 24).at(area.x, area.y) == Some(*spot);
        assert!(!row_beneath, "{area:?} lies beneath the question");
    }
    hand.click("implanted");
    assert!(matches!(hand.journal.last().map(|entry| &entry.fact), Some(Fact::FateGiven { .. })));
}

#[test]
fn any_click_closes_what_any_key_closes() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>n");
    assert_eq!(hand.state.overlay_place(), Some(&case_code::PLACE));
    hand.click("any key");
    assert!(hand.state.over().is_none());
}

#[test]
fn the_wheel_goes_through_lists() {
    let mut hand = Hand::demo();
    hand.keys("<Esc><F7>");
    let before = hand.small();
    hand.send(Message::Wheel { down: true });
    assert_ne!(hand.small(), before);
    hand.send(Message::Wheel { down: false });
    assert_eq!(hand.small(), before);
    hand.click("expires");
    assert_ne!(hand.small(), before);
}

/// Every spot of every moment lies on the screen, and a key that stands there is on it in words.
#[test]
fn what_can_be_pointed_at_is_seen() {
    for scene in scenes::all() {
        let hits = scene.hand.hits(80, 24);
        let screen = scene.hand.small();
        for (area, spot) in hits.iter() {
            assert!(area.right() <= 80 && area.bottom() <= 24, "{}: {area:?}", scene.name);
            if let (Spot::Key(action), Some(Spot::Key(top))) = (spot, hits.at(area.x, area.y))
                && *action == top
                && area.height == 1
            {
                let row: String = screen.lines().nth(area.y.into()).unwrap_or_default().chars().collect();
                let key = scene.hand.state.key(*action);
                assert!(row.contains(&key) || key.is_empty(), "{}: {action:?} {row}", scene.name);
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Clicks anywhere, at any size, in any order: no panic, and no entry that takes something back but by undo.
    #[test]
    fn clicks_anywhere_take_nothing_back(
        clicks in proptest::collection::vec((0u16..200, 0u16..60, 80u16..200, 24u16..60, any::<bool>()), 1..60)
    ) {
        let mut hand = Hand::demo();
        hand.keys("<Esc>3 29<Enter><Esc>");
        for (x, y, width, height, down) in clicks {
            hand.send(Message::Wheel { down });
            if let Some(spot) = hand.hits(width, height).at(x, y)
                && spot != Spot::Key(UNDO)
            {
                hand.send(Message::Click(spot));
            }
            if hand.state.left {
                break;
            }
        }
        let taken_back = hand
            .journal
            .iter()
            .any(|entry| matches!(entry.fact, Fact::CallCancelled { .. } | Fact::StruckOut { .. }));
        prop_assert!(!taken_back);
    }
}
