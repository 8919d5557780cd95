//! The files of a room, found and read: names and text go to the rooms that understand them.

use super::Fault;
use crate::catalogue::{self, Catalogue, stock::Stock};
use crate::intake;
use crate::policy::{self, Policy};
use crate::store::files::{self as disk, SHARED, write_part};
pub use crate::store::files::{PRIVATE, beside};
use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Where the product files are in a room.
pub const CATALOGUE: &str = "catalogue";
/// The room's protocol.
pub const POLICY: &str = "policy.toml";
/// The journal.
pub const JOURNAL: &str = "journal.db";
/// How far the screens have shown the journal.
pub const SHOWN: &str = "shown";
/// There once a scanner has sent the separator of a label in this room.
pub const SCANNER_SEEN: &str = "scanner-seen";
/// Where the records of cases are written.
pub const RECORDS: &str = "records";

/// Reads one text file.
///
/// # Errors
/// It can't be read (exit status 3), or it is not UTF-8 text (a fault in the file).
pub fn text(path: &Path) -> Result<String, Fault> {
    let bytes = std::fs::read(path).map_err(|error| Fault::cannot_read(path, &error))?;
    String::from_utf8(bytes).map_err(|error| Fault::of_files(&[no_text(path, &error)]))
}

fn no_text(path: &Path, error: &std::string::FromUtf8Error) -> intake::FileFault {
    let good = error.utf8_error().valid_up_to();
    let line = error.as_bytes()[..good].iter().filter(|byte| **byte == b'\n').count() + 1;
    let message = format!("not valid UTF-8 from byte {good} on; save the file as UTF-8");
    intake::FileFault { file: path.display().to_string(), line, key: String::new(), message }
}

/// The product files and the guides of a folder, in the order of their names; folders within it are not looked
/// into.
///
/// # Errors
/// The folder or a file in it can't be read.
pub fn products(dir: &Path) -> Result<Vec<PathBuf>, Fault> {
    let failed = |error: std::io::Error| Fault::cannot_read(dir, &error);
    let mut files = Vec::new();
    for entry in std::fs::read_dir(dir).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        if path.extension().is_none_or(|extension| extension != "toml") {
            continue;
        }
        // A link that leads nowhere is a product that would be missing unseen.
        let lies = std::fs::metadata(&path).map_err(|error| Fault::cannot_read(&path, &error))?;
        if lies.is_file() {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

/// What came of reading a folder of product files: a catalogue, or every fault of every file.
pub type Checked = Result<Catalogue, Vec<intake::FileFault>>;

/// Reads a folder of product files and tells every fault.
///
/// # Errors
/// The folder or a file in it can't be read.
pub fn check_catalogue(dir: &Path) -> Result<Checked, Fault> {
    let mut files = Vec::new();
    let mut faults = Vec::new();
    for path in products(dir)? {
        let bytes = std::fs::read(&path).map_err(|error| Fault::cannot_read(&path, &error))?;
        match String::from_utf8(bytes) {
            Ok(text) => files.push((path.display().to_string(), text)),
            Err(error) => faults.push(no_text(&path, &error)),
        }
    }
    let read = catalogue::read(&files);
    if faults.is_empty() {
        return Ok(read);
    }
    faults.extend(read.err().unwrap_or_default());
    Ok(Err(faults))
}

/// Reads a folder of product files.
///
/// # Errors
/// It can't be read, or something is wrong in a file: every fault of every file is reported.
pub fn catalogue(dir: &Path) -> Result<Catalogue, Fault> {
    check_catalogue(dir)?.map_err(|faults| Fault::of_files(&faults))
}

/// Writes these files, all or none: each is written beside its place first, and put there when all are on the disk.
///
/// # Errors
/// Something can't be written; then every file is as it was.
pub fn replace(files: &[(PathBuf, String)]) -> Result<(), Fault> {
    let before: Vec<Option<Vec<u8>>> = files.iter().map(|(path, _)| std::fs::read(path).ok()).collect();
    let mut parts = Vec::new();
    // What is already gone can't be removed; the first error is the one that is reported.
    let clear = |parts: &[PathBuf]| parts.iter().for_each(|part| _ = std::fs::remove_file(part));
    for (path, text) in files {
        match write_part(path, text, SHARED) {
            Ok(part) => parts.push(part),
            Err(error) => {
                clear(&parts);
                return Err(Fault::cannot_write(path, &error));
            }
        }
    }
    for (number, ((path, _), part)) in files.iter().zip(&parts).enumerate() {
        if let Err(error) = std::fs::rename(part, path) {
            for ((path, _), before) in files[..number].iter().zip(&before) {
                let _ = match before {
                    Some(bytes) => std::fs::write(path, bytes),
                    None => std::fs::remove_file(path),
                };
            }
            clear(&parts);
            return Err(Fault::cannot_write(path, &error));
        }
    }
    Ok(())
}

/// Reads a protocol.
///
/// # Errors
/// It can't be read, or something is wrong in it: every fault is reported.
pub fn policy(path: &Path) -> Result<Policy, Fault> {
    policy::read(&path.display().to_string(), &text(path)?).map_err(|faults| Fault::of_files(&faults))
}

/// Reads a stock file.
///
/// # Errors
/// It can't be read, or something is wrong in it: every fault is reported.
pub fn stock(path: &Path, catalogue: &Catalogue) -> Result<Stock, Fault> {
    catalogue::stock::read(&path.display().to_string(), &text(path)?, catalogue)
        .map_err(|faults| Fault::of_files(&faults))
}

/// Writes a file whole or not at all: beside its place, brought to the disk, then given its name.
///
/// # Errors
/// It can't be written; what was there before is still there.
pub fn write_whole(path: &Path, text: &str) -> Result<(), Fault> {
    disk::write_whole(path, text, SHARED).map_err(|error| Fault::cannot_write(path, &error))
}

/// The same for what holds what the journal holds: for its owner's eyes only, as the journal is.
///
/// # Errors
/// It can't be written; what was there before is still there.
pub fn write_private(path: &Path, text: &str) -> Result<(), Fault> {
    disk::write_whole(path, text, PRIVATE).map_err(|error| Fault::cannot_write(path, &error))
}

/// Writes a few bytes over those that are in a file, in one go: no moment without them, and no wait for the disk.
/// It outlives the program, not the power. The text has the same length each time.
pub(super) fn write_over(path: &Path, text: &str) -> std::io::Result<()> {
    File::options().write(true).create(true).truncate(false).open(path)?.write_all(text.as_bytes())
}

/// Catalogue and protocol, each empty where it is at fault.
pub(super) fn furniture_past_faults(dir: &Path) -> (Arc<Catalogue>, Arc<Policy>) {
    let (products, protocol) = (dir.join(CATALOGUE), dir.join(POLICY));
    let catalogue = catalogue(&products).unwrap_or_default();
    let policy = policy(&protocol).unwrap_or_default();
    (Arc::new(catalogue), Arc::new(policy))
}

/// Catalogue and protocol: the faults of both, so that one run tells all.
pub(super) fn furniture(dir: &Path) -> Result<(Arc<Catalogue>, Arc<Policy>), Fault> {
    let (products, protocol) = (dir.join(CATALOGUE), dir.join(POLICY));
    let catalogue = if products.is_dir() { check_catalogue(&products)? } else { Ok(Catalogue::default()) };
    let policy = if protocol.exists() {
        policy::read(&protocol.display().to_string(), &text(&protocol)?)
    } else {
        Ok(Policy::default())
    };
    match (catalogue, policy) {
        (Ok(catalogue), Ok(policy)) => Ok((Arc::new(catalogue), Arc::new(policy))),
        (catalogue, policy) => {
            let mut faults = catalogue.err().unwrap_or_default();
            faults.extend(policy.err().unwrap_or_default());
            Err(Fault::of_files(&faults))
        }
    }
}
