//! The pictures in `screenshots/`, made from the real screens. `UPDATE=1 cargo test --test fast pictures` renews them; without it
//! they are compared, so none goes stale.

use crate::far;
use crate::hand::{Hand, text};
use crate::scenes;
use crate::svg;
use boxcall::tui::state::Far;
use boxcall::tui::view::{Background, Look};
use ratatui::buffer::Buffer;
use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::path::Path;

/// What each picture is called, and the scene that it shows: one or two for each screen. The other scenes are kept
/// as snapshots only.
const SCREENS: &[(&str, &str)] = &[
    ("first-steps", "first-steps"),
    ("sizes", "sizes-judged"),
    ("sizes-span", "sizes-span"),
    ("fetch", "fetch"),
    ("read-back-same", "read-back-same"),
    ("read-back-different", "read-back-different"),
    ("opened", "opened-inflating"),
    ("opened-expansion", "opened-expansion"),
    ("case-end", "case-end"),
    ("shelf", "shelf"),
    ("bail-out", "bail-out"),
];
const FAR: &[(&str, &str)] = &[("far-fetch", "far-fetch"), ("far-different", "far-different")];
/// On a light background, in a light room.
const LIGHT: &str = "sizes";
const SIZES: [(u16, u16); 2] = [(80, 24), (160, 45)];

/// How long each frame of the film stands, in seconds, and how large the film may be, in bytes.
const SECONDS: f64 = 2.5;
const FILM_MOST: usize = 500_000;

/// Stands for the arrows that lead to 3.00 × 29.
const CURSOR: &str = "cursor";

/// A case in the demo room: keys, what happens, and words that the frame must show. The keys of a step are pressed
/// before its frame is taken.
const CASE: &[(&str, &str, &str)] = &[
    (
        "",
        "The shelf as sizes, nothing measured yet: the shelf as sizes, nothing measured yet",
        "nothing measured",
    ),
    (
        "mo<Tab>2.8<Tab>3.1<Tab>3.3<Tab>3.6<Tab>27",
        "The vessel is measured, and typed as it is said",
        "Lesion 1",
    ),
    ("<Enter><Esc>", "Every size of this product is judged", "Fell"),
    (CURSOR, "A cursor on one size: what holds, and by which rule", "3.00"),
    ("3 29<Enter><Esc>", "“Three-oh by twenty-nine”: called", "call 1"),
    ("<F3>", "Where it lies, which lot first, what to say back", "three point zero, by twenty-nine"),
    ("W", "Its neighbour is scanned: the wrong box", "DIFFERS"),
    ("b", "Put back unopened", "put back"),
    ("P", "The right box is scanned; its printed size is read aloud", "by the catalogue"),
    ("o3 29", "Its seal is broken: the size on the box is typed once", "3 29"),
    ("<Enter>", "Opened: lot, serial number, use-by", "opened for call 1: 3.00 × 29 Fell"),
    ("i12", "The balloon goes up: the product's own chart", "12"),
    ("<Enter>f1", "Implanted", "implanted"),
    ("<F6>", "Case end: every box is accounted for", "Case end"),
    ("<Enter>", "Signed, and handed over", "igned"),
];

/// Leads the cursor there by the arrows.
fn point_at(hand: &mut Hand, diameter: f64, length: f64) {
    let grid = hand.state.screens().sizes.grid().clone();
    let row = grid.diameters.iter().position(|d| d.mm() == diameter).expect("it is in the grid");
    let column = grid.lengths.iter().position(|l| l.mm() == length).expect("it is in the grid");
    hand.keys("<↓>");
    // No grid of the demo is longer either way than these.
    for _ in 0..40 {
        let (at_row, at_column) = hand.state.screens().sizes.cursor().expect("an arrow sets it");
        let key = match (at_row.cmp(&row), at_column.cmp(&column)) {
            (Ordering::Less, _) => "<↓>",
            (Ordering::Greater, _) => "<↑>",
            (_, Ordering::Less) => "<→>",
            (_, Ordering::Greater) => "<←>",
            _ => return,
        };
        hand.keys(key);
    }
    panic!("the arrows do not lead to {diameter} × {length}");
}

fn frames() -> Vec<svg::Frame> {
    let mut hand = Hand::demo();
    hand.keys("<Esc>");
    while hand.state.work.product.as_deref() != Some("fell") {
        hand.keys("p");
    }
    let (mut frames, mut missing) = (Vec::new(), Vec::new());
    for (keys, words, shows) in CASE {
        match *keys {
            CURSOR => point_at(&mut hand, 3.0, 29.0),
            keys => {
                hand.keys(keys);
            }
        }
        let buffer = hand.buffer(80, 24, Look::default());
        if !text(&buffer).contains(shows) {
            missing.push(format!("{words}: {shows:?} is not there\n{}", text(&buffer)));
        }
        frames.push(svg::Frame { words, buffer });
    }
    assert!(missing.is_empty(), "{}", missing.join("\n\n"));
    frames
}

/// Every picture by its file's name.
fn pictures() -> BTreeMap<String, String> {
    let scenes: BTreeMap<&str, &Hand> = scenes::all().iter().map(|scene| (scene.name, &scene.hand)).collect();
    let far: BTreeMap<&str, &Far> = far::moments().iter().map(|(name, far)| (*name, far)).collect();
    let light = Look { background: Background::Light, ..Look::default() };
    let mut pictures = BTreeMap::new();
    let mut keep = |name: String, buffer: &Buffer| {
        pictures.insert(format!("{name}.svg"), svg::picture(buffer));
    };
    for (width, height) in SIZES {
        for (name, scene) in SCREENS {
            keep(format!("{name}-{width}x{height}"), &scenes[scene].buffer(width, height, Look::default()));
            if *name == LIGHT {
                keep(format!("{name}-light-{width}x{height}"), &scenes[scene].buffer(width, height, light));
            }
        }
        for (name, moment) in FAR {
            keep(
                format!("{name}-{width}x{height}"),
                &far::buffer(far[moment], width, height, Look::default()),
            );
        }
    }
    pictures.insert("demo-case.svg".into(), svg::film(&frames(), SECONDS));
    pictures
}

#[test]
fn pictures_are_what_the_screens_show() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("screenshots");
    let update = std::env::var("UPDATE").is_ok_and(|value| value == "1");
    let pictures = pictures();
    for file in folder.read_dir().expect("there is a folder of pictures") {
        let file = file.expect("it can be read").path();
        let name = file.file_name().and_then(|name| name.to_str()).unwrap_or_default();
        if !name.ends_with(".svg") || pictures.contains_key(name) {
            continue;
        }
        assert!(update, "{name} is made by nothing: UPDATE=1 takes it away");
        std::fs::remove_file(&file).expect("the folder of pictures can be written");
    }
    for (name, picture) in &pictures {
        let file = folder.join(name);
        if update {
            std::fs::write(&file, picture).expect("the folder of pictures can be written");
        }
        let kept = std::fs::read_to_string(&file).unwrap_or_default();
        assert!(kept == *picture, "{name} is not what the screen shows: UPDATE=1 renews it");
    }
}

/// A frame stands by far longer than @wcag-flashes asks of what flashes, and no frame is the one before.
#[test]
fn the_film_of_a_case_is_calm_small_and_the_same_each_time() {
    let frames = frames();
    for pair in frames.windows(2) {
        assert_ne!(text(&pair[0].buffer), text(&pair[1].buffer), "{}: nothing happened", pair[1].words);
    }
    const { assert!(SECONDS > 1.0) };
    let film = svg::film(&frames, SECONDS);
    assert!(film.len() < FILM_MOST, "{} bytes", film.len());
    assert!(film == svg::film(&self::frames(), SECONDS), "two walks give two films");
}
