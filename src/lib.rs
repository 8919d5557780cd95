//! boxcall: a coronary stent is asked for, fetched, checked and opened.
//!
//! The rooms stand in the order in which the data travels. An arrow (a `use crate::…`) may only point to a
//! room that stands higher in this list; `tests/it/tidy.rs` reads the sources and enforces it.

pub mod case;
pub mod catalogue;
pub mod cli;
pub mod fit;
pub mod intake;
pub mod journal;
pub mod label;
pub mod ledger;
pub mod lesion;
pub mod measure;
pub mod policy;
pub mod report;
pub mod room;
pub mod shelf;
pub mod store;
pub mod tui;
pub mod udi;
pub mod units;
