//! The integration tests, one binary: it links once.

#![warn(clippy::undocumented_unsafe_blocks)]

// The hands, rooms and tables that the tests below stand on.
mod cases;
mod program;
mod sources;
mod entries;
mod hand;
mod moments;
mod names;
mod scenes;
mod span_shelf;
mod svg;
mod samples;
mod faulty;

// The house: its order, its words, what is said of it.
mod tidy;
mod words;
mod counted;
mod deference;
mod readme;
mod hazards;
mod strokes;
mod pictures;

// What a room is made of: catalogue, protocol, stock.
mod catalogue;
mod sheet;
mod import;
mod policy_file;
mod stock_file;

// What fits: sizes, spans, balloons, sums.
mod sizing;
mod cases_fit;
mod fit_answer;
mod fit_properties;
mod charts;
mod sums;
mod sums_asked;
mod span;
mod span_command;
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
mod mutations;
mod reference_labels;

// The case: record, read-back, what is handed over and found again.
mod record;
mod readback;
mod case_told;
mod accounting;
mod handover;
mod fhir;
mod lookback;
mod shelf;
mod wall;

// The screens, by a hand at a keyboard.
mod screens;
mod sizes_screen;
mod first_steps;
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
mod fuzz;

// The real binary: commands, and screens in a pseudo-terminal.
mod commands;
mod commands_every;
mod stocked;
mod terminal;
mod far_terminal;
mod together;

// The journal: how a room starts and follows it, and attacks on it.
mod start;
mod crash;
mod faults_disk;
mod faults_kill;
mod faults_place;
mod faults_files;
mod faults_furnish;
mod faults_backup;
mod faults_screens;
mod faults_terminal;
