//! `boxcall stock receive`, `move`, `count` and `pull`: each tells what changes and writes it only when asked to, as one
//! entry of the journal.

use super::chosen::Chosen;
use super::out::{Out, Outcome};
use super::today::judged_by;
use super::typed::ArgErrors;
use crate::case::readback::Cupboard;
use crate::catalogue::{Catalogue, Piece};
use crate::journal::{Fact, same_text};
use crate::measure::{Caution, CautionCode};
use crate::room::{Fault, Room, files};
use crate::shelf::{Change, Shelf, box_words};
use crate::udi::DeviceId;
use crate::units::{by_count, counted};
use chrono::NaiveDate;
use clap::Args as Arguments;
use serde::Serialize;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

#[derive(Debug, Arguments)]
pub(super) struct Receive {
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Write the change
    #[arg(long)]
    write: bool,
}

#[derive(Debug, Arguments)]
pub(super) struct Move {
    /// The place that they are in now
    #[arg(long, value_name = "SHELF")]
    from: String,
    /// The place that they go to
    #[arg(long, value_name = "SHELF")]
    to: String,
    #[command(flatten)]
    chosen: Chosen,
    /// How many, first to expire first [default: all]
    #[arg(long, value_name = "NUMBER")]
    count: Option<u32>,
    /// Write the change
    #[arg(long)]
    write: bool,
}

#[derive(Debug, Arguments)]
pub(super) struct Count {
    /// A stock file (CSV) of what was counted there
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// The place that was counted, completely
    #[arg(long, value_name = "SHELF")]
    shelf: String,
    /// Write the differences
    #[arg(long)]
    write: bool,
}

#[derive(Debug, Arguments)]
#[command(group(clap::ArgGroup::new("which").required(true).multiple(true).args(["expired", "recalled", "reason"])))]
pub(super) struct Pull {
    /// Pieces past their use-by date
    #[arg(long)]
    expired: bool,
    /// Pieces of recalled lots
    #[arg(long)]
    recalled: bool,
    /// The reason, in your words: "returned to the owner", "damaged", "lent to room 2"
    #[arg(long, value_name = "WORDS")]
    reason: Option<String>,
    /// Only what is in this place
    #[arg(long, value_name = "SHELF")]
    from: Option<String>,
    #[command(flatten)]
    chosen: Chosen,
    /// How many; refused where it is not clear which
    #[arg(long, value_name = "NUMBER")]
    count: Option<u32>,
    /// The day for which use-by dates are judged [default: today]
    #[arg(long, value_name = "DATE")]
    today: Option<String>,
    /// Write the change
    #[arg(long)]
    write: bool,
}

/// `stock receive|move|count|pull --json`. `entry` is null where nothing is written.
#[derive(Debug, Serialize)]
struct Answer<'a> {
    entry: Option<u64>,
    changes: Vec<ChangeAnswer<'a>>,
    cautions: &'a [Caution],
}

/// Pieces alike in all but their number.
#[derive(Debug, Serialize)]
pub(super) struct ChangeAnswer<'a> {
    di: &'a str,
    #[serde(rename = "ref")]
    reference: Option<&'a str>,
    lot: &'a str,
    serial: Option<&'a str>,
    use_by: Option<NaiveDate>,
    shelf: &'a str,
    owner: String,
    before: u32,
    after: u32,
    /// Size, name and REF in words.
    #[serde(skip)]
    words: String,
}

/// Pieces of one row, as several commands list them.
#[derive(Debug, Serialize)]
pub(super) struct PieceAnswer {
    di: DeviceId,
    lot: String,
    serial: Option<String>,
    shelf: String,
    pub(super) count: u32,
    /// Size, name and REF in words.
    #[serde(skip)]
    what: String,
}

impl PieceAnswer {
    pub(super) fn of(piece: &Piece, catalogue: &Catalogue) -> Self {
        let Piece { di, lot, serial, shelf, count, .. } = piece.clone();
        PieceAnswer { di, lot, serial, shelf, count, what: box_words(piece, catalogue) }
    }

    /// `A1: ×2  3.00 × 29 Fell (FL30029)  lot K7`.
    pub(super) fn words(&self) -> String {
        let marks = marks(&self.lot, self.serial.as_deref());
        format!("{}: ×{}  {}  {marks}", self.shelf, self.count, self.what)
    }
}

pub(super) fn receive(args: &Receive, dir: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let mut room = out.open(dir)?;
    let stock = files::stock(&args.file, &room.catalogue)?;
    let from = args.file.file_name().unwrap_or(args.file.as_os_str()).to_string_lossy().into_owned();
    let mut cautions = stock.cautions;
    let shelf = room.shelf()?.unwrap_or_default();
    cautions.extend(came_before(&room, &shelf, &stock.pieces)?);
    let (today, in_doubt) = judged_by(None, room.today()?);
    cautions.extend(unusable(&shelf, &stock.pieces, today));
    cautions.extend(in_doubt);
    cautions.extend(new_places(&shelf, stock.pieces.iter().map(|piece| piece.shelf.as_str())));
    let fact = Fact::StockReceived { from, pieces: some(stock.pieces) };
    settle(&mut room, fact, &cautions, args.write, out)
}

/// Whether these very pieces, or one of them by its serial number, are there already.
fn came_before(room: &Room, shelf: &Shelf, pieces: &[Piece]) -> Result<Vec<Caution>, Fault> {
    let mut cautions = Vec::new();
    if let Some(before) = room.received_before(pieces)? {
        let (how, from) = match &before.fact {
            Fact::StockLoaded { from, .. } => ("loaded", from),
            Fact::StockReceived { from, .. } => ("received", from),
            _ => return Ok(cautions),
        };
        let message = format!(
            "this very list was {how} before: from {from} on {}, entry {}. Write it only if it has come once more",
            before.at.format("%F %R"),
            before.seq
        );
        cautions.push(Caution::new(CautionCode::ReceivedBefore, message));
    }
    for piece in pieces.iter().filter(|piece| piece.count > 0) {
        let Some(serial) = &piece.serial else { continue };
        let mut there = shelf.rows_of(std::slice::from_ref(&piece.di)).filter(|row| row.count > 0);
        let message = if let Some(row) = there.find(|row| row.serial.as_ref() == Some(serial)) {
            format!("serial number {serial} of {} is on the shelf already, at {}", piece.di, row.shelf)
        } else if shelf.serial_opened(&piece.di, serial) {
            format!("serial number {serial} of {} was opened in a case", piece.di)
        } else {
            continue;
        };
        cautions.push(Caution::new(CautionCode::SerialThere, message));
    }
    Ok(cautions)
}

pub(super) fn count(args: &Count, dir: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let mut room = out.open(dir)?;
    let stock = files::stock(&args.file, &room.catalogue)?;
    let mut places = stock.pieces.iter().filter(|piece| piece.shelf != args.shelf);
    if let Some(other) = places.next() {
        let message = format!(
            "{}: a row lies in {:?}, but {:?} was counted; count one place at a time",
            args.file.display(),
            other.shelf,
            args.shelf
        );
        return Err(Fault::bad_input(message));
    }
    // A misspelt place would add everything a second time.
    let shelf = room.shelf()?.unwrap_or_default();
    let mut cautions = stock.cautions;
    cautions.extend(new_places(&shelf, [args.shelf.as_str()]));
    let fact = Fact::StockCounted { shelf: args.shelf.clone(), pieces: some(stock.pieces) };
    settle(&mut room, fact, &cautions, args.write, out)
}

/// Places where nothing lies yet, each once: one that is misspelt is another place. An empty shelf has none to go by.
fn new_places<'a>(shelf: &Shelf, places: impl IntoIterator<Item = &'a str>) -> Vec<Caution> {
    let known: BTreeSet<&str> = shelf.pieces().into_iter().map(|piece| piece.shelf.as_str()).collect();
    let places: BTreeSet<&str> = places.into_iter().collect();
    let new = places.difference(&known).filter(|_| !known.is_empty()).map(|place| {
        let alike = known.iter().find(|known| same_text(known, place));
        let alike = alike.map(|alike| format!(" There is {alike:?}.")).unwrap_or_default();
        let message = format!("nothing lay in {place:?} before: is that how the place is written?{alike}");
        Caution::new(CautionCode::NewPlace, message)
    });
    new.collect()
}

/// What may not be used is received all the same, and pointed out.
fn unusable(shelf: &Shelf, pieces: &[Piece], today: NaiveDate) -> Vec<Caution> {
    let standing = pieces.iter().filter(|piece| piece.count > 0).filter_map(|piece| {
        let marks = marks(&piece.lot, piece.serial.as_deref());
        if shelf.recalled(Some(&piece.di), &piece.lot) {
            Some(Caution::new(CautionCode::Recalled, format!("{marks} of {} is RECALLED", piece.di)))
        } else if !piece.in_date(today) {
            let day = piece.use_by.map(|day| day.to_string()).unwrap_or_default();
            Some(Caution::new(
                CautionCode::Expired,
                format!("{marks} of {} is EXPIRED, use by {day}", piece.di),
            ))
        } else {
            None
        }
    });
    standing.collect()
}

/// Rows that count nothing say nothing.
fn some(mut pieces: Vec<Piece>) -> Vec<Piece> {
    pieces.retain(|piece| piece.count > 0);
    pieces
}

pub(super) fn pull(args: &Pull, dir: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let today = errors.date("today", args.today.as_deref());
    let choice = args.chosen.read(&mut errors);
    check_count(args.count, &mut errors);
    let reason = args.reason.as_deref().map(str::trim);
    if let Some(reason) = reason {
        errors.line("reason", reason);
    }
    let all_good = !args.expired && !args.recalled;
    if all_good && args.from.is_none() && args.chosen.is_empty() {
        let message = "reason: say which boxes, with --from, --di, --ref, --lot, --serial or --owner";
        errors.add("reason", reason.unwrap_or_default(), message.into());
    }
    errors.settle()?;
    let mut room = out.open(dir)?;
    let (shelf, trusted) = room.shelf_today()?;
    let (today, mut cautions) = judged_by(today, trusted);
    cautions.retain(|_| args.expired);
    let shelf = shelf.unwrap_or_default();
    let wanted = |piece: &&Piece| {
        let unusable = args.expired && !piece.in_date(today)
            || args.recalled && shelf.recalled(Some(&piece.di), &piece.lot);
        (all_good || unusable)
            && args.from.as_ref().is_none_or(|from| piece.shelf == *from)
            && choice.means(&room, piece)
    };
    let mut pieces: Vec<Piece> = shelf.pieces().into_iter().filter(wanted).cloned().collect();
    let there = sum(&pieces);
    let nothing_of_choice = all_good && there == 0;
    if nothing_of_choice || args.count.is_some_and(|count| there < u64::from(count)) {
        return Err(too_few(args.count, "be pulled", there, "on the shelf"));
    }
    if let (Some(count), [row, rest @ ..]) = (args.count, &mut pieces[..]) {
        // A box that goes has its own lot: taking another off would leave the wrong one to be found.
        if !rest.is_empty() && u64::from(count) < there {
            let message = format!(
                "count: {} in {} are like that, and which {count} of them {} is not said: name the lot, the serial \
                 number or the place",
                counted(there, "piece"),
                counted(1 + rest.len(), "row"),
                by_count(count, "goes", "go")
            );
            return Err(Fault::bad_input(message));
        }
        if rest.is_empty() {
            row.count = count;
        }
    }
    let why = match (reason, args.expired, args.recalled) {
        (Some(reason), ..) => reason.into(),
        (None, true, true) => format!("past their use-by date on {today}, or recalled"),
        (None, true, false) => format!("past their use-by date on {today}"),
        (None, false, _) => "recalled".into(),
    };
    settle(&mut room, Fact::StockPulled { why, pieces }, &cautions, args.write, out)
}

fn check_count(count: Option<u32>, errors: &mut ArgErrors) {
    if count == Some(0) {
        errors.add("count", "0", "count is 1 or more".into());
    }
}

fn sum(pieces: &[Piece]) -> u64 {
    pieces.iter().map(|piece| u64::from(piece.count)).sum()
}

fn too_few(wanted: Option<u32>, to_do: &str, found: u64, place: &str) -> Fault {
    let wanted =
        wanted.map_or("a piece like that".into(), |wanted| format!("{} like that", counted(wanted, "piece")));
    Fault::not_found(format!("{wanted} should {to_do}, {found} {} {place}", by_count(found, "lies", "lie")))
}

pub(super) fn shift(args: &Move, dir: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let choice = args.chosen.read(&mut errors);
    check_count(args.count, &mut errors);
    if args.to.trim().is_empty() || args.to == args.from {
        errors.add("to", &args.to, "name another place with --to".into());
    }
    errors.settle()?;
    let mut room = out.open(dir)?;
    let shelf = room.shelf()?.unwrap_or_default();
    let mut pieces = Vec::new();
    let mut left = args.count.unwrap_or(u32::MAX);
    let meant = |piece: &&Piece| piece.shelf == args.from && choice.means(&room, piece);
    for piece in shelf.pieces().into_iter().filter(meant) {
        let count = piece.count.min(left);
        left -= count;
        if count > 0 {
            pieces.push(Piece { count, ..piece.clone() });
        }
    }
    let found = sum(&pieces);
    if found == 0 || args.count.is_some_and(|wanted| found < u64::from(wanted)) {
        let hint = new_places(&shelf, [args.from.as_str()]).into_iter().next();
        let hint = hint.map(|caution| format!("; {}", caution.message)).unwrap_or_default();
        return Err(too_few(args.count, "move", found, &format!("in {:?}{hint}", args.from)));
    }
    let cautions = new_places(&shelf, [args.to.as_str()]);
    settle(&mut room, Fact::StockMoved { pieces, to: args.to.clone() }, &cautions, args.write, out)
}

/// Tells what the fact would change, and writes it where that is asked for.
fn settle(
    room: &mut Room,
    fact: Fact,
    cautions: &[Caution],
    write: bool,
    out: &mut Out,
) -> Result<Outcome, Fault> {
    let before = room.shelf()?.unwrap_or_default();
    let changes = before.after(std::slice::from_ref(&fact)).changes_from(&before);
    let entry = if write && !changes.is_empty() {
        room.write(None, &[fact])?.first().map(|entry| entry.seq)
    } else {
        None
    };
    let changes = changes.iter().map(|change| change_answer(&room.catalogue, change)).collect();
    let answer = Answer { entry, changes, cautions };
    out.answer(&answer, || words(&answer))
}

pub(super) fn change_answer<'a>(
    catalogue: &'a Catalogue,
    Change { piece, before }: &'a Change,
) -> ChangeAnswer<'a> {
    ChangeAnswer {
        di: piece.di.as_str(),
        reference: catalogue.find(&piece.di).map(|found| found.reference()),
        lot: &piece.lot,
        serial: piece.serial.as_deref(),
        use_by: piece.use_by,
        shelf: &piece.shelf,
        owner: piece.owner.to_string(),
        before: *before,
        after: piece.count,
        words: box_words(piece, catalogue),
    }
}

/// `lot K7 SN 4`: a label may carry one of the two alone.
pub(super) fn marks(lot: &str, serial: Option<&str>) -> String {
    let lot = Some(lot).filter(|lot| !lot.is_empty()).map(|lot| format!("lot {lot}"));
    let serial = serial.map(|serial| format!("SN {serial}"));
    lot.into_iter().chain(serial).collect::<Vec<_>>().join(" ")
}

/// One row that changes, in words.
pub(super) fn change_words(change: &ChangeAnswer) -> String {
    let piece = marks(change.lot, change.serial);
    let use_by = change.use_by.map_or("no use-by date".into(), |day| format!("use by {day}"));
    let own = if change.owner == "own" { String::new() } else { format!("  {}", change.owner) };
    let difference = i64::from(change.after) - i64::from(change.before);
    format!(
        "{}: {}  {piece}  {use_by}{own}: {} becomes {} ({difference:+})",
        change.shelf, change.words, change.before, change.after
    )
}

fn words(answer: &Answer) -> String {
    let mut lines: Vec<String> = answer.changes.iter().map(change_words).collect();
    lines.extend(answer.cautions.iter().map(|caution| format!("caution: {}", caution.message)));
    lines.push(match (answer.changes.len(), answer.entry) {
        (0, _) => "nothing changes".into(),
        (rows, Some(entry)) => {
            format!("{} {} changed (entry {entry})", counted(rows, "row"), by_count(rows, "is", "are"))
        }
        (rows, None) => {
            format!("{} would change; nothing is written yet: add --write", counted(rows, "row"))
        }
    });
    lines.join("\n")
}
