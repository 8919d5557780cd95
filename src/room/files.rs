//! The files of a room, found and read: names and text go to the rooms that understand them.

use super::Fault;
use crate::catalogue::{self, Catalogue, stock::Stock};
use crate::intake;
use crate::policy::{self, Policy};
use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Where the product files stand in a room.
pub const CATALOGUE: &str = "catalogue";
/// The room's protocol.
pub const POLICY: &str = "policy.toml";
/// The journal.
pub const JOURNAL: &str = "journal.db";
/// How far the screens have shown the journal.
pub const SHOWN: &str = "shown";
/// Where the records of cases are written.
pub const RECORDS: &str = "records";

/// Reads one text file.
///
/// # Errors
/// It can't be read (exit status 3), or it is no UTF-8 text (a fault in the file).
pub fn text(path: &Path) -> Result<String, Fault> {
    let bytes = std::fs::read(path).map_err(|error| Fault::cannot_read(path, &error))?;
    String::from_utf8(bytes).map_err(|error| Fault::of_files(&[no_text(path, &error)]))
}

fn no_text(path: &Path, error: &std::string::FromUtf8Error) -> intake::Fault {
    let good = error.utf8_error().valid_up_to();
    let line = error.as_bytes()[..good].iter().filter(|byte| **byte == b'\n').count() + 1;
    let message = format!("this is no UTF-8 text from byte {good} on; save the file as UTF-8");
    intake::Fault { file: path.display().to_string(), line, key: String::new(), message }
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
pub type Checked = Result<Catalogue, Vec<intake::Fault>>;

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
/// It can't be read, or something is wrong in a file: every fault of every file is told.
pub fn catalogue(dir: &Path) -> Result<Catalogue, Fault> {
    check_catalogue(dir)?.map_err(|faults| Fault::of_files(&faults))
}

/// Writes these files, all or none: each is written beside its place first, and put there when all are on the disk.
///
/// # Errors
/// Something can't be written; then every file is as it was.
pub fn replace(files: &[(PathBuf, String)]) -> Result<(), Fault> {
    let beside = |path: &Path| path.with_extension("toml.new");
    let before: Vec<Option<Vec<u8>>> = files.iter().map(|(path, _)| std::fs::read(path).ok()).collect();
    let clear = || {
        for (path, _) in files {
            // What was not made can't be removed; the first error is the one that is told.
            let _ = std::fs::remove_file(beside(path));
        }
    };
    for (path, text) in files {
        let written = std::fs::File::create(beside(path)).and_then(|mut file| {
            std::io::Write::write_all(&mut file, text.as_bytes())?;
            file.sync_all()
        });
        if let Err(error) = written {
            clear();
            return Err(Fault::cannot_write(path, &error));
        }
    }
    for (number, (path, _)) in files.iter().enumerate() {
        if let Err(error) = std::fs::rename(beside(path), path) {
            for ((path, _), before) in files[..number].iter().zip(&before) {
                let _ = match before {
                    Some(bytes) => std::fs::write(path, bytes),
                    None => std::fs::remove_file(path),
                };
            }
            clear();
            return Err(Fault::cannot_write(path, &error));
        }
    }
    Ok(())
}

/// Reads a protocol.
///
/// # Errors
/// It can't be read, or something is wrong in it: every fault is told.
pub fn policy(path: &Path) -> Result<Policy, Fault> {
    policy::read(&path.display().to_string(), &text(path)?).map_err(|faults| Fault::of_files(&faults))
}

/// Reads a stock file.
///
/// # Errors
/// It can't be read, or something is wrong in it: every fault is told.
pub fn stock(path: &Path, catalogue: &Catalogue) -> Result<Stock, Fault> {
    catalogue::stock::read(&path.display().to_string(), &text(path)?, catalogue)
        .map_err(|faults| Fault::of_files(&faults))
}

/// Writes a file whole or not at all: beside its place, brought to the disk, then given its name.
///
/// # Errors
/// It can't be written; what was there before is still there.
pub fn write_whole(path: &Path, text: &str) -> Result<(), Fault> {
    let mut beside = path.as_os_str().to_os_string();
    beside.push(format!(".{}.part", std::process::id()));
    let beside = PathBuf::from(beside);
    let written = File::create(&beside)
        .and_then(|mut file| file.write_all(text.as_bytes()).and_then(|()| file.sync_all()))
        .and_then(|()| std::fs::rename(&beside, path))
        .and_then(|()| sync_folder(path));
    written.map_err(|error| {
        // What is half written is of no use; the error to tell is the first one.
        let _ = std::fs::remove_file(&beside);
        Fault::cannot_write(path, &error)
    })
}

/// The new name of a file is on the disk only when its folder is.
fn sync_folder(path: &Path) -> std::io::Result<()> {
    #[cfg(unix)]
    if let Some(folder) = path.parent() {
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// Writes a few bytes over those that stand in a file, in one go: no moment without them, and no wait for the disk.
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

/// The file that stands at this path, by device and number; none where there is none. Elsewhere than on Unix only
/// whether there is one.
pub(super) fn identity(path: &Path) -> Option<(u64, u64)> {
    let file = std::fs::metadata(path).ok()?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        Some((file.dev(), file.ino()))
    }
    #[cfg(not(unix))]
    {
        Some((0, u64::from(file.is_file())))
    }
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
