//! `boxcall stock recall`: a recall list becomes entries; from then on the shelf is marked, and fetch and read-back
//! warn.

use super::out::{Out, Outcome};
use super::stocked::PieceAnswer;
use crate::journal::{CaseCode, Fact};
use crate::ledger::{Meant, Notice, Traced};
use crate::room::{Fault, files};
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
    /// Pieces on the shelf that may be meant: something is not known, or their lot differs by zeros or look-alikes.
    to_compare: Vec<Doubtful>,
    /// Boxes that came into a case and are of the list's lots, or may be, as their lot was not read; `trace` tells them
    /// one by one.
    in_cases: usize,
    /// Of those, boxes whose seal was broken.
    opened: usize,
    /// The codes of the cases that had a box of the list, each once, oldest first.
    had: Vec<CaseCode>,
    /// The same for boxes that may be of the list.
    may_have_had: Vec<CaseCode>,
    /// So many other boxes came into a case.
    ruled_out: usize,
}

/// Pieces that may be meant, and why that is not sure.
#[derive(Debug, Serialize)]
struct Doubtful {
    #[serde(flatten)]
    piece: PieceAnswer,
    why: String,
}

fn cases(boxes: &[Traced]) -> Vec<CaseCode> {
    let mut cases: Vec<CaseCode> = Vec::new();
    for one in boxes {
        if !cases.contains(&one.case) {
            cases.push(one.case.clone());
        }
    }
    cases
}

pub(super) fn run(dir: &Path, file: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let mut room = out.open(dir)?;
    let list = recall::read(&file.display().to_string(), &files::text(file)?)
        .map_err(|faults| Fault::of_files(&faults))?;
    let before = room.behind(None)?.reading.shelf;
    let fresh = recall::new_in(&list, before.recalls()).into_iter().cloned();
    let facts: Vec<Fact> = fresh.map(|(di, lot)| Fact::LotRecalled { di, lot }).collect();
    // One command: all lots of the list are recalled, or none.
    let written = if facts.is_empty() { Vec::new() } else { room.write(None, &facts)? };
    let shelf = room.behind(None)?.reading.shelf;
    let notices: Vec<Notice> = Notice::of_recalls(&list, &room.catalogue).collect();
    let (mut on_shelf, mut to_compare) = (Vec::new(), Vec::new());
    for piece in shelf.pieces().into_iter().filter(|piece| piece.count > 0) {
        let meant: Vec<Meant> = notices.iter().map(|notice| notice.means_piece(piece)).collect();
        let answer = || PieceAnswer::of(piece, &room.catalogue);
        if meant.contains(&Meant::Yes) {
            on_shelf.push(answer());
        } else if let Some(Meant::Perhaps(why)) = meant.into_iter().find(|one| *one != Meant::No) {
            to_compare.push(Doubtful { piece: answer(), why });
        }
    }
    let found = room.trace(&notices)?;
    let in_cases = found.boxes();
    let answer = Answer {
        written: written.len(),
        known: list.len() - facts.len(),
        entry: written.first().map(|entry| entry.seq),
        on_shelf,
        to_compare,
        in_cases: in_cases.len(),
        opened: in_cases.iter().filter(|traced| traced.was_opened()).count(),
        had: cases(&found.had),
        may_have_had: cases(&found.may_have_had),
        ruled_out: found.ruled_out,
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
    if !answer.to_compare.is_empty() {
        lines.push(format!("COMPARE WITH THE LIST: {}", counted(answer.to_compare.len(), "row")));
        lines.extend(answer.to_compare.iter().map(|one| format!("  {}  [{}]", one.piece.words(), one.why)));
    }
    lines.push(match answer.in_cases {
        0 => "none of them came into a case of this room".into(),
        all => format!(
            "{} of them, or that may be of them, came into a case, {} opened: see boxcall trace --recalled",
            counted(all, "box"),
            answer.opened
        ),
    });
    let codes = |cases: &[CaseCode]| match cases {
        [] => "no case".to_string(),
        cases => cases.iter().map(CaseCode::as_str).collect::<Vec<_>>().join(" "),
    };
    lines.push(format!("HAD IT: {}", codes(&answer.had)));
    lines.push(format!("MAY HAVE HAD IT: {}", codes(&answer.may_have_had)));
    lines.push(format!("ruled out: {}", counted(answer.ruled_out, "other box")));
    lines.join("\n")
}
