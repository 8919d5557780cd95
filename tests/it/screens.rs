//! What the screens show: snapshots at two sizes, and no panic at any size in any state.

use crate::hand::{Hand, text};
use crate::scenes;
use boxcall::tui::keys::EVERYWHERE;
use boxcall::tui::view::{Background, Colours, Glyphs, Look, theme};
use ratatui::style::Modifier;
use std::collections::BTreeSet;
use std::panic::catch_unwind;

#[test]
fn every_moment_at_the_smallest_and_at_a_large_size() {
    let screens = scenes::all().iter().flat_map(|scene| {
        [(80, 24), (160, 45)].map(|(width, height)| {
            (format!("{}-{width}x{height}", scene.name), scene.hand.screen(width, height))
        })
    });
    agree(screens);
}

/// Compares each screen with its snapshot, and names every one that differs, not the first alone.
pub fn agree(screens: impl IntoIterator<Item = (String, String)>) {
    let mut settings = insta::Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    let differs = |(name, screen): &(String, String)| {
        settings.bind(|| catch_unwind(|| insta::assert_snapshot!(name.as_str(), screen)).is_err())
    };
    let differing: Vec<String> = screens.into_iter().filter(differs).map(|(name, _)| name).collect();
    assert!(differing.is_empty(), "not as kept: {}", differing.join(", "));
}

#[test]
fn without_colour_and_without_unicode_nothing_is_lost_but_the_ink() {
    for scene in scenes::all() {
        let rich = scene.hand.buffer(80, 24, Look::default());
        let plain = scene.hand.buffer(
            80,
            24,
            Look { colours: Colours::None, glyphs: Glyphs::Ascii, ..Look::default() },
        );
        assert!(text(&plain).is_ascii(), "{}: {}", scene.name, text(&plain));
        for (ours, theirs) in rich.content.iter().zip(&plain.content) {
            // Faint letters have an ink of their own where there are colours.
            let weight = theirs.modifier.difference(Modifier::DIM);
            assert_eq!(ours.modifier, weight, "{}: weight and reverse stay", scene.name);
            assert_eq!(theirs.fg, Default::default());
        }
    }
}

/// What the letters of every moment look like: with ink and ground of ours a contrast of at least 4.5:1
/// (@wcag-contrast), and nowhere anything that blinks or is hidden.
#[test]
fn every_letter_of_every_moment_can_be_read() {
    for scene in scenes::all() {
        for colours in [Colours::None, Colours::Sixteen, Colours::Indexed, Colours::True] {
            for background in [Background::Dark, Background::Light] {
                let look = Look { colours, background, ..Look::default() };
                for cell in &scene.hand.buffer(110, 32, look).content {
                    let hides = Modifier::SLOW_BLINK | Modifier::RAPID_BLINK | Modifier::HIDDEN;
                    assert!(!cell.modifier.intersects(hides), "{}", scene.name);
                    if matches!(colours, Colours::Indexed | Colours::True) {
                        let pair = theme::rgb(cell.fg).zip(theme::rgb(cell.bg));
                        let (ink, ground) = pair.expect("both are ours");
                        let ratio = theme::contrast(ink, ground);
                        assert!(ratio >= 4.5, "{}: {:?} {look:?}: {ratio:.2}", scene.name, cell.symbol());
                    }
                }
            }
        }
    }
}

/// The characters of code page 437, which a Linux console's own font has: printed by Python 3 with
/// `bytes(range(128, 256)).decode("cp437")`; those below 32 are the page's graphics, from memory.
const CONSOLE: &str = "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜ¢£¥₧ƒáíóúñÑªº¿⌐¬½¼¡«»░▒▓│┤╡╢╖╕╣║╗╝╜╛┐└┴┬├─┼╞╟╚╔╩╦╠═╬╧╨╤╥╙╘╒╓╫╪┘┌█▄▌▐▀αßΓπΣσµτΦΘΩδ∞φε∩≡±≥≤⌠⌡÷≈°∙·√ⁿ²■☺☻♥♦♣♠•◘○◙♂♀♪♫☼►◄↕‼¶§▬↨↑↓→←∟↔▲▼";

#[test]
fn a_console_draws_every_character_of_every_moment() {
    for scene in scenes::all() {
        let look = Look { glyphs: Glyphs::Console, ..Look::default() };
        let screen = text(&scene.hand.buffer(110, 32, look));
        let foreign: Vec<char> = screen.chars().filter(|c| !c.is_ascii() && !CONSOLE.contains(*c)).collect();
        assert!(foreign.is_empty(), "{}: {foreign:?}", scene.name);
    }
}

/// From the smallest to the largest that is promised: nothing panics, the keys and the time stay at their edges.
#[test]
fn every_moment_at_every_size_from_80_by_24_to_400_by_120() {
    for scene in scenes::all() {
        for (width, height) in [(80, 24), (81, 25), (129, 24), (130, 30), (80, 120), (400, 24), (400, 120)] {
            let screen = scene.hand.screen(width, height);
            let lines: Vec<&str> = screen.lines().collect();
            assert_eq!(lines.len(), usize::from(height), "{}", scene.name);
            let footer = lines.last().copied().unwrap_or_default();
            assert!(footer.contains("F1 help") || footer.contains("any key"), "{}: {footer}", scene.name);
            assert!(lines[0].ends_with(":30") || lines[0].ends_with(":31"), "{}: {}", scene.name, lines[0]);
        }
    }
}

#[test]
fn a_terminal_that_is_too_small_says_what_it_needs() {
    let hand = Hand::demo();
    let screen = hand.screen(20, 5);
    assert!(screen.contains("80x24") && screen.contains("20x5"), "{screen}");
}

#[test]
fn the_footer_keeps_help_in_sight_on_every_screen() {
    for scene in scenes::all() {
        let screen = scene.hand.small();
        let footer = screen.lines().last().unwrap_or_default();
        assert!(footer.contains("F1 help") || footer.contains("any key"), "{}: {footer}", scene.name);
    }
}

/// A hint of the footer shows on the smallest screen, or its row says that it needs a wider one; and no row says so in
/// vain.
#[test]
fn every_hint_of_the_footer_shows_at_eighty_columns_or_is_marked_wide() {
    let mut vain: BTreeSet<&str> = BTreeSet::new();
    let mut cut: BTreeSet<&str> = BTreeSet::new();
    for scene in scenes::all().iter().filter(|scene| scene.hand.state.front().any_key().is_none()) {
        let state = &scene.hand.state;
        let screen = scene.hand.small();
        let footer = format!("{} ", screen.lines().last().unwrap_or_default());
        let place = state.place();
        let everywhere = EVERYWHERE.rows.iter().filter(|_| !place.has_own_letters());
        let rows = place.rows.iter().chain(everywhere).filter(|row| !row.short.is_empty());
        for row in rows.filter(|row| state.offers(row.action)) {
            let shown = footer.contains(&format!("{} {} ", state.key(row.action), row.short));
            assert!(shown || row.is_wide(), "{} in {}: {footer}", row.short, scene.name);
            let list = if shown { &mut vain } else { &mut cut };
            list.extend(row.is_wide().then_some(row.doc));
        }
    }
    assert!(!cut.is_empty());
    assert_eq!(
        vain.difference(&cut).collect::<Vec<_>>(),
        Vec::<&&str>::new(),
        "marked wide, and always shown"
    );
}
