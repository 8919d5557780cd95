//! boxcall: a coronary stent is asked for, fetched, checked and opened.
//!
//! The rooms stand in the order in which the data travels. An arrow (a `use crate::…`) may only point to a
//! room that stands higher in this list; `tests/it/tidy.rs` reads the sources and enforces it.

#![forbid(unsafe_code)]
#![warn(missing_docs, clippy::missing_errors_doc)]
#![cfg_attr(not(test), warn(clippy::unwrap_used))]

pub mod control;
pub mod deference;
pub mod sources;
pub mod units;
pub mod udi;
pub mod measure;
pub mod intake;
pub mod policy;
pub mod catalogue;
pub mod lesion;
pub mod fit;
pub mod label;
pub mod journal;
pub mod store;
pub mod case;
pub mod shelf;
pub mod ledger;
pub mod report;
pub mod room;
#[allow(missing_docs, clippy::missing_errors_doc, reason = "a face of the program: nothing is built upon it")]
pub mod tui;
#[allow(missing_docs, clippy::missing_errors_doc, reason = "a face of the program: nothing is built upon it")]
pub mod cli;
