//! The face that people see: screens in a terminal.
//!
//! Invariant: a view computes no fact of the trade.

mod input;
pub mod keys;
mod scanner;
mod shell;
pub mod state;
pub mod view;

pub use scanner::try_scanner;
pub use shell::run;
