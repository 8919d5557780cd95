//! The screens, by name.

/// A screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Screen {
    Sizes,
    Fetch,
    ReadBack,
    Opened,
    CaseEnd,
    Shelf,
    BailOut,
    FirstSteps,
    Help,
}

impl Screen {
    /// Those that Tab goes through.
    pub const ROUND: &'static [Screen] =
        &[Screen::Sizes, Screen::Fetch, Screen::ReadBack, Screen::Opened, Screen::CaseEnd, Screen::Shelf];
}
