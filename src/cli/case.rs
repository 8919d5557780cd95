//! `boxcall case list`, `case show`, `case export` and `case totals`.

use super::out::{Out, Outcome, Reader, harmless};
use super::products::room_dir;
use super::totals;
use crate::case::Case;
use crate::journal::CaseCode;
use crate::ledger;
use crate::report;
use crate::room::{self, Fault, Format, files};
use chrono::{DateTime, FixedOffset};
use clap::{Args as Arguments, Subcommand};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// The narrowest terminal that shows the whole job.
const SHOWN_WIDTH: usize = 78;

const SCHEMA_NAME: &str = "json-schema";

/// List, show and export cases
#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  boxcall case list\n  boxcall case export --format csv")]
pub(super) struct Args {
    #[command(subcommand)]
    task: Task,
}

#[derive(Debug, Subcommand)]
enum Task {
    /// List every case of this room, oldest first
    #[command(after_help = "Example:\n  boxcall case list --json")]
    List,
    /// Show a case: drawing, time line, lesions, waste
    #[command(after_help = "Example:\n  boxcall case show\n  boxcall case show K7F3M --json")]
    Show {
        /// The case's code [default: the latest]
        #[arg(value_name = "ID")]
        case: Option<String>,
    },
    /// Export the record of a case
    #[command(after_help = "Example:\n  boxcall case export K7F3M --format csv > K7F3M.csv")]
    Export {
        /// The case's code [default: the latest]
        #[arg(value_name = "ID")]
        case: Option<String>,
        /// markdown, csv, json, fhir, or json-schema (the shape of json) [default: markdown, with --json json]
        #[arg(long, value_name = "FORMAT")]
        format: Option<String>,
        /// Write to FILE (completely or not at all) instead of standard output
        #[arg(long, value_name = "FILE")]
        to: Option<PathBuf>,
    },
    Totals(totals::Args),
}

/// `case list --json`.
#[derive(Debug, Serialize)]
struct Listed<'a> {
    cases: Vec<CaseAnswer<'a>>,
}

/// One of its `cases`.
#[derive(Debug, Serialize)]
struct CaseAnswer<'a> {
    case: &'a str,
    begun: DateTime<FixedOffset>,
    /// When it was signed off; null while it is open.
    signed: Option<DateTime<FixedOffset>>,
    calls: usize,
    /// Boxes whose seal was broken.
    opened: usize,
    /// Boxes and calls that are not settled.
    unsettled: usize,
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    match &args.task {
        Task::List => list(&room_dir(room)?, out),
        Task::Show { case } => show(&room_dir(room)?, case.as_deref(), out),
        Task::Export { case, format, to } => {
            export(room, case.as_deref(), format.as_deref(), to.as_deref(), out)
        }
        Task::Totals(args) => totals::run(args, &room_dir(room)?, out),
    }
}

fn show(dir: &Path, case: Option<&str>, out: &mut Out) -> Result<Outcome, Fault> {
    let code = case.map(code).transpose()?;
    let room = out.room_of_journal(dir)?;
    let text = match out.is_json() {
        true => room.export(code.as_ref(), Format::Json)?,
        false => room.review(code.as_ref(), SHOWN_WIDTH)?,
    };
    out.words(Reader::OfDocument, &text)
}

fn export(
    room: Option<&Path>,
    case: Option<&str>,
    format: Option<&str>,
    to: Option<&Path>,
    out: &mut Out,
) -> Result<Outcome, Fault> {
    if format == Some(SCHEMA_NAME) {
        return hand_over(report::SCHEMA, Reader::Program, to, out);
    }
    let format = match format {
        Some(name) => name
            .parse::<Format>()
            .map_err(|error| Fault::bad_input(format!("format: {error}, {SCHEMA_NAME}")))?,
        None if out.is_json() => Format::Json,
        None => Format::Markdown,
    };
    let code = case.map(code).transpose()?;
    let room = out.room_of_journal(&room_dir(room)?)?;
    let text = room.export(code.as_ref(), format)?;
    for long in room.long_texts(code.as_ref())? {
        out.aside(&format!(
            "caution: {long}: see that nothing in it tells of a person, before this is handed on"
        ));
    }
    // A table has no place for a sentence: it is beside it.
    let reader = if format == Format::Csv { Reader::Program } else { Reader::OfDocument };
    if let (Format::Csv, Some(file)) = (format, to) {
        room::write_deference_beside(file)?;
    }
    hand_over(&text, reader, to, out)
}

/// Into a file whole or not at all, else to standard output.
fn hand_over(text: &str, reader: Reader, to: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    match to {
        Some(file) => files::write_private(file, &harmless(text, false)).map(|()| Outcome::Answered),
        None => out.words(reader, text),
    }
}

/// A text that can't be a code names no case: that is not there, rather than wrong.
fn code(text: &str) -> Result<CaseCode, Fault> {
    CaseCode::parse(text).ok_or_else(|| {
        let alphabet = String::from_utf8_lossy(CaseCode::ALPHABET);
        Fault::not_found(format!("case {text:?}: a code is five characters out of {alphabet}"))
    })
}

fn list(dir: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let room = out.room_of_journal(dir)?;
    let cases = ledger::cases(&room.journal()?);
    let answer = Listed { cases: cases.iter().map(answer).collect() };
    out.answer(&answer, || words(&answer))
}

fn answer(case: &Case) -> CaseAnswer<'_> {
    CaseAnswer {
        case: case.code.as_str(),
        begun: case.begun,
        signed: case.signed.as_ref().map(|signed| signed.at),
        calls: case.calls.len(),
        opened: case.opened().len(),
        unsettled: case.unsettled().len(),
    }
}

fn words(answer: &Listed) -> String {
    if answer.cases.is_empty() {
        return "no case was begun in this room".into();
    }
    let line = |case: &CaseAnswer| {
        let end = match case.signed {
            Some(at) => format!("signed {}", at.format("%F %R")),
            None => "open".into(),
        };
        format!(
            "{}  begun {}  {} opened, {} unsettled  {end}",
            case.case,
            case.begun.format("%F %R"),
            case.opened,
            case.unsettled
        )
    };
    answer.cases.iter().map(line).collect::<Vec<_>>().join("\n")
}
