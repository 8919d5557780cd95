//! The face that people see: screens in a terminal.
//!
//! Invariant: `state` is message in, effects out; `view` is a function of the state; only the shell touches a
//! terminal, and only `keys` and `input` spell a key.

mod columns;
pub mod effects;
pub mod furnish;
mod far;
pub mod follow;
mod input;
pub mod keys;
pub mod locale;
pub mod model;
mod pace;
pub mod paint;
pub mod preferences;
mod scan_report;
mod scanner;
mod room_screens;
mod screens;
pub mod settings;
mod shell;
pub mod state;
mod terminal;
pub mod view;

pub use far::watch;
pub use room_screens::run;
pub use scanner::try_scanner;
pub use terminal::size as terminal_size;
