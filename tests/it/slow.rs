//! The tests that start programs, kill them, fill disks or draw many inputs: a minute. `cargo test` runs them, `cargo test
//! --test fast` does not.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "figures of a test are small"
)]
#![warn(clippy::undocumented_unsafe_blocks)]

// What both binaries take of these helpers is not the same.
#[allow(dead_code, reason = "also for the fast tests")]
mod entries;
#[allow(dead_code, reason = "also for the fast tests")]
mod hand;
#[allow(dead_code, reason = "also for the fast tests")]
mod said;
#[allow(dead_code, reason = "also for the fast tests")]
mod span_shelf;

// A program, a pseudo-terminal, every sample call, a disk that fails.
mod program;
mod pty;
mod samples;
mod faulty;

// Many inputs, drawn or all of a kind.
mod fuzz;
mod any_size;
mod mutations;
mod accounting;
mod span_enumerated;

// Commands.
mod answers;
mod commands;
mod commands_every;
mod span_command;
mod sums_asked;
mod sheet;
mod import;
mod stocked;
mod lookback;
mod days_of_programs;

// The screens in a pseudo-terminal.
mod terminal;
mod far_terminal;
mod together;
mod strokes;
mod support;
mod first_steps;

// The journal: how a room starts and follows it, and attacks on it.
mod start;
mod holds;
mod hostile;
mod crash;
mod faults_disk;
mod faults_kill;
mod faults_place;
mod faults_files;
mod faults_furnish;
mod faults_backup;
mod faults_screens;
mod faults_terminal;
