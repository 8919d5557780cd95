//! Keys that a room has changed: dispatch, footer, help and every line of text follow.

use crate::hand::Hand;
use boxcall::tui::keys::{CLOSE, GO_BAIL_OUT, HELP, Key, LEAVE, UNDO, taken};
use boxcall::tui::settings::{self, Change, Settings, actions, remapped};
use boxcall::tui::state::{Message, State, places};
use proptest::prelude::*;

fn room(text: &str) -> Hand {
    let settings: Settings = settings::read("settings.toml", text).expect("free of faults");
    let mut hand = Hand::demo();
    hand.state = State::new(hand.state.world.clone(), settings);
    hand
}

#[test]
fn what_a_text_names_is_what_does_it() {
    let mut hand = room(
        "[keys]\nmeasure = \"§\"\nhelp = [\"F12\", \"¿\"]\ntry-again = \"¡\"\nundo = \"z\"\nbegin-case = \"B\"\nleave = \"L\"\n",
    );
    assert!(hand.small().contains("so does B"), "{}", hand.small());
    hand.keys("<Esc>m");
    assert!(hand.state.over().is_none(), "the key that was is none any more");
    assert!(hand.small().contains("§ measure") && hand.small().contains("F12 help"), "{}", hand.small());
    hand.keys("§");
    assert!(hand.state.form().is_some());
    hand.keys("<Esc>3 29<Enter><Esc>");
    let calls = hand.state.world.waiting().len();
    assert_eq!(calls, 1);
    hand.keys("z");
    assert_eq!(hand.state.world.waiting().len(), 0);
    hand.disk_full = true;
    hand.keys("3 29<Enter>");
    assert!(hand.small().contains("¡: what to do"), "{}", hand.small());
    hand.disk_full = false;
    hand.keys("¡");
    assert!(!hand.small().contains("NOT SAVED"));
    hand.keys("<Esc><F12>");
    assert!(hand.screen(120, 250).contains("  F12  ¿"), "the help is made of the same table");
}

#[test]
fn who_presses_the_usual_way_out_is_told_the_one_here() {
    let mut hand = room("[keys]\nleave = \"L\"\n");
    hand.keys("<Esc>");
    hand.send(Message::Key(Key::INTERRUPT));
    assert!(!hand.state.left);
    assert!(hand.small().contains("L leaves boxcall; nothing was done"), "{}", hand.small());
    hand.keys("m");
    hand.send(Message::Key(Key::INTERRUPT));
    assert!(hand.small().contains("Esc and then L leaves"), "{}", hand.small());
    assert_eq!(hand.state.key(LEAVE), "L");
    hand.keys("<Esc>L");
    assert!(hand.state.left);
}

/// Keys that somebody might wish for: free ones, taken ones, letters, the arrows.
const WISHED: &[&str] = &[
    "a", "b", "m", "u", "z", "A", "Z", "Q", "!", "?", "3", "x", ".", "/", "Space", "Enter", "Tab", "Esc",
    "Delete", "Backspace", "Up", "Down", "Home", "End", "F1", "F3", "F8", "F9", "F10", "F12", "Ctrl+E",
    "Ctrl+B", "Ctrl+S", "Alt+x", "§",
];

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 256,
        // Most wishes are refused: a run of 256 that are not has about 900 of them.
        max_global_rejects: 65_536,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Whatever a room wishes for: either it is refused, or every key means one thing wherever it is pressed, bail-out
    /// is in reach everywhere, and nobody is shut in.
    #[test]
    fn what_is_accepted_is_sound(
        wishes in proptest::collection::vec(
            (0..actions().len(), proptest::collection::vec(proptest::sample::select(WISHED), 0..3)),
            1..5,
        )
    ) {
        let changes: Vec<Change> = wishes
            .iter()
            .map(|(row, keys)| Change {
                action: actions()[*row],
                keys: keys.iter().filter_map(|key| Key::spelt(key)).collect(),
            })
            .collect();
        let (keys, faults) = remapped(&changes);
        prop_assume!(faults.is_empty());
        for place in places() {
            let mut seen = std::collections::HashSet::new();
            for row in place.rows {
                let typed = |key: &Key| place.takes_text() && key.text().is_some();
                for key in keys.of(row.action).into_iter().filter(|key| !typed(key)) {
                    prop_assert!(seen.insert(key), "{} twice in {}", key.spelling(), place.title);
                    prop_assert_eq!(taken(key), None);
                    prop_assert_eq!(keys.action(place, key), Some(row.action));
                }
            }
            let bail_out = keys.of(GO_BAIL_OUT);
            prop_assert!(!bail_out.is_empty());
            for key in bail_out.into_iter().filter(|_| place.beyond().is_some()) {
                prop_assert_eq!(keys.action(place, key), Some(GO_BAIL_OUT), "in {}", place.title);
            }
        }
        for action in [UNDO, LEAVE, HELP, CLOSE] {
            prop_assert!(!keys.spelling(action).is_empty(), "{:?} has no key", action);
        }
    }
}
