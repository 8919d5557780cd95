//! The integration tests, one binary: it links once.

mod cases;
mod hand;
mod walk;
mod catalogue;
mod entries;
mod fhir;
mod handover;
mod readback;
mod record;
mod charts;
mod policy_file;
mod stock_file;
mod cases_fit;
mod fit_properties;
mod sizing;
mod sums;
mod shelf;
mod crash;
mod tidy;
mod labels;
