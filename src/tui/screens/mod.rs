//! The screens and the overlays: each a module with its keys, its state, its update and its drawing.
//!
//! Invariant: a screen changes itself and the session alone; none names another's state.

pub mod bailout;
mod broken;
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

use super::keys::Place;
use super::model::{Component, EVERYWHERE, Screen, ask};

macro_rules! screens {
    ($($screen:ident: $field:ident, $of:ty;)+) => {
        /// Every screen.
        #[derive(Debug, Clone, Default)]
        pub struct Screens { $(pub $field: $of),+ }

        impl Screens {
            pub fn get(&self, screen: Screen) -> &dyn Component {
                match screen { $(Screen::$screen => &self.$field),+ }
            }

            pub fn get_mut(&mut self, screen: Screen) -> &mut dyn Component {
                match screen { $(Screen::$screen => &mut self.$field),+ }
            }
        }
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
    let one: &[&'static Place] = &[
        &fetch::PLACE,
        &readback::PLACE,
        &opened::PLACE,
        &case_end::PLACE,
        &bailout::PLACE,
        &help::PLACE,
        &menu::PLACE,
        &ask::FIELDS,
        &ask::CHOICE,
        &unsaved::PLACE,
        &welcome::PLACE,
    ];
    [&[&EVERYWHERE], sizes::PLACES, one, shelf::PLACES, first::PLACES].concat()
}
