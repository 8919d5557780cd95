//! boxcall: a coronary stent is asked for, fetched, checked and opened.
//!
//! The rooms stand in the order in which the data travels. An arrow (a `use crate::…`) may only point to a
//! room that stands higher in this list; `tests/it/tidy.rs` reads the sources and enforces it.

#[warn(missing_docs, clippy::missing_errors_doc)]
pub mod units;
#[warn(missing_docs, clippy::missing_errors_doc)]
pub mod udi;
#[warn(missing_docs, clippy::missing_errors_doc)]
pub mod measure;
#[warn(missing_docs, clippy::missing_errors_doc)]
pub mod intake;
#[warn(missing_docs, clippy::missing_errors_doc)]
pub mod policy;
pub mod catalogue;
#[warn(missing_docs, clippy::missing_errors_doc)]
pub mod lesion;
#[warn(missing_docs, clippy::missing_errors_doc)]
pub mod fit;
#[warn(missing_docs, clippy::missing_errors_doc)]
pub mod label;
#[warn(missing_docs, clippy::missing_errors_doc)]
pub mod journal;
pub mod store;
pub mod case;
pub mod shelf;
pub mod ledger;
pub mod report;
pub mod room;
pub mod tui;
pub mod cli;
