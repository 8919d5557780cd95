//! The screens and the overlays: each a module with its keys, its state, its update and its drawing.
//!
//! Invariant: a screen changes itself and the session alone; none names another's state.

pub mod bailout;
pub mod case_code;
pub mod case_end;
pub mod date;
pub mod fetch;
pub mod first;
pub mod help;
pub mod menu;
pub mod opened;
pub mod readback;
pub mod shelf;
pub mod sizes;
pub mod tour;
pub mod unsaved;
pub mod welcome;

use super::keys::{EVERYWHERE, Place};
use super::model::{Component, Screen, ask};

macro_rules! screens {
    ($($screen:ident: $field:ident, $module:ident::$of:ident;)+) => {
        /// Every screen.
        #[derive(Debug, Clone, Default)]
        pub struct Screens { $(pub $field: $module::$of),+ }

        impl Screens {
            pub fn get(&self, screen: Screen) -> &dyn Component {
                match screen { $(Screen::$screen => &self.$field),+ }
            }

            pub fn get_mut(&mut self, screen: Screen) -> &mut dyn Component {
                match screen { $(Screen::$screen => &mut self.$field),+ }
            }
        }

        /// The places of each screen and of its overlays.
        const PLACES: &[&[&Place]] = &[$($module::PLACES),+];
    };
}

screens! {
    Sizes: sizes, sizes::Sizes;
    Fetch: fetch, fetch::Fetch;
    ReadBack: read_back, readback::ReadBack;
    Opened: opened, opened::Opened;
    CaseEnd: case_end, case_end::CaseEnd;
    Shelf: shelf, shelf::Shelf;
    BailOut: bail_out, bailout::CoveredStents;
    FirstSteps: first_steps, first::FirstSteps;
    Help: help, help::Help;
}

/// Every place where a key means something, in the order of the help page.
pub fn places() -> Vec<&'static Place> {
    let of_all = [&menu::PLACE, &ask::FIELDS, &ask::CHOICE, &unsaved::PLACE, &welcome::PLACE];
    [&EVERYWHERE].into_iter().chain(PLACES.concat()).chain(of_all).collect()
}
