//! `boxcall journal check` and `journal backup`.

use super::bar::Bar;
use super::out::{Out, Outcome};
use super::products::room_dir;
use super::typed::ArgErrors;
use crate::journal::Fact;
use crate::room::{self, Fault, Room};
use crate::store::Store;
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
    #[command(after_help = "Example:\n  boxcall journal check --json")]
    Check,
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
#[derive(Debug, Default, Serialize)]
struct Checked<'a> {
    holds: bool,
    /// How many entries; null where one does not hold.
    entries: Option<u64>,
    /// The last entry's hash in hexadecimal, to be kept elsewhere; null where one does not hold.
    head: Option<&'a str>,
    /// The first entry that does not hold, from 1; 0 where the file around the entries is damaged; null where all
    /// hold.
    entry: Option<u64>,
    /// Why it does not hold.
    message: Option<&'a str>,
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
    let mut room = Room::open(dir)?;
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
        Task::Check => check(&dir, &Room::journal_of(&dir)?, out),
        Task::ConfirmDate { date, reason } => confirm_date(&dir, date, reason, out),
        Task::TakeIn { file } => {
            let answer = Room::open(&dir)?.take_in(file)?;
            out.answer(&answer, || {
                let (written, already) = (counted(answer.written, "entry"), answer.already);
                format!("{written} written, {already} {} there already", by_count(already, "was", "were"))
            })
        }
        Task::Backup { file } => {
            let store = Room::journal_of(&dir)?;
            store.backup(file)?;
            let (entries, head) = Store::open_read_only(file)?.head()?;
            let answer = Copied { file: file.display().to_string(), entries, head: hex::encode(head) };
            out.answer(&answer, || {
                format!("{}: {}, checked; head {}", answer.file, counted(entries, "entry"), answer.head)
            })
        }
    }
}

fn check(dir: &Path, store: &Store, out: &mut Out) -> Result<Outcome, Fault> {
    let mut bar = Bar::new(out.is_json());
    let last = store.last_seq().unwrap_or(0);
    let verified = store.verify(&mut |held| bar.show(held.min(last), last));
    bar.end();
    // The chain alone can't show a tail that was cut off; what is beside the journal can: the mark of the last check,
    // and what the screens have shown since.
    let stands = |verified| {
        store.mark().map_or(Ok(()), |mark| store.stands_at(&mark))?;
        Room::stands_as_shown(dir, store)?;
        Ok(verified)
    };
    match verified.and_then(stands) {
        Ok(verified) => {
            let (entries, head) = (verified.entries, hex::encode(verified.head));
            let answer =
                Checked { holds: true, entries: Some(entries), head: Some(&head), ..Checked::default() };
            out.answer(&answer, || format!("the journal holds: {}, head {head}", counted(entries, "entry")))
        }
        Err(broken) => {
            let (entry, message) = (Some(broken.seq), Some(broken.message.as_str()));
            let answer = Checked { entry, message, ..Checked::default() };
            out.answer(&answer, || format!("THE JOURNAL DOES NOT HOLD: {broken}"))?;
            Ok(Outcome::No)
        }
    }
}
