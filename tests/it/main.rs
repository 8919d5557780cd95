//! The integration tests, one binary: it links once.

mod cases;
mod hand;
mod mistakes;
mod scenes;
mod readme;
mod screens;
mod terminal;
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
mod fit_answer;
mod fit_properties;
mod sizing;
mod shelf;
mod crash;
mod tidy;
mod label_conduct;
mod labels;
mod import;
