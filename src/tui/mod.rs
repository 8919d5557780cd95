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
mod locale;
mod pace;
mod paint;
pub mod preferences;
mod scan_report;
mod scanner;
mod screens;
pub mod settings;
mod shell;
pub mod state;
mod terminal;
pub mod view;

pub use far::watch;
pub use scanner::try_scanner;
pub use screens::run;
