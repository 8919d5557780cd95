//! The tests of what happens in this process: seconds, so that they run at every change (`cargo test --test fast`). What
//! starts programs, kills them or draws many inputs is in `slow.rs`.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "figures of a test are small"
)]
#![warn(clippy::undocumented_unsafe_blocks)]

// What both binaries take of these helpers is not the same.
#[allow(dead_code, reason = "also for the slow tests")]
mod entries;
#[allow(dead_code, reason = "also for the slow tests")]
mod hand;
#[allow(dead_code, reason = "also for the slow tests")]
mod said;
#[allow(dead_code, reason = "also for the slow tests")]
mod span_shelf;

// Tables and walks that the tests below read.
mod cases;
mod sources;
mod moments;
mod names;
mod scenes;
mod svg;

// The house: its order, its words, what is said of it.
mod tidy;
mod words;
mod counted;
mod deference;
mod readme;
mod hazard_table;
mod hazards;
mod pictures;

// What a room is made of: catalogue, protocol, stock.
mod catalogue;
mod policy_file;
mod stock_file;

// What fits: sizes, spans, balloons, sums.
mod sizing;
mod cases_fit;
mod fit_answer;
mod fit_properties;
mod charts;
mod sums;
mod span;
mod span_lesions;
mod span_placed;
mod span_reference;
mod overlap;
mod gaps;

// What a box says: labels read and written.
mod labels;
mod label_conduct;
mod label_pair;
mod label_write;
mod reference_labels;

// The case: record, read-back, what is handed over and found again.
mod record;
mod readback;
mod case_told;
mod handover;
mod fhir;
mod shelf;
mod wall;

// The screens, by a hand at a keyboard.
mod screens;
mod sizes_screen;
mod tour;
mod mistakes;
mod findings;
mod days;
mod hear;
mod clock;
mod mouse;
mod remapped;
mod decimal;
mod tally;
mod far;
