//! The screens, and what lies over one and takes the keys.

use super::{Arithmetic, Choice, Finding, Form, Plans, Sheet, Trial};
use crate::journal::CaseCode;
use crate::tui::keys::Place;

/// The screens, in the order of their function keys.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Screen {
    Help,
    Sizes,
    Fetch,
    ReadBack,
    Opened,
    CaseEnd,
    Shelf,
    BailOut,
    FirstSteps,
}

impl Screen {
    /// Those that Tab goes through.
    pub const ROUND: &'static [Screen] =
        &[Screen::Sizes, Screen::Fetch, Screen::ReadBack, Screen::Opened, Screen::CaseEnd, Screen::Shelf];

    pub const fn place(self) -> Place {
        match self {
            Screen::Help => Place::Help,
            Screen::Sizes => Place::Sizes,
            Screen::Fetch => Place::Fetch,
            Screen::ReadBack => Place::ReadBack,
            Screen::Opened => Place::Opened,
            Screen::CaseEnd => Place::CaseEnd,
            Screen::Shelf => Place::Shelf,
            Screen::BailOut => Place::BailOut,
            Screen::FirstSteps => Place::FirstSteps,
        }
    }
}

/// What lies over a screen and takes the keys.
#[derive(Debug, Clone, PartialEq)]
pub enum Overlay {
    Menu,
    Form(Form),
    Find(Finding),
    Choice(Choice),
    Plans(Plans),
    /// The whole arithmetic of a verdict.
    Arithmetic(Arithmetic),
    /// The code of the case that has just begun, in big letters.
    CaseCode(CaseCode),
    /// What the demo room is and how to walk through it.
    Welcome,
    /// What waits for the disk, one by one.
    Unsaved,
    /// What would be written, or what is wrong.
    Sheet(Sheet),
    /// What a scanner sends while it is tried.
    Trial(Trial),
}
