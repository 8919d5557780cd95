//! `boxcall stock load`, `recall`, `list`, `short`, `template` and `export`; what moves is in `stocked`.

use super::as_read::AsRead;
use super::out::{Out, Outcome};
use super::products::room_dir;
use super::stocked;
use super::today::{Cautioned, below, judged_by};
use super::typed::ArgErrors;
use super::{history, recall};
use crate::case::size_words;
use crate::catalogue::{self, Catalogue, Found, Piece};
use crate::journal::{BoxRead, Fact};
use crate::measure::Caution;
use crate::room::{Fault, Room, files};
use crate::shelf::{self, Shelf, Short};
use crate::units::{Diameter, Length, by_count, counted};
use chrono::{DateTime, FixedOffset, NaiveDate};
use clap::{Args as Arguments, Subcommand};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Manage the pieces on the shelf
#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  boxcall stock load stock.csv\n  boxcall stock list")]
pub(super) struct Args {
    #[command(subcommand)]
    task: Task,
}

#[derive(Debug, Subcommand)]
enum Task {
    /// Replace the stock by a stock file (CSV), as one journal entry
    #[command(
        after_help = "The header is di,lot,serial,use_by,shelf,count and owner if wanted. All rows are taken, or none.\n\n\
                            Example:\n  boxcall stock load stock.csv --preview\n  boxcall stock load stock.csv"
    )]
    Load {
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// Only show what would change
        #[arg(long)]
        preview: bool,
    },
    /// List items below the par levels of the policy, in cupboard order
    #[command(after_help = "Example:\n  boxcall stock short --json")]
    Short {
        /// The day for which use-by dates are judged [default: today]
        #[arg(long, value_name = "DATE")]
        today: Option<String>,
    },
    /// Record recalled lots from a list (CSV): they are marked on the shelf and stopped at read-back
    #[command(
        after_help = "The header is lot, and di if wanted. All lots are recalled, or none where a row is wrong.\n\n\
                            Example:\n  boxcall stock recall notice.csv"
    )]
    Recall {
        #[arg(value_name = "FILE")]
        file: PathBuf,
    },
    /// List the stock, in cupboard order
    #[command(after_help = "Example:\n  boxcall stock list --json")]
    List {
        /// The day for which use-by dates are judged [default: today]
        #[arg(long, value_name = "DATE")]
        today: Option<String>,
        /// The shelf as it was at the end of this day
        #[arg(long, value_name = "DATE")]
        on: Option<String>,
    },
    /// Print an empty stock file (CSV) with an example
    #[command(after_help = "Example:\n  boxcall stock template > stock.csv")]
    Template,
    /// Export the stock as a stock file (CSV)
    #[command(after_help = "Example:\n  boxcall stock export > stock.csv")]
    Export {
        /// The shelf as it was at the end of this day
        #[arg(long, value_name = "DATE")]
        on: Option<String>,
    },
    /// Add a delivery (CSV) to the stock
    #[command(after_help = "Example:\n  boxcall stock receive delivery.csv --write")]
    Receive(stocked::Receive),
    /// Move pieces from one place to another
    #[command(after_help = "Example:\n  boxcall stock move --from A --to B --ref FL30029 --count 1 --write")]
    Move(stocked::Move),
    /// Compare one place with what was counted there, and correct the stock
    #[command(after_help = "Example:\n  boxcall stock count found.csv --shelf A --write")]
    Count(stocked::Count),
    /// Pull boxes off the shelf without a case: expired, recalled, returned, damaged
    #[command(
        after_help = "What goes for another reason is chosen by what stands on the boxes. All that is chosen goes, or nothing.\n\n\
                            Example:\n  boxcall stock pull --expired --write\n  \
                            boxcall stock pull --reason \"returned to the owner\" --owner consigned --lot FL60263 --write"
    )]
    Pull(stocked::Pull),
    /// List the journal entries of stock and recalls
    #[command(
        after_help = "Example:\n  boxcall stock history --since 2026-11-01\n  boxcall stock history --lot FL60263"
    )]
    History(history::History),
    /// Strike out mistaken entries of stock and recalls, after showing what changes
    #[command(after_help = "The entries stay in the journal, and the strike beside them.\n\n\
                            Example:\n  boxcall stock strike 12 --reason \"another room's notice\" --write")]
    Strike(history::Strike),
}

/// `stock load --json`.
#[derive(Debug, Serialize)]
struct Loaded<'a> {
    /// The journal's entry; null where it was only looked at.
    entry: Option<u64>,
    rows: usize,
    pieces: u64,
    cautions: &'a [Caution],
    changes: Vec<stocked::ChangeAnswer<'a>>,
}

/// `stock short --json`.
#[derive(Debug, Serialize)]
struct Order<'a> {
    today: NaiveDate,
    /// How many items have a par.
    items: usize,
    short: Vec<ShortAnswer<'a>>,
}

/// One item below its par.
#[derive(Debug, Serialize)]
struct ShortAnswer<'a> {
    /// As the policy names it.
    item: &'a str,
    wanted: u32,
    /// In date and not recalled.
    on_shelf: u32,
    /// To order: `wanted` less `on_shelf`.
    missing: u32,
    /// Where it lies or lay; null where that was never known.
    place: Option<&'a str>,
    /// The boxes that would count, whatever the product.
    boxes: Vec<Orderable>,
}

/// A box that can be ordered.
#[derive(Debug, Serialize)]
struct Orderable {
    product: String,
    #[serde(rename = "ref")]
    reference: String,
}

/// `stock list --json`.
#[derive(Debug, Serialize)]
struct Listed<'a> {
    rows: Vec<StockRow<'a>>,
    /// Pieces in all, in date or not.
    pieces: u64,
}

/// One of its `rows`: pieces alike in identifier, lot, serial, use-by date, place and owner. What the catalogue
/// does not know of the identifier is null.
#[derive(Debug, Serialize)]
struct StockRow<'a> {
    di: &'a str,
    product: Option<&'a str>,
    diameter_mm: Option<f64>,
    length_mm: Option<f64>,
    #[serde(rename = "ref")]
    reference: Option<&'a str>,
    lot: &'a str,
    serial: Option<&'a str>,
    use_by: Option<NaiveDate>,
    in_date: bool,
    recalled: bool,
    shelf: &'a str,
    count: u32,
    /// `own`, `consigned`, `borrowed from NAME`: as a stock file has it.
    owner: String,
    /// What the cases knew of a box that no product file has any more; null where one has it, or nothing was known.
    remembered: Option<Remembered<'a>>,
    /// Size, name and REF in words.
    #[serde(skip)]
    words: String,
}

/// As it was read last while a product file had it.
#[derive(Debug, Serialize)]
struct Remembered<'a> {
    #[serde(flatten)]
    what: AsRead<'a>,
    read: DateTime<FixedOffset>,
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    let dir = room_dir(room)?;
    match &args.task {
        Task::Load { file, preview } => load(&dir, file, *preview, out),
        Task::Short { today } => {
            let mut errors = ArgErrors::default();
            let today = errors.date("today", today.as_deref());
            errors.settle()?;
            short(&out.look(&dir)?, today, out)
        }
        Task::Recall { file } => recall::run(&dir, file, out),
        Task::List { today, on } => {
            let mut errors = ArgErrors::default();
            let on = errors.date("on", on.as_deref());
            let today = errors.date("today", today.as_deref()).or(on);
            errors.settle()?;
            let room = out.look(&dir)?;
            list(&room, &shelf_on(&room, on)?, today, out)
        }
        Task::Template => out.file("csv", catalogue::stock::TEMPLATE),
        Task::Export { on } => {
            let mut errors = ArgErrors::default();
            let on = errors.date("on", on.as_deref());
            errors.settle()?;
            let shelf = shelf_on(&out.look(&dir)?, on)?;
            let pieces: Vec<Piece> = shelf.pieces().into_iter().cloned().collect();
            out.file("csv", &catalogue::stock::write(&pieces))
        }
        Task::Receive(args) => stocked::receive(args, &dir, out),
        Task::Move(args) => stocked::shift(args, &dir, out),
        Task::Count(args) => stocked::count(args, &dir, out),
        Task::Pull(args) => stocked::pull(args, &dir, out),
        Task::History(args) => history::history(args, &dir, out),
        Task::Strike(args) => history::strike(args, &dir, out),
    }
}

fn load(dir: &Path, file: &Path, preview: bool, out: &mut Out) -> Result<Outcome, Fault> {
    let mut room = if preview { out.look(dir)? } else { out.open(dir)? };
    let stock = files::stock(file, &room.catalogue)?;
    let from = file.file_name().unwrap_or(file.as_os_str()).to_string_lossy().into_owned();
    let rows = stock.pieces.len();
    let pieces = stock.pieces.iter().map(|piece| u64::from(piece.count)).sum();
    let fact = Fact::StockLoaded { from, pieces: stock.pieces };
    let before = room.shelf()?.unwrap_or_default();
    let lost = before.pieces().iter().filter(|piece| piece.count > 0).count();
    if !preview && rows == 0 && lost > 0 {
        return Err(Fault::bad_input(format!(
            "{}: no row below the header: {} on hand would be gone; nothing is written. Save the table again, or \
             count the places that are empty with `boxcall stock count`",
            file.display(),
            counted(lost, "row")
        )));
    }
    let changes = before.after(std::slice::from_ref(&fact)).changes_from(&before);
    let entry = if preview { None } else { room.write(None, &[fact])?.first().map(|entry| entry.seq) };
    let changes = changes.iter().map(|change| stocked::change_answer(&room.catalogue, change)).collect();
    let answer = Loaded { entry, rows, pieces, cautions: &stock.cautions, changes };
    out.answer(&answer, || {
        let mut lines: Vec<String> = match entry {
            // What changes was to be seen before; afterwards the list of what is there tells more.
            Some(_) => Vec::new(),
            None => answer.changes.iter().map(stocked::change_words).collect(),
        };
        let changed = answer.changes.len();
        let lying = format!("{} in {}", counted(pieces, "piece"), counted(rows, "row"));
        let rows = counted(changed, "row");
        lines.push(match entry {
            Some(entry) => {
                format!(
                    "{lying} {} on hand now (entry {entry}); {rows} {} changed",
                    by_count(pieces, "is", "are"),
                    by_count(changed, "is", "are")
                )
            }
            None => format!("{lying} would be on hand; {rows} would change; nothing is written"),
        });
        lines.extend(stock.cautions.iter().map(|caution| format!("caution: {}", caution.message)));
        lines.join("\n")
    })
}

fn short(room: &Room, today: Option<NaiveDate>, out: &mut Out) -> Result<Outcome, Fault> {
    let par = &room.policy.par;
    let (shelf, trusted) = room.shelf_today()?;
    let (shelf, (today, cautions)) = (shelf.unwrap_or_default(), judged_by(today, trusted));
    let short = shelf.short(par, &room.catalogue, today);
    let order = |short: &'_ Short| {
        let boxes = shelf::boxes_of(&short.item, par, &room.catalogue);
        let one = |found: Found| Orderable {
            product: found.product().id.clone(),
            reference: found.reference().to_string(),
        };
        boxes.into_iter().map(one).collect()
    };
    let rows = short.iter().map(|short| ShortAnswer {
        item: &short.item,
        wanted: short.wanted,
        on_shelf: short.have,
        missing: short.wanted - short.have,
        place: short.place.as_deref(),
        boxes: order(short),
    });
    let answer = Order { today, items: par.len(), short: rows.collect() };
    out.answer(&Cautioned { answer: &answer, cautions: &cautions }, || {
        let line = |short: &ShortAnswer| {
            let place = short.place.unwrap_or("no place known");
            let boxes: Vec<String> =
                short.boxes.iter().map(|one| format!("{} {}", one.product, one.reference)).collect();
            let boxes =
                if boxes.is_empty() { "no product file has it".to_string() } else { boxes.join(", ") };
            format!(
                "{place}: {}  order ×{} ({} of {} there)  {boxes}",
                short.item, short.missing, short.on_shelf, short.wanted
            )
        };
        let mut lines: Vec<String> = answer.short.iter().map(line).collect();
        lines.push(format!(
            "{} of {} with a par {} short on {today}",
            answer.short.len(),
            counted(answer.items, "item"),
            by_count(answer.short.len(), "is", "are")
        ));
        below(&cautions, &lines.join("\n"))
    })
}

/// As it is, or as it was at the end of a day, by the clocks of the machines that wrote the entries.
fn shelf_on(room: &Room, day: Option<NaiveDate>) -> Result<Shelf, Fault> {
    let Some(day) = day else { return Ok(room.shelf()?.unwrap_or_default()) };
    let mut entries = room.journal()?;
    entries.retain(|entry| entry.at.date_naive() <= day);
    Ok(Shelf::fold_with(&room.catalogue, &entries))
}

fn list(room: &Room, shelf: &Shelf, today: Option<NaiveDate>, out: &mut Out) -> Result<Outcome, Fault> {
    let (today, cautions) = judged_by(today, room.today()?);
    let pieces = shelf.pieces();
    let unknown = pieces.iter().map(|piece| &piece.di).filter(|di| room.catalogue.find(di).is_none());
    let remembered = room.remembered(&unknown.cloned().collect())?;
    let rows = pieces.iter().map(|piece| StockRow {
        remembered: remembered.get(&piece.di).map(remembered_answer),
        ..row(&room.catalogue, shelf, piece, today)
    });
    let answer =
        Listed { rows: rows.collect(), pieces: pieces.iter().map(|piece| u64::from(piece.count)).sum() };
    out.answer(&Cautioned { answer: &answer, cautions: &cautions }, || below(&cautions, &words(&answer)))
}

fn row<'a>(catalogue: &'a Catalogue, on_hand: &Shelf, piece: &'a Piece, today: NaiveDate) -> StockRow<'a> {
    let found = catalogue.find(&piece.di);
    let size = found.and_then(|found| found.size());
    StockRow {
        di: piece.di.as_str(),
        product: found.map(|found| found.product().id.as_str()),
        diameter_mm: size.map(|(diameter, _)| diameter.mm()),
        length_mm: size.map(|(_, length)| length.mm()),
        reference: found.map(|found| found.reference()),
        lot: &piece.lot,
        serial: piece.serial.as_deref(),
        use_by: piece.use_by,
        in_date: piece.in_date(today),
        recalled: on_hand.recalled(Some(&piece.di), &piece.lot),
        shelf: &piece.shelf,
        count: piece.count,
        owner: piece.owner.to_string(),
        remembered: None,
        words: shelf::box_words(piece, catalogue),
    }
}

fn remembered_answer((label, read): &(BoxRead, DateTime<FixedOffset>)) -> Remembered<'_> {
    Remembered { what: label.into(), read: *read }
}

/// What is known of a box that no product file has: never taken for what one would say.
fn unknown_words(row: &StockRow) -> String {
    let Some(Remembered { what: then, read }) = &row.remembered else {
        return format!("{} IN NO PRODUCT FILE", row.di);
    };
    let size = size_words(then.diameter_mm.map(Diameter::from_mm), then.length_mm.map(Length::from_mm));
    let gap = if size.is_empty() { "" } else { " " };
    let reference = then.reference.map(|reference| format!(" ({reference})")).unwrap_or_default();
    format!(
        "{} IN NO PRODUCT FILE; read on {} as {size}{gap}{}{reference}",
        row.di,
        read.format("%F"),
        then.name
    )
}

fn words(answer: &Listed) -> String {
    let line = |row: &StockRow| {
        let what = if row.product.is_some() { row.words.clone() } else { unknown_words(row) };
        let use_by = row.use_by.map_or("no use-by date".into(), |day| format!("use by {day}"));
        let piece = stocked::marks(row.lot, row.serial);
        let expired = if row.in_date { "" } else { "  EXPIRED" };
        let recalled = if row.recalled { "  RECALLED" } else { "" };
        let owner = if row.owner == "own" { String::new() } else { format!("  {}", row.owner) };
        format!("{}: ×{}  {what}  {piece}  {use_by}{expired}{recalled}{owner}", row.shelf, row.count)
    };
    let mut lines: Vec<String> = answer.rows.iter().map(line).collect();
    lines.push(format!("{} in {}", counted(answer.pieces, "piece"), counted(answer.rows.len(), "row")));
    lines.join("\n")
}
