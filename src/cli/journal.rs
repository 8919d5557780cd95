//! `boxcall journal check`, `head`, `backup`, `confirm-date` and `take-in`.

use super::bar::Bar;
use super::out::{Out, Outcome};
use super::products::room_dir;
use super::typed::ArgErrors;
use crate::journal::{Anchor, Fact, Statement};
use crate::label::write::{Ground, plain_matrix};
use crate::room::{self, Fault, Room, files};
use crate::units::{by_count, counted};
use chrono::NaiveDate;
use clap::{Args as Arguments, Subcommand};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Check, back up and repair the journal
#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  boxcall journal check\n  boxcall journal backup /media/stick/journal.db")]
pub(super) struct Args {
    #[command(subcommand)]
    task: Task,
}

#[derive(Debug, Subcommand)]
enum Task {
    /// Check the hash chain: every entry is as it was written
    #[command(
        after_help = "A chain shows what was changed by somebody who did not write it anew. Whoever can write in the\n\
                      room's folder can write all of it anew, and the files beside it too: only a head that is kept\n\
                      elsewhere shows that. Every record has one; --against compares it.\n\n\
                      Example:\n  boxcall journal check --json\n  boxcall journal check --against /media/stick/K7F3M.md"
    )]
    Check {
        /// Records that were handed over before, or heads out of a log book: each must be in the chain
        #[arg(long, value_name = "RECORD", num_args = 1..)]
        against: Vec<String>,
    },
    /// Print the last entry's number and hash, to be kept outside the room's folder
    #[command(after_help = "Example:\n  boxcall journal head >> /media/stick/heads.txt")]
    Head,
    /// Back up the journal to a new file, and check the copy
    #[command(after_help = "Example:\n  boxcall journal backup /media/stick/journal.db")]
    Backup {
        /// A file that is not there yet
        #[arg(value_name = "FILE")]
        file: PathBuf,
    },
    /// Confirm the computer's date when the journal's last day contradicts it
    #[command(
        after_help = "Example:\n  boxcall journal confirm-date 2027-01-07 --reason \"the room was closed\""
    )]
    ConfirmDate {
        /// Today's date, read from another clock
        #[arg(value_name = "DATE")]
        date: String,
        /// The reason for the contradiction, in your words
        #[arg(long, value_name = "WORDS")]
        reason: String,
    },
    /// Add entries that could not be saved, from the file that holds them, each once
    #[command(after_help = "Example:\n  boxcall journal take-in boxcall-not-saved-20261125-140200.json")]
    TakeIn {
        /// A file that the screens wrote when the disk refused
        #[arg(value_name = "FILE")]
        file: PathBuf,
    },
}

/// `journal check --json`.
#[derive(Debug, Serialize)]
struct Checked<'a> {
    #[serde(flatten)]
    statement: &'a Statement,
    /// Each head that the journal was compared with.
    against: &'a [Compared],
}

/// One head out of a record.
#[derive(Debug, Serialize)]
struct Compared {
    /// The file, or the head as it was typed.
    record: String,
    entry: u64,
    /// The entry is in the journal and has this hash.
    holds: bool,
}

/// `journal head --json`.
#[derive(Debug, Serialize)]
struct Head {
    /// Null where nothing was ever written.
    entry: Option<u64>,
    /// In hexadecimal.
    head: Option<String>,
    /// Both in one word.
    anchor: Option<String>,
}

/// `journal backup --json`.
#[derive(Debug, Serialize)]
struct Copied {
    file: String,
    entries: u64,
    head: String,
}

/// `journal confirm-date --json`.
#[derive(Debug, Serialize)]
struct Confirmed {
    /// The journal's entry; null where there was nothing to confirm.
    entry: Option<u64>,
    date: NaiveDate,
}

fn confirm_date(dir: &Path, date: &str, reason: &str, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let day = errors.date("date", Some(date));
    let why = reason.trim();
    errors.line("reason", why);
    let clock = room::today();
    if day.is_some_and(|day| day != clock) {
        let message = format!("the computer says {clock}: set its clock, and nothing has to be confirmed");
        errors.add("date", date, message);
    }
    errors.settle()?;
    let mut room = out.open(dir)?;
    let entry = match room.today()?.doubt {
        None => None,
        Some(_) => {
            let fact = Fact::DateConfirmed { day: clock, why: why.into() };
            room.write(None, &[fact])?.last().map(|entry| entry.seq)
        }
    };
    out.answer(&Confirmed { entry, date: clock }, || match entry {
        Some(entry) => format!("{clock} is confirmed, entry {entry}: dates are judged by it"),
        None => format!("{clock} goes with the journal: there was nothing to confirm"),
    })?;
    Ok(Outcome::Answered)
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    let dir = room_dir(room)?;
    match &args.task {
        Task::Check { against } => check(&Out::journal_to_check(&dir)?, against, out),
        Task::Head => head(&out.journal_alone(&dir)?, out),
        Task::ConfirmDate { date, reason } => confirm_date(&dir, date, reason, out),
        Task::TakeIn { file } => {
            let answer = out.open(&dir)?.take_in(file)?;
            out.answer(&answer, || {
                let (written, already) = (counted(answer.written, "entry"), answer.already);
                format!("{written} written, {already} {} there already", by_count(already, "was", "were"))
            })
        }
        Task::Backup { file } => {
            let Anchor { entry: entries, hash } = out.journal_alone(&dir)?.back_up(file)?;
            let answer = Copied { file: file.display().to_string(), entries, head: hex::encode(hash) };
            out.answer(&answer, || {
                format!("{}: {}, checked; head {}", answer.file, counted(entries, "entry"), answer.head)
            })
        }
    }
}

fn check(room: &Room, against: &[String], out: &mut Out) -> Result<Outcome, Fault> {
    let heads = against.iter().map(|text| heads(text)).collect::<Result<Vec<_>, _>>()?;
    let mut bar = Bar::new(out.is_json());
    let mut statement = room.check_with(&mut |held, last| bar.show(held, last));
    bar.end();
    let mut compared = Vec::new();
    for (record, anchor) in heads.iter().flatten() {
        let holds = room.has(anchor)?;
        if !holds && statement.holds {
            let message = format!(
                "{record} has another entry under this number, or the journal ends before it: it is older, or was \
                 written anew"
            );
            statement = Statement::broken(1, anchor.entry, message);
        }
        compared.push(Compared { record: record.clone(), entry: anchor.entry, holds });
    }
    let answer = Checked { statement: &statement, against: &compared };
    out.answer(&answer, || {
        let words = match (statement.entries, &statement.head) {
            (Some(entries), Some(head)) => {
                format!("the journal holds: {}, head {head}", counted(entries, "entry"))
            }
            _ => statement.to_string(),
        };
        let missing = |one: &Compared| {
            let is = if one.holds { "is in the chain" } else { "IS NOT IN THE CHAIN" };
            format!("{}: entry {} {is}", one.record, one.entry)
        };
        std::iter::once(words).chain(compared.iter().map(missing)).collect::<Vec<_>>().join("\n")
    })?;
    Ok(if statement.holds { Outcome::Answered } else { Outcome::DoesNotHold })
}

/// The heads in a record, each with the name to report it by; a head may also be typed.
fn heads(text: &str) -> Result<Vec<(String, Anchor)>, Fault> {
    let typed = Anchor::all_in(text);
    let found = if typed.is_empty() { Anchor::all_in(&files::text(Path::new(text))?) } else { typed };
    if found.is_empty() {
        let message = format!("{text}: no head of a journal is in it (journal-head:NUMBER:HASH)");
        return Err(Fault::refused("bad-file", message, None));
    }
    Ok(found.into_iter().map(|anchor| (text.to_string(), anchor)).collect())
}

fn head(room: &Room, out: &mut Out) -> Result<Outcome, Fault> {
    let anchor = room.anchor()?;
    let word = anchor.map(|anchor| anchor.to_string());
    let answer = Head {
        entry: anchor.map(|anchor| anchor.entry),
        head: anchor.map(|anchor| hex::encode(anchor.hash)),
        anchor: word.clone(),
    };
    out.answer(&answer, || match word {
        None => "the journal has no entry yet".into(),
        Some(word) => {
            let drawn = plain_matrix(word.as_bytes());
            let drawn = drawn.map(|matrix| matrix.half_blocks(Ground::Dark)).unwrap_or_default();
            format!("{word}\n\n{drawn}")
        }
    })
}
