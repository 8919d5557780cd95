//! `boxcall stock recall`: a recall list becomes entries; from then on the shelf is marked, and fetch and read-back
//! warn.

use super::out::{Out, Outcome};
use super::stocked::PieceAnswer;
use crate::catalogue::Piece;
use crate::journal::Fact;
use crate::ledger::{self, Query, Traced};
use crate::room::{Fault, Room, files};
use crate::shelf::recall;
use crate::units::counted;
use serde::Serialize;
use std::path::Path;

/// `stock recall --json`.
#[derive(Debug, Serialize)]
struct Answer {
    /// Lots that were recalled by this list; those that had been before are `known`.
    written: usize,
    known: usize,
    /// The first of the journal's entries; null where every lot was known.
    entry: Option<u64>,
    /// Pieces of the list's lots that lie on the shelf.
    on_shelf: Vec<PieceAnswer>,
    /// Boxes that came into a case and are of the list's lots, or may be, as their lot was not read; `trace` tells them
    /// one by one.
    in_cases: usize,
    /// Of those, boxes whose seal was broken.
    opened: usize,
}

pub(super) fn run(dir: &Path, file: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let mut room = Room::open(dir)?;
    let list = recall::read(&file.display().to_string(), &files::text(file)?)
        .map_err(|faults| Fault::of_files(&faults))?;
    let before = room.behind(None)?.reading.shelf;
    let fresh = recall::new_in(&list, before.recalls()).into_iter().cloned();
    let facts: Vec<Fact> = fresh.map(|(di, lot)| Fact::LotRecalled { di, lot }).collect();
    // One command: all lots of the list are recalled, or none.
    let written = if facts.is_empty() { Vec::new() } else { room.write(None, &facts)? };
    let shelf = room.behind(None)?.reading.shelf;
    let queries: Vec<Query> = Query::of_recalls(&list, &room.catalogue).collect();
    let hit = |piece: &&&Piece| queries.iter().any(|query| query.finds_piece(piece));
    let pieces = shelf.pieces();
    let on_shelf = pieces.iter().filter(hit).map(|piece| PieceAnswer::of(piece, &room.catalogue));
    let on_shelf: Vec<PieceAnswer> = on_shelf.collect();
    let entries = match (Query::sought(&queries), room.store()) {
        (Some(sought), Some(store)) => store.entries_with_boxes(&sought)?,
        _ => Vec::new(),
    };
    let in_cases = ledger::trace(&entries, &queries);
    let answer = Answer {
        written: written.len(),
        known: list.len() - facts.len(),
        entry: written.first().map(|entry| entry.seq),
        on_shelf,
        in_cases: in_cases.len(),
        opened: in_cases.iter().filter(|traced| Traced::was_opened(traced)).count(),
    };
    out.answer(&answer, || words(&answer))
}

fn words(answer: &Answer) -> String {
    let entries = match (answer.entry, answer.written as u64) {
        (None, _) => String::new(),
        (Some(entry), 1) => format!(" (entry {entry})"),
        (Some(first), many) => format!(" (entries {first}-{})", first + many - 1),
    };
    let mut lines = vec![match (answer.written, answer.known) {
        (written, 0) => format!("{} recalled{entries}", counted(written, "lot")),
        (written, known) => format!("{} recalled{entries}, {known} had been before", counted(written, "lot")),
    }];
    let pieces: u32 = answer.on_shelf.iter().map(|row| row.count).fold(0, u32::saturating_add);
    lines.push(match pieces {
        0 => "none of them is on the shelf".into(),
        pieces => format!("TAKE OFF THE SHELF: {}", counted(pieces, "piece")),
    });
    lines.extend(answer.on_shelf.iter().map(|piece| format!("  {}", piece.words())));
    lines.push(match answer.in_cases {
        0 => "none of them came into a case of this room".into(),
        all => format!(
            "{} of them, or whose lot nobody read, came into a case, {} opened: see boxcall trace --recalled",
            counted(all, "box"),
            answer.opened
        ),
    });
    lines.join("\n")
}
