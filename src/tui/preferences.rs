//! What a room has set for its screens.

use super::keys::Keys;
use crate::units::Decimal;

/// What is behind the letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Background {
    #[default]
    Dark,
    Light,
}

impl Background {
    pub const NAMES: &'static [&'static str] = &["dark", "light"];

    pub fn from_name(name: &str) -> Option<Self> {
        match name {
            "dark" => Some(Background::Dark),
            "light" => Some(Background::Light),
            _ => None,
        }
    }
}

/// What a room has set for its screens.
#[derive(Debug, Clone)]
pub struct Settings {
    pub keys: Keys,
    /// None: as the terminal says, else dark.
    pub background: Option<Background>,
    /// The mark of numbers that are read; none: that of the computer's language.
    pub decimal: Option<Decimal>,
    /// The mouse points and scrolls; without it the terminal's own selection works as ever.
    pub mouse: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Settings { keys: Keys::default(), background: None, decimal: None, mouse: true }
    }
}
