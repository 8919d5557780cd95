//! Random keys, on screens of random sizes.

use crate::hand::Hand;
use boxcall::tui::settings::actions;
use proptest::prelude::*;

/// A key of the table, a letter, a digit or a scan.
fn a_move() -> impl Strategy<Value = String> {
    let spellings: Vec<&str> = actions().into_iter().flat_map(|action| action.spelt()).copied().collect();
    prop_oneof![
        4 => proptest::sample::select(spellings).prop_map(|key| format!("<{key}>")),
        2 => "[0-9 x.,]{1,6}",
        1 => "[a-zé×]{1,3}",
        1 => Just("SCAN".to_string()),
        1 => Just("CALL".to_string()),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_state_and_no_size_makes_a_screen_panic(
        moves in proptest::collection::vec((a_move(), 1u16..200, 1u16..60), 1..40)
    ) {
        let mut hand = Hand::demo();
        for (step, width, height) in moves {
            match step.as_str() {
                "SCAN" => { hand.scan("]d2010952100130029217280228109K"); }
                "CALL" => { hand.keys("<F2><Esc>3 29<Enter>P"); }
                keys => { hand.keys(keys); }
            }
            hand.screen(width, height);
        }
        hand.screen(200, 60);
        let again = hand.killed();
        prop_assert_eq!(&again.state.world.shelf, &hand.state.world.shelf);
    }
}
