//! `boxcall catalogue template`, `catalogue export` and `catalogue load`: products as a table.

use super::out::{Came, Out, Reader};
use super::products::room_dir;
use crate::catalogue::sheet;
use crate::room::{self, Fault, Room, files};
use crate::units::{by_count, counted};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// A text for another program, `catalogue template --json` and `catalogue export --json`.
#[derive(Debug, Serialize)]
struct Text<'a> {
    csv: &'a str,
}

/// `catalogue load --json`.
#[derive(Debug, Serialize)]
struct Loaded<'a> {
    products: usize,
    changes: &'a [String],
    /// False: only looked at.
    written: bool,
}

pub(super) fn template(out: &mut Out) -> Result<Came, Fault> {
    let csv = sheet::template();
    out.answer_for(Reader::Boxcall, &Text { csv: &csv }, || csv.clone())?;
    Ok(Came::Answered)
}

pub(super) fn export(dir: Option<&Path>, room: Option<&Path>, out: &mut Out) -> Result<Came, Fault> {
    let catalogue = files::catalogue(&folder(dir, room)?)?;
    let csv = sheet::write(&catalogue);
    out.answer_for(Reader::Boxcall, &Text { csv: &csv }, || csv.clone())?;
    Ok(Came::Answered)
}

pub(super) fn folder(dir: Option<&Path>, room: Option<&Path>) -> Result<PathBuf, Fault> {
    if let Some(dir) = dir {
        return Ok(dir.into());
    }
    let dir = room_dir(room)?;
    if Room::is_there(&dir) { Ok(dir.join(files::CATALOGUE)) } else { Err(Fault::no_room(&dir)) }
}

pub(super) fn load(
    file: &Path,
    write: bool,
    dir: Option<&Path>,
    room_dir: Option<&Path>,
    out: &mut Out,
) -> Result<Came, Fault> {
    let folder = folder(dir, room_dir)?;
    let name = file.display().to_string();
    let read = sheet::read(&name, &files::text(file)?).map_err(|faults| Fault::of_files(&faults))?;
    let (old, after) = room::merged(&folder, &read)?;
    let changes = sheet::changes(&old, &read);
    if write && !changes.is_empty() {
        files::replace(&after)?;
    }
    let answer = Loaded { products: read.len(), changes: &changes, written: write && !changes.is_empty() };
    out.answer(&answer, || words(&answer))?;
    Ok(Came::Answered)
}

/// As the catalogue takes them: a file's name and its text.
pub(super) fn named(texts: &[(PathBuf, String)]) -> Vec<(String, String)> {
    texts.iter().map(|(path, text)| (path.display().to_string(), text.clone())).collect()
}

fn words(answer: &Loaded) -> String {
    let mut lines: Vec<String> = answer.changes.to_vec();
    lines.push(match (answer.changes.len(), answer.written) {
        (0, _) => format!("{}: nothing changes", counted(answer.products, "product")),
        (count, true) => format!("{} {} written", counted(count, "change"), by_count(count, "is", "are")),
        (count, false) => format!("{}; nothing is written yet: add --write", counted(count, "change")),
    });
    lines.join("\n")
}
