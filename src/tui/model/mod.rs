//! What the screens are made of: the session that they share, and the component that each of them is.
//!
//! Invariant: nothing here knows a particular screen, a terminal, a clock or a disk.

pub mod ask;
pub mod axes;
pub mod clock;
mod findings;
pub mod form;
pub mod grid;
mod index;
pub mod judged;
mod judging;
mod message;
mod pending;
mod screen;
pub mod session;
pub mod setup;
mod tally;
mod work;
mod world;

pub use ask::{Choice, Outcome, Question, ask};
pub use axes::Axes;
pub use form::{Field, Form, Input};
pub use grid::{Cell, CellBox, Grid};
pub use judged::{Held, Judged, Subject};
pub use message::{Effect, Message};
pub use pending::{Draft, Unsaved, Waiting};
pub use screen::Screen;
pub use session::{AnyKey, Canvas, Component, Effects, List, Request, Session, close, go, open};
pub use setup::{Answer, Ask, Task};
pub use tally::{LastScan, Scanning, SumRow};
pub use work::{Spanned, Work};
pub use world::{Wanted, World};
