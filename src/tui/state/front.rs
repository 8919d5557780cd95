//! What takes the keys: a screen, or what lies over one.

use super::{Effects, State};
use crate::tui::keys::{Action, DOWN, PAGE_DOWN, PAGE_UP, Place, UP};

/// A screen, or what lies over one, as the routes see it.
pub struct Front {
    pub place: &'static Place,
    /// What an action of its own does.
    pub act: fn(&mut State, Action) -> Effects,
    /// What up and down move in.
    pub list: fn(&mut State) -> Option<List<'_>>,
    /// Whether a key of its own would do something now.
    pub offers: fn(&State, Action) -> bool,
    /// What a character that is no key does.
    pub typed: fn(&mut State, char) -> Effects,
    /// Any key takes it away.
    pub passing: Option<Passing>,
}

/// What becomes of the key that takes something away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Passing {
    /// It does what it does on the screen beneath.
    LetsKeyThrough,
    /// It does nothing else.
    TakesKey,
}

impl Front {
    pub const fn new(place: &'static Place, act: fn(&mut State, Action) -> Effects) -> Self {
        Front { place, act, list: |_| None, offers: |_, _| true, typed: |_, _| Effects::new(), passing: None }
    }
}

/// A cursor or a place in a text, which up and down move.
pub struct List<'a> {
    at: &'a mut usize,
    last: usize,
    page: usize,
    round: bool,
}

impl<'a> List<'a> {
    /// Something with so many entries.
    pub const fn new(at: &'a mut usize, count: usize) -> Self {
        List { at, last: count.saturating_sub(1), page: 1, round: false }
    }

    /// A page key moves by so many.
    pub const fn paged(self, page: usize) -> Self {
        List { page, ..self }
    }

    /// The first follows the last.
    pub const fn round(self) -> Self {
        List { round: true, ..self }
    }

    pub fn step(self, action: Action) {
        let (at, last) = (*self.at, self.last);
        *self.at = match action {
            DOWN if self.round && at >= last => 0,
            UP if self.round && at == 0 => last,
            DOWN => (at + 1).min(last),
            PAGE_DOWN => (at + self.page).min(last),
            UP => at.saturating_sub(1),
            PAGE_UP => at.saturating_sub(self.page),
            _ => at,
        };
    }

    pub fn set(self, at: usize) {
        *self.at = at.min(self.last);
    }

    pub fn clamp(self) {
        *self.at = (*self.at).min(self.last);
    }
}

macro_rules! screens {
    ($($screen:ident => $front:path,)+) => {
        /// The screens.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Screen { $($screen),+ }

        impl Screen {
            const FRONTS: &'static [&'static Front] = &[$(&$front),+];

            const fn front(self) -> &'static Front {
                match self { $(Screen::$screen => &$front),+ }
            }

            pub const fn place(self) -> &'static Place {
                self.front().place
            }
        }
    };
}

macro_rules! overlays {
    ($($(#[$doc:meta])* $overlay:ident $(($holds:ty))? => $front:path,)+) => {
        /// What lies over a screen and takes the keys.
        #[derive(Debug, Clone, PartialEq)]
        pub enum Overlay { $($(#[$doc])* $overlay $(($holds))?),+ }

        impl Overlay {
            const FRONTS: &'static [&'static Front] = &[$(&$front),+];

            const fn front(&self) -> &'static Front {
                match self { $(Overlay::$overlay { .. } => &$front),+ }
            }
        }
    };
}

pub(super) use {overlays, screens};
