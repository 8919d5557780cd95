//! boxcall: a coronary stent is asked for, fetched, checked and opened.
//!
//! The modules are listed in the order of the data flow. A module may only use (`use crate::…`) modules that are higher
//! in this list; `tests/it/tidy.rs` reads the sources and enforces it.

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
#[allow(missing_docs, clippy::missing_errors_doc, reason = "a user interface: no other module depends on it")]
pub mod tui;
#[allow(missing_docs, clippy::missing_errors_doc, reason = "a user interface: no other module depends on it")]
pub mod cli;
