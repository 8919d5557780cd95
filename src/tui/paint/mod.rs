//! Drawing that knows no screen: text, large letters, the vessel, the styles.
//!
//! Invariant: what is drawn comes in as values; nothing here knows what a key does or what a screen holds.

pub mod beside;
pub mod big;
pub mod card;
pub mod clock;
pub mod glyphs;
mod hits;
mod look;
pub mod plate;
mod text;
pub mod theme;
pub mod vessel;

pub use clock::Clock;
pub use hits::{Hits, Spot};
pub use look::{Colours, Glyphs, Look};
pub use text::{
    broken, columns, cut, first_shown, framed, in_columns, middle, put, put_line, put_lines, put_scrolled,
    rows, wrapped, wrapped_in,
};
pub use vessel::Drawn;
