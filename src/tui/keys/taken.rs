//! The keys that something else takes before they reach a program in a terminal, or that a scanner sends.
//!
//! A key that never arrives, or that closes the window with a patient on the table, is worse than none.

use super::Key;
use crossterm::event::KeyCode;

/// Chords of Ctrl and a letter or sign, and who takes them. Sources: the control characters of @ecma-48 and the
/// special characters of a POSIX terminal (`stty`); the prefixes and defaults of terminal multiplexers, of
/// container consoles and of browsers are from memory.
const CHORDS: &[(char, &str)] = &[
    ('a', "it is the prefix of a terminal multiplexer"),
    ('b', "it is the prefix of a terminal multiplexer"),
    ('c', "it interrupts programs"),
    ('d', "scanners send it as the end of a label, and it ends a terminal's input"),
    ('f', "it opens a browser's search"),
    ('h', "it is Backspace in many terminals"),
    ('i', "it is Tab"),
    ('j', "it is the Enter of some scanners"),
    ('l', "it opens a browser's address"),
    ('m', "it is Enter"),
    ('n', "it opens a browser's new window"),
    ('o', "it opens a browser's file, and old terminals drop it"),
    ('p', "it prints in a browser, and detaches a container's console"),
    ('q', "it is the flow control of a terminal (go on), and closes a browser"),
    ('r', "it loads a browser's page again"),
    ('s', "it is the flow control of a terminal (stop): the screen would stand still"),
    ('t', "it opens a browser's new tab"),
    ('u', "it shows a browser's source"),
    ('v', "it pastes"),
    ('w', "it closes the tab of a terminal in a browser"),
    ('y', "it suspends programs on some systems"),
    ('z', "it suspends programs"),
    ('[', "it is Esc"),
    ('2', "it is no character in a terminal"),
    ('3', "it is Esc"),
    ('4', "scanners send it as a separator"),
    ('5', "scanners send it as a separator"),
    ('6', "scanners send it as a separator"),
    ('7', "scanners send it as a separator"),
    ('8', "it is Backspace in a terminal"),
    ('\\', "scanners send it as a separator, and it ends programs"),
    (']', "scanners send it as a separator"),
    ('^', "scanners send it as a separator"),
    ('_', "scanners send it as a separator"),
    ('@', "it is no character in a terminal"),
    (' ', "it is no character in a terminal"),
];

/// Why this key is left alone; none where it is free.
pub fn taken(key: Key) -> Option<&'static str> {
    match (key.ctrl, key.alt, key.code) {
        (_, true, KeyCode::Char('0'..='9')) => {
            Some("scanners send Alt with digits as a separator, and screen readers take Alt")
        }
        (_, true, _) => Some("screen readers and the menus of terminals take Alt"),
        (true, false, KeyCode::Char(c)) => CHORDS
            .iter()
            .find_map(|(letter, who)| (*letter == c).then_some(*who))
            .or((!c.is_ascii_alphabetic()).then_some("terminals send no such chord")),
        (true, false, _) => {
            Some("terminals and multiplexers take Ctrl with such keys, or send no difference")
        }
        (false, false, KeyCode::F(8)) => Some("scanners send it as a separator"),
        (false, false, KeyCode::F(10)) => Some("it opens the menu of a terminal's window"),
        (false, false, KeyCode::F(11)) => Some("it makes a terminal's window fill the screen"),
        (false, false, KeyCode::Insert) => Some("screen readers take Insert"),
        // The first key of a line that ends a secure-shell session or suspends it.
        (false, false, KeyCode::Char('~')) => Some("a remote shell takes it at the start of a line"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_others_take_is_left_alone() {
        // GNU screen's and tmux's manuals, stty(1), the keyboards of scanners: see the list above.
        for spelling in [
            "Ctrl+A", "Ctrl+B", "Ctrl+C", "Ctrl+Z", "Ctrl+S", "Ctrl+Q", "Ctrl+W", "Ctrl+R", "Ctrl+P",
            "Ctrl+T", "Ctrl+N", "Ctrl+]", "Ctrl+5", "Ctrl+D", "Ctrl+J", "Ctrl+M", "Ctrl+PgUp", "Alt+x",
            "Alt+0", "F8", "F10", "F11", "Insert",
        ] {
            assert!(taken(Key::spelt(spelling).expect("a key")).is_some(), "{spelling}");
        }
        for spelling in ["F1", "F9", "F12", "Esc", "Enter", "u", "!", "Ctrl+E", "Ctrl+X", "PgDn"] {
            assert_eq!(taken(Key::spelt(spelling).expect("a key")), None, "{spelling}");
        }
    }

    /// ECMA-48: Ctrl with a letter is the letter's code less 64; two chords with one code can't be told apart.
    #[test]
    fn no_free_chord_has_the_code_of_another_key() {
        for letter in 'a'..='z' {
            let key = Key { code: KeyCode::Char(letter), ctrl: true, alt: false };
            let code = letter as u32 - 'a' as u32 + 1;
            if matches!(code, 8 | 9 | 10 | 13 | 17 | 19 | 4) {
                assert!(taken(key).is_some(), "Ctrl+{letter} is control character {code}");
            }
        }
    }
}
