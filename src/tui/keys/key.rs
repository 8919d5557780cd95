//! One key: how it is spelt, and what a text field takes from it.

use crossterm::event::KeyCode;

/// A key as a person presses it. Shift is part of the character.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Key {
    pub code: KeyCode,
    pub ctrl: bool,
    pub alt: bool,
}

/// The keys that have a name: how the table spells them, and how else people do.
const NAMED: &[(&str, &[&str], KeyCode)] = &[
    ("Enter", &["return"], KeyCode::Enter),
    ("Esc", &["escape"], KeyCode::Esc),
    ("Tab", &[], KeyCode::Tab),
    ("Shift+Tab", &["backtab"], KeyCode::BackTab),
    ("Space", &[], KeyCode::Char(' ')),
    ("Backspace", &[], KeyCode::Backspace),
    ("Delete", &["del"], KeyCode::Delete),
    ("Insert", &["ins"], KeyCode::Insert),
    ("↑", &["up"], KeyCode::Up),
    ("↓", &["down"], KeyCode::Down),
    ("←", &["left"], KeyCode::Left),
    ("→", &["right"], KeyCode::Right),
    ("Home", &[], KeyCode::Home),
    ("End", &[], KeyCode::End),
    ("PgUp", &["pageup"], KeyCode::PageUp),
    ("PgDn", &["pagedown"], KeyCode::PageDown),
];

impl Key {
    /// What people press to get out of a program that they do not know.
    pub const INTERRUPT: Key = Key { code: KeyCode::Char('c'), ctrl: true, alt: false };

    pub const fn plain(code: KeyCode) -> Self {
        Key { code, ctrl: false, alt: false }
    }

    /// The character that a text field takes from this key.
    pub fn text(self) -> Option<char> {
        match self.code {
            KeyCode::Char(c) if !self.ctrl && !self.alt => Some(c),
            _ => None,
        }
    }

    /// F1 to F12: terminals and remote desktops may swallow them.
    pub const fn is_function(self) -> bool {
        matches!(self.code, KeyCode::F(_))
    }

    /// What stands at the end of a scan.
    pub const fn ends_a_scan(self) -> bool {
        matches!(self.code, KeyCode::Enter | KeyCode::Tab)
    }

    /// Reads the spelling that stands in the table and in the help: `F3`, `Enter`, `Ctrl+E`, `m`. The names of
    /// keys are read in any case, and the arrows by name as well.
    pub fn spelt(spelling: &str) -> Option<Self> {
        let lower = spelling.to_lowercase();
        if let Some((.., code)) = NAMED
            .iter()
            .find(|(name, others, _)| name.to_lowercase() == lower || others.contains(&lower.as_str()))
        {
            return Some(Key::plain(*code));
        }
        for (chord, ctrl) in [("ctrl+", true), ("alt+", false)] {
            if let Some(rest) = lower.strip_prefix(chord) {
                let code = Key::spelt(rest).filter(|key| !key.ctrl && !key.alt)?.code;
                return Some(Key { code, ctrl, alt: !ctrl });
            }
        }
        let number = lower.strip_prefix('f').and_then(|number| number.parse::<u8>().ok());
        if let Some(number) = number.filter(|number| (1..=12).contains(number)) {
            return Some(Key::plain(KeyCode::F(number)));
        }
        let mut chars = spelling.chars();
        let only = chars.next().filter(|c| !c.is_control() && !c.is_whitespace())?;
        chars.next().is_none().then(|| Key::plain(KeyCode::Char(only)))
    }

    /// The one spelling of this key, as every screen shows it. Empty for a key that has no name here.
    pub fn spelling(self) -> String {
        let chord = if self.ctrl {
            "Ctrl+"
        } else if self.alt {
            "Alt+"
        } else {
            ""
        };
        let name = match self.code {
            KeyCode::F(number) => format!("F{number}"),
            code => match NAMED.iter().find(|(.., named)| *named == code) {
                Some((name, ..)) => (*name).to_string(),
                None => match code {
                    KeyCode::Char(c) if self.ctrl || self.alt => c.to_uppercase().to_string(),
                    KeyCode::Char(c) => c.to_string(),
                    _ => return String::new(),
                },
            },
        };
        format!("{chord}{name}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spelling_is_read_in_any_case_and_given_back_in_one() {
        for (typed, spelling) in [
            ("f3", "F3"),
            ("enter", "Enter"),
            ("Return", "Enter"),
            ("Up", "↑"),
            ("↑", "↑"),
            ("del", "Delete"),
            ("ctrl+e", "Ctrl+E"),
            ("Ctrl+PgUp", "Ctrl+PgUp"),
            ("Alt+x", "Alt+X"),
            ("shift+tab", "Shift+Tab"),
            ("m", "m"),
            ("M", "M"),
            ("f", "f"),
            ("+", "+"),
        ] {
            assert_eq!(Key::spelt(typed).map(Key::spelling).as_deref(), Some(spelling), "{typed}");
        }
        for none in ["", " ", "mm", "F13", "F0", "Ctrl+", "Ctrl+Alt+x", "Hyper+x", "\u{7}"] {
            assert_eq!(Key::spelt(none), None, "{none:?}");
        }
    }
}
