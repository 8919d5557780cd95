//! Who decides is said in every answer, document and screen: every scene, every help text. `answers.rs` has every sample call.

use crate::far;
use crate::hand::text;
use crate::said::says;
use crate::scenes;
use crate::words::prose;
use boxcall::deference::{FOOTER, LINE, LONG};
use boxcall::tui::view::Look;
use std::collections::BTreeSet;

#[test]
fn the_three_strings_name_everybody_who_decides() {
    for who in [
        "operator",
        "ocal protocol",
        "instructions for use",
        "licensed practice",
        "Not a certified medical device",
    ] {
        assert!(LONG.contains(who) && LINE.contains(who), "{who}");
    }
    // An 80-column screen has a line for it beside the boxes opened last.
    assert!(FOOTER.len() < 32 && LINE.len() < 150, "{} and {} columns", FOOTER.len(), LINE.len());
}

/// One place: no other source spells a caution, and the README has the long one.
#[test]
fn the_strings_are_spelt_in_one_place() {
    let spelt = prose().into_iter().filter(|(_, text)| text.contains("certified medical device"));
    let files: BTreeSet<String> = spelt.map(|(file, _)| file).collect();
    assert!(files.iter().all(|file| file.ends_with("src/deference.rs")) && files.len() == 1, "{files:?}");
    assert!(says(include_str!("../../README.md"), LONG), "the README");
}

#[test]
fn every_scene_says_who_decides() {
    let scenes = scenes::all();
    for scene in scenes {
        for (width, height, words) in
            [(80, 24, FOOTER), (120, 30, FOOTER), (159, 45, FOOTER), (160, 24, LINE), (240, 67, LINE)]
        {
            let screen = text(&scene.hand.buffer(width, height, Look::default()));
            assert!(screen.contains(words), "{} at {width}x{height}:\n{screen}", scene.name);
        }
    }
    let over_scenes: Vec<_> = scenes.iter().map(|scene| (scene.name, far::far(&scene.hand))).collect();
    for (name, far) in far::moments().iter().chain(&over_scenes) {
        for (width, height, words) in
            [(80, 24, FOOTER), (120, 36, FOOTER), (160, 45, LINE), (199, 50, LINE), (200, 60, LINE)]
        {
            let screen = text(&far::buffer(far, width, height, Look::default()));
            assert!(screen.contains(words), "far {name} at {width}x{height}:\n{screen}");
        }
    }
}

/// The first page has the long form, and so have the first steps of a room of one's own and the help.
#[test]
fn the_first_pages_and_the_help_say_it_at_length() {
    let scenes = scenes::all();
    for name in ["welcome", "first-steps", "help"] {
        let scene = scenes.iter().find(|scene| scene.name == name).unwrap();
        let screen = text(&scene.hand.buffer(80, 24, Look::default())).replace('│', " ");
        assert!(says(&screen, LONG), "{name}:\n{screen}");
    }
}
