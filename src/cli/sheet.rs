//! `boxcall catalogue template`, `catalogue export` and `catalogue load`: products as a table.

use super::Came;
use super::out::Out;
use super::products::room_dir;
use crate::catalogue::sheet::{self, File};
use crate::catalogue::{self, Catalogue};
use crate::room::{Fault, Room, files};
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
    out.answer(&Text { csv: &csv }, || csv.clone())?;
    Ok(Came::Answered)
}

pub(super) fn export(dir: Option<&Path>, room: Option<&Path>, out: &mut Out) -> Result<Came, Fault> {
    let catalogue = files::catalogue(&folder(dir, room)?)?;
    let csv = sheet::write(&catalogue);
    out.answer(&Text { csv: &csv }, || csv.clone())?;
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
    room: Option<&Path>,
    out: &mut Out,
) -> Result<Came, Fault> {
    let folder = folder(dir, room)?;
    let name = file.display().to_string();
    let read = sheet::read(&name, &files::text(file)?).map_err(|faults| Fault::of_files(&faults))?;
    let (old, after) = merged(&folder, &read)?;
    let changes = sheet::changes(&old, &read);
    if write && !changes.is_empty() {
        files::replace(&after)?;
    }
    let answer = Loaded { products: read.len(), changes: &changes, written: write && !changes.is_empty() };
    out.answer(&answer, || words(&answer))?;
    Ok(Came::Answered)
}

/// The catalogue as it is, and the files to write: a product keeps the file that it has.
fn merged(folder: &Path, read: &[File]) -> Result<(Catalogue, Vec<(PathBuf, String)>), Fault> {
    let mut texts = Vec::new();
    for path in files::products(folder)? {
        texts.push((path.clone(), files::text(&path)?));
    }
    let old = catalogue::read(&named(&texts)).map_err(|faults| Fault::of_files(&faults))?;
    let mut after = Vec::new();
    for file in read {
        let id = &file.product.id;
        let own = |(path, text): &(PathBuf, String)| {
            let product = catalogue::product::read(&path.display().to_string(), text);
            product.is_ok_and(|product| product.id == *id)
        };
        let path = texts.iter().find(|text| own(text)).map(|(path, _)| path.clone());
        after.push((path.unwrap_or_else(|| folder.join(format!("{id}.toml"))), file.text.clone()));
    }
    // The whole is checked before anything is written: an identifier may belong to another product.
    texts.retain(|(path, _)| after.iter().all(|(other, _)| other != path));
    texts.extend(after.iter().cloned());
    catalogue::read(&named(&texts)).map_err(|faults| Fault::of_files(&faults))?;
    Ok((old, after))
}

/// As the catalogue takes them: a file's name and its text.
pub(super) fn named(texts: &[(PathBuf, String)]) -> Vec<(String, String)> {
    texts.iter().map(|(path, text)| (path.display().to_string(), text.clone())).collect()
}

fn words(answer: &Loaded) -> String {
    let mut lines: Vec<String> = answer.changes.to_vec();
    lines.push(match (answer.changes.len(), answer.written) {
        (0, _) => format!("{} products: nothing changes", answer.products),
        (count, true) => format!("{count} changes are written"),
        (count, false) => format!("{count} changes; nothing is written yet: add --write"),
    });
    lines.join("\n")
}
