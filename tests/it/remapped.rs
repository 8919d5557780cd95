//! Keys that a room has changed: dispatch, footer, help and every line of text follow.

use crate::hand::Hand;
use boxcall::tui::keys::{Action, Key};
use boxcall::tui::settings::{self, Settings};
use boxcall::tui::state::{Message, Overlay, State};

fn room(text: &str) -> Hand {
    let settings: Settings = settings::read("settings.toml", text).expect("free of faults");
    let mut hand = Hand::demo();
    hand.state = State::with(hand.state.world.clone(), settings);
    hand
}

#[test]
fn what_a_text_names_is_what_does_it() {
    let mut hand = room(
        "[keys]\nmeasure = \"§\"\nhelp = [\"F12\", \"¿\"]\ntry-again = \"¡\"\nundo = \"z\"\nbegin-case = \"B\"\nleave = \"L\"\n",
    );
    assert!(hand.small().contains("so does B"), "{}", hand.small());
    hand.keys("<Esc>m");
    assert_eq!(hand.state.overlay, None, "the key that was is none any more");
    assert!(hand.small().contains("§ measure") && hand.small().contains("F12 help"), "{}", hand.small());
    hand.keys("§");
    assert!(matches!(hand.state.overlay, Some(Overlay::Form(_))));
    hand.keys("<Esc>3 28<Enter><Esc>");
    let calls = hand.state.world.waiting().len();
    assert_eq!(calls, 1);
    hand.keys("z");
    assert_eq!(hand.state.world.waiting().len(), 0);
    hand.disk_full = true;
    hand.keys("3 28<Enter>");
    assert!(hand.small().contains("¡ tries again"), "{}", hand.small());
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
    assert_eq!(hand.state.key(Action::Leave), "L");
    hand.keys("<Esc>L");
    assert!(hand.state.left);
}
