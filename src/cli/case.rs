//! `boxcall case list`, `case show` and `case export`.

use super::Came;
use super::out::Out;
use super::products::room_dir;
use crate::case::Case;
use crate::journal::CaseCode;
use crate::ledger;
use crate::room::{Fault, Format, Room};
use chrono::{DateTime, FixedOffset};
use clap::{Args as Arguments, Subcommand};
use serde::Serialize;
use std::path::Path;

/// List cases, show one, hand one over
#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  boxcall case list\n  boxcall case export --format csv")]
pub(super) struct Args {
    #[command(subcommand)]
    task: Task,
}

#[derive(Debug, Subcommand)]
enum Task {
    /// List every case of this room, in the order in which they began
    #[command(after_help = "Example:\n  boxcall case list --json")]
    List,
    /// Show the record of a case
    #[command(after_help = "Example:\n  boxcall case show\n  boxcall case show K7F3M --json")]
    Show {
        /// The case's code [default: the latest]
        #[arg(value_name = "ID")]
        case: Option<String>,
    },
    /// Hand a case over
    #[command(after_help = "Example:\n  boxcall case export K7F3M --format csv > K7F3M.csv")]
    Export {
        /// The case's code [default: the latest]
        #[arg(value_name = "ID")]
        case: Option<String>,
        /// markdown, csv, json or fhir [default: markdown, with --json json]
        #[arg(long, value_name = "FORMAT")]
        format: Option<String>,
    },
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

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Came, Fault> {
    let dir = room_dir(room)?;
    let (case, format) = match &args.task {
        Task::List => return list(&dir, out),
        Task::Show { case } => (case, None),
        Task::Export { case, format } => (case, format.as_deref()),
    };
    let format = match format {
        Some(name) => name.parse::<Format>().map_err(|error| Fault::bad_input(format!("format: {error}")))?,
        None if out.is_json() => Format::Json,
        None => Format::Markdown,
    };
    let code = case.as_deref().map(code).transpose()?;
    let text = Room::look(&dir)?.export(code.as_ref(), format)?;
    out.words(&text)?;
    Ok(Came::Answered)
}

/// A text that can't be a code names no case: that is not there, rather than wrong.
fn code(text: &str) -> Result<CaseCode, Fault> {
    CaseCode::parse(text).ok_or_else(|| {
        let alphabet = String::from_utf8_lossy(CaseCode::ALPHABET);
        Fault::not_found(format!("case {text:?}: a code is five characters out of {alphabet}"))
    })
}

fn list(dir: &Path, out: &mut Out) -> Result<Came, Fault> {
    let room = Room::look(dir)?;
    let cases = ledger::cases(&room.journal()?);
    let answer = Listed { cases: cases.iter().map(answer).collect() };
    out.answer(&answer, || words(&answer))?;
    Ok(Came::Answered)
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
