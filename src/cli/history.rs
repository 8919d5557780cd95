//! `boxcall stock history` and `stock strike`: what was written of the shelf, entry by entry, and how one that was a
//! mistake is struck out. Nothing is deleted: the strike is an entry of its own.

use super::out::{Out, Outcome};
use super::stocked::{ChangeAnswer, PieceAnswer, change_answer, change_words};
use super::typed::ArgErrors;
use crate::case::entry_words;
use crate::catalogue::Piece;
use crate::journal::{Fact, same_text};
use crate::measure::{Caution, CautionCode};
use crate::room::{Fault, Room, Written};
use crate::shelf::Shelf;
use crate::units::{by_count, counted};
use chrono::{DateTime, FixedOffset};
use clap::Args as Arguments;
use serde::Serialize;
use std::collections::BTreeSet;
use std::path::Path;

#[derive(Debug, Arguments)]
pub(super) struct History {
    /// Only entries of this day or later
    #[arg(long, value_name = "DATE")]
    since: Option<String>,
    /// Only entries that name this lot, and its pieces
    #[arg(long, value_name = "LOT")]
    lot: Option<String>,
}

#[derive(Debug, Arguments)]
pub(super) struct Strike {
    /// Numbers of entries, as `stock history` lists them: 12, or 12-14
    #[arg(value_name = "ENTRY", required = true)]
    entries: Vec<String>,
    /// Why, in your words
    #[arg(long, value_name = "WORDS")]
    reason: String,
    /// Write the strike
    #[arg(long)]
    write: bool,
}

/// `stock history --json`.
#[derive(Debug, Serialize)]
struct HistoryAnswer {
    entries: Vec<EntryAnswer>,
}

/// One of its `entries`.
#[derive(Debug, Serialize)]
struct EntryAnswer {
    entry: u64,
    at: DateTime<FixedOffset>,
    /// The kind of entry, as the journal has it: `stock-received`, `lot-recalled`, …
    what: &'static str,
    words: String,
    /// With `--lot` its pieces of that lot, else none.
    pieces: Vec<PieceAnswer>,
    /// The entry that strikes it out; null while it stands.
    struck_out_by: Option<u64>,
    /// Why it was struck out; null while it stands.
    struck_out: Option<String>,
}

/// `stock strike --json`.
#[derive(Debug, Serialize)]
struct Struck<'a> {
    /// The first of the strikes; null where nothing is written.
    entry: Option<u64>,
    struck: Vec<EntryAnswer>,
    /// What is different on the shelf without them.
    changes: Vec<ChangeAnswer<'a>>,
    cautions: Vec<Caution>,
}

pub(super) fn history(args: &History, dir: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let since = errors.date("since", args.since.as_deref());
    errors.settle()?;
    let room = out.room_of_journal(dir)?;
    let lot = args.lot.as_deref();
    let entries = room.written()?.into_iter().filter_map(|written| {
        let late = since.is_none_or(|since| written.entry.at.date_naive() >= since);
        let told = entry_answer(&room, &written, lot);
        let named = lot.is_none_or(|lot| {
            let recalled =
                matches!(&written.entry.fact, Fact::LotRecalled { lot: of, .. } if same_text(of, lot));
            recalled || !told.pieces.is_empty()
        });
        (late && named).then_some(told)
    });
    let answer = HistoryAnswer { entries: entries.collect() };
    out.answer(&answer, || match answer.entries.as_slice() {
        [] => "nothing: no such entry was written in this room".into(),
        entries => entries.iter().map(entry_line).collect::<Vec<_>>().join("\n"),
    })?;
    Ok(Outcome::answered(!answer.entries.is_empty()))
}

fn entry_answer(room: &Room, Written { entry, struck }: &Written, lot: Option<&str>) -> EntryAnswer {
    let of_lot = |piece: &&Piece| lot.is_some_and(|lot| same_text(&piece.lot, lot));
    EntryAnswer {
        entry: entry.seq,
        at: entry.at,
        what: entry.fact.what(),
        words: entry_words(&entry.fact),
        pieces: pieces(&entry.fact)
            .iter()
            .filter(of_lot)
            .map(|piece| PieceAnswer::of(piece, &room.catalogue))
            .collect(),
        struck_out_by: struck.as_ref().map(|(by, _)| *by),
        struck_out: struck.as_ref().map(|(_, why)| why.clone()),
    }
}

fn pieces(fact: &Fact) -> &[Piece] {
    match fact {
        Fact::StockLoaded { pieces, .. }
        | Fact::StockReceived { pieces, .. }
        | Fact::StockMoved { pieces, .. }
        | Fact::StockCounted { pieces, .. }
        | Fact::StockPulled { pieces, .. } => pieces,
        _ => &[],
    }
}

fn entry_line(told: &EntryAnswer) -> String {
    let struck = match (told.struck_out_by, &told.struck_out) {
        (Some(by), Some(why)) => format!("  [STRUCK OUT by entry {by}: {why}]"),
        _ => String::new(),
    };
    let mut lines = vec![format!("{:>6}  {}  {}{struck}", told.entry, told.at.format("%F %R"), told.words)];
    lines.extend(told.pieces.iter().map(|piece| format!("        {}", piece.words())));
    lines.join("\n")
}

pub(super) fn strike(args: &Strike, dir: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let reason = args.reason.trim();
    errors.line("reason", reason);
    let numbers = numbers(&args.entries, &mut errors);
    errors.settle()?;
    let mut room = out.open(dir)?;
    let all = room.written()?;
    let meant: Vec<&Written> = numbers.iter().map(|seq| find(&room, &all, *seq)).collect::<Result<_, _>>()?;
    let (before, after) = (room.shelf()?.unwrap_or_default(), room.shelf_without(&numbers)?);
    let changes = after.changes_from(&before);
    let cautions = still_recalled(&all, &numbers, &after);
    let struck: Vec<EntryAnswer> = meant.iter().map(|written| entry_answer(&room, written, None)).collect();
    let entry = if args.write {
        let strikes = numbers.iter().map(|&entry| Fact::StruckOut { entry, why: reason.into() });
        room.write(None, &strikes.collect::<Vec<_>>())?.first().map(|entry| entry.seq)
    } else {
        None
    };
    let changes = changes.iter().map(|change| change_answer(&room.catalogue, change)).collect();
    let answer = Struck { entry, struck, changes, cautions };
    out.answer(&answer, || words(&answer))
}

/// More at once is a slip of the hand.
const MANY: u64 = 10_000;

fn numbers(texts: &[String], errors: &mut ArgErrors) -> BTreeSet<u64> {
    let mut numbers = BTreeSet::new();
    for text in texts {
        let (first, last) = text.split_once('-').unwrap_or((text, text));
        match (first.trim().parse::<u64>(), last.trim().parse::<u64>()) {
            (Ok(first), Ok(last)) if 0 < first && first <= last && last - first < MANY => {
                numbers.extend(first..=last);
            }
            _ => errors.add(
                "entry",
                text,
                format!("entry {text:?} is not the number of an entry, such as 12 or 12-14"),
            ),
        }
    }
    numbers
}

fn find<'a>(room: &Room, all: &'a [Written], seq: u64) -> Result<&'a Written, Fault> {
    if let Some(written) = all.iter().find(|written| written.entry.seq == seq) {
        return match &written.struck {
            None => Ok(written),
            Some((by, _)) => {
                Err(Fault::bad_input(format!("entry {seq} was struck out by entry {by} already")))
            }
        };
    }
    let there = room.entries_after(seq - 1)?.into_iter().next();
    Err(match there.map(|entry| (entry.case, entry.fact)) {
        None => Fault::not_found(format!("entry {seq}: the journal has none")),
        Some((Some(case), _)) => Fault::bad_input(format!(
            "entry {seq} belongs to case {case}: it is struck out on the screens of that case"
        )),
        Some((None, fact)) => Fault::bad_input(format!(
            "entry {seq} can't be struck out: {}. What was struck out is written down once more instead",
            entry_words(&fact)
        )),
    })
}

/// Lots whose recall is struck out and that another entry recalls all the same.
fn still_recalled(all: &[Written], without: &BTreeSet<u64>, after: &Shelf) -> Vec<Caution> {
    let recalls = |written: &&Written| match &written.entry.fact {
        Fact::LotRecalled { di, lot } => after.recalled(di.as_ref(), lot),
        _ => false,
    };
    let struck = all.iter().filter(|written| without.contains(&written.entry.seq)).filter(recalls);
    let caution = |written: &Written| {
        let what = entry_words(&written.entry.fact);
        let message = format!("{what}: another entry says so too, and the lot stays recalled");
        Caution::new(CautionCode::StillRecalled, message)
    };
    struck.map(caution).collect()
}

fn words(answer: &Struck) -> String {
    let mut lines: Vec<String> = answer.struck.iter().map(entry_line).collect();
    lines.extend(answer.changes.iter().map(change_words));
    if answer.changes.is_empty() {
        lines.push("the pieces on hand stay as they are".into());
    }
    lines.extend(answer.cautions.iter().map(|caution| format!("caution: {}", caution.message)));
    let (count, entries) = (answer.struck.len(), counted(answer.struck.len(), "entry"));
    lines.push(match answer.entry {
        Some(entry) => format!("{entries} {} struck out (entry {entry})", by_count(count, "is", "are")),
        None => format!("{entries} would be struck out; nothing is written yet: add --write"),
    });
    lines.join("\n")
}
