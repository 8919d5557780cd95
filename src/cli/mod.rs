//! The command line: one command a file.
//!
//! Invariant: reads arguments, calls the modules, prints; decides nothing of the trade and knows no screen but that
//! it can be opened.
//!
//! Exit status: 0 answered; 1 a clean "no", or not there; 2 bad input; 3 could not read or write, or the journal that
//! the answer comes from does not hold.

mod add;
mod as_read;
mod bar;
mod begin;
mod branch;
mod card;
mod case;
mod catalogue;
mod chosen;
mod demo;
mod doctor;
mod expansion;
mod far;
mod fit;
mod guide;
mod history;
mod import;
mod inflate;
mod journal;
mod label;
mod lesion;
mod log;
mod out;
mod post_dilate;
mod products;
mod read;
mod scanner;
mod recall;
mod shelf;
mod span;
mod stock;
mod stocked;
mod today;
mod totals;
mod trace;
mod typed;
mod walk;

use crate::deference::LONG;
use crate::room::{Fault, check_clock};
use crate::tui::view::Background;
use clap::error::ErrorKind;
use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
use out::{Out, Outcome};
use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

/// Find, fetch, check and record coronary stents in the catheter laboratory. Without a command it opens the screens.
#[derive(Debug, Parser)]
#[command(name = "boxcall", version, arg_required_else_help = false)]
#[command(after_help = "Example:\n  boxcall demo\n  boxcall --room /srv/lab2")]
struct Line {
    /// The room's folder [default: boxcall in your data directory]
    #[arg(long, global = true, help_heading = "Options of every command", value_name = "DIR")]
    room: Option<PathBuf>,
    /// Answer as JSON on standard output
    #[arg(long, global = true, help_heading = "Options of every command")]
    json: bool,
    /// The background of the terminal, where it can't be detected: dark or light
    #[arg(long, global = true, help_heading = "Options of every command", value_name = "SHADE", value_parser = typed::background)]
    background: Option<Background>,
    /// Write the diagnostic log to FILE [default: boxcall.log in the room's folder, of the screens alone]
    #[arg(long, global = true, help_heading = "Options of every command", value_name = "FILE")]
    log: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    Fit(Box<fit::Args>),
    Span(Box<span::Args>),
    Inflate(inflate::Args),
    PostDilate(post_dilate::Args),
    Expansion(expansion::Args),
    Branch(branch::Args),
    Guide(guide::Args),
    Lesion(lesion::Args),
    Read(read::Args),
    Label(label::Args),
    Card(card::Args),
    Scanner(scanner::Args),
    /// Print a policy file with every default and its source
    #[command(after_help = "Example:\n  boxcall policy > policy.toml")]
    Policy,
    /// Print a settings file with the colours of the screens and the keys of every action
    #[command(after_help = "Example:\n  boxcall settings > settings.toml")]
    Settings,
    Catalogue(catalogue::Args),
    Stock(stock::Args),
    Shelf(shelf::Args),
    Case(case::Args),
    Trace(trace::Args),
    Journal(journal::Args),
    Far(far::Args),
    Demo(demo::Args),
    Doctor(doctor::Args),
}

/// The command line as it describes itself: the README's table is checked against it.
pub fn described() -> clap::Command {
    deferring(Line::command())
}

/// Every help text ends with who decides.
fn deferring(command: clap::Command) -> clap::Command {
    let after = command.get_after_help().map(|text| format!("{text}\n\n")).unwrap_or_default();
    command.after_help(after + LONG).mut_subcommands(deferring)
}

/// A limit on the size of files ends a program by a signal, unless it takes it: then the write fails, and that is told.
fn survive_limits() {
    #[cfg(unix)]
    {
        let taken = std::sync::Arc::default();
        // Where it can't be taken the program ends as it would have.
        let _ = signal_hook::flag::register(signal_hook::consts::SIGXFSZ, taken);
    }
}

/// Runs the command line of this process.
pub fn main() -> ExitCode {
    survive_limits();
    let arguments: Vec<OsString> = std::env::args_os().collect();
    // Asked before clap has read the line, so that its own errors are JSON too.
    let json = arguments.iter().skip(1).take_while(|word| *word != "--").any(|word| word == "--json");
    let mut out = Out::new(json);
    let parsed = described().try_get_matches_from(arguments);
    let came = match parsed.and_then(|matches| Line::from_arg_matches(&matches)) {
        Ok(line) => run(&line, &mut out),
        Err(error) if matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) => {
            out.print(&error.to_string())
        }
        Err(error) => {
            let text = error.to_string();
            let text = text.trim_start_matches("error: ").trim_end();
            Err(Fault::refused("usage", text, None))
        }
    };
    let status = match came {
        Ok(Outcome::Answered) => 0,
        Ok(Outcome::No) => 1,
        Ok(Outcome::AtFault) => 2,
        // Told by the command itself, which asked for nothing else.
        Ok(Outcome::DoesNotHold) => return ExitCode::from(1),
        Err(fault) => {
            out.fault(&fault);
            fault.exit()
        }
    };
    // Neither an answer nor a clean no comes out of a journal that does not hold.
    ExitCode::from(if status < 2 && out.is_in_doubt() { 3 } else { status })
}

/// The room whose screens log into its folder. A command does its work and says what was wrong; the second monitor
/// writes nothing.
fn logged(line: &Line) -> Option<PathBuf> {
    let dir = products::room_dir(line.room.as_deref()).ok()?;
    (line.command.is_none() && crate::room::Room::is_there(&dir)).then_some(dir)
}

fn run(line: &Line, out: &mut Out) -> Result<Outcome, Fault> {
    let room = line.room.as_deref();
    // Dropped at the end, when its last lines are written.
    let _log = log::start(line.log.as_deref(), logged(line).as_deref())?;
    check_clock()?;
    match &line.command {
        None => begin::run(room, line.background),
        Some(Command::Fit(args)) => fit::run(args, room, out),
        Some(Command::Span(args)) => span::run(args, room, out),
        Some(Command::Inflate(args)) => inflate::run(args, room, out),
        Some(Command::PostDilate(args)) => post_dilate::run(args, room, out),
        Some(Command::Expansion(args)) => expansion::run(args, out),
        Some(Command::Branch(args)) => branch::run(args, out),
        Some(Command::Guide(args)) => guide::run(args, room, out),
        Some(Command::Lesion(args)) => lesion::run(args, out),
        Some(Command::Read(args)) => read::run(args, out),
        Some(Command::Label(args)) => label::run(args, out),
        Some(Command::Card(args)) => card::run(args, out),
        Some(Command::Scanner(args)) => scanner::run(args),
        Some(Command::Policy) => out.file("file", &crate::policy::commented()),
        Some(Command::Settings) => out.file("file", &crate::tui::settings::commented()),
        Some(Command::Catalogue(args)) => catalogue::run(args, room, out),
        Some(Command::Stock(args)) => stock::run(args, room, out),
        Some(Command::Shelf(args)) => shelf::run(args, room, out),
        Some(Command::Case(args)) => case::run(args, room, out),
        Some(Command::Trace(args)) => trace::run(args, room, out),
        Some(Command::Journal(args)) => journal::run(args, room, out),
        Some(Command::Far(args)) => far::run(args, room, line.background),
        Some(Command::Doctor(args)) => doctor::run(args, room, out),
        Some(Command::Demo(args)) => demo::run(args, room, line.background, out),
    }
}
