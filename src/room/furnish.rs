//! An empty room is furnished: what would be laid is read and checked first, shown, and written when somebody says so.

use super::folder::{absent, make};
use super::{Fault, Room, files};
use crate::catalogue::import::Imported;
use crate::catalogue::sheet::{self, File};
use crate::catalogue::{self, Catalogue, Piece, standard_guides};
use crate::policy;
use crate::units::{by_count, counted};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// The file that says that a scanner here has sent a separator. It is a fact of the machine and of no case: the
/// journal keeps what happened to boxes.
/// What became of every row of a release that was not simply read.
const REPORT: &str = "import-report.csv";
/// How many notes of a release are reported one by one.
const NOTES: usize = 12;

/// Which of a room's files are there, as far as catalogue and journal do not say it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Furniture {
    /// The room's folder.
    pub dir: String,
    /// A protocol of its own is there.
    pub policy: bool,
    /// A scanner was once seen to send the separator of a label.
    pub scanner: bool,
}

/// Files that would be written, checked together with those that are there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Prepared {
    /// What would change, one a line; empty where nothing would.
    pub words: Vec<String>,
    files: Vec<(PathBuf, String)>,
    /// What was in each of them when they were looked at.
    before: Vec<Option<Vec<u8>>>,
}

impl Prepared {
    fn new(words: Vec<String>, files: Vec<(PathBuf, String)>) -> Self {
        let before = files.iter().map(|(path, _)| std::fs::read(path).ok()).collect();
        Prepared { words, files, before }
    }

    /// What products of a table (CSV), and so many of them, change in a folder of product files. Nothing is written where
    /// nothing changes.
    ///
    /// # Errors
    /// The table or the folder can't be read, or something is wrong in either: every fault, with its line.
    pub fn of_table(folder: &Path, table: &Path) -> Result<(usize, Self), Fault> {
        let name = table.display().to_string();
        let read = sheet::read(&name, &files::text(table)?).map_err(|faults| Fault::of_files(&faults))?;
        let (old, mut after) = merged(folder, &read)?;
        let changes = sheet::changes(&old, &read);
        if changes.is_empty() {
            after.clear();
        }
        Ok((read.len(), Prepared::new(changes, after)))
    }

    /// Writes all of it or nothing.
    ///
    /// # Errors
    /// A file has changed since it was looked at, or can't be written.
    pub fn write(&self) -> Result<(), Fault> {
        for ((path, _), before) in self.files.iter().zip(&self.before) {
            if std::fs::read(path).ok() != *before {
                let path = path.display();
                let message =
                    format!("{path}: has changed since it was looked at; nothing is written: look again");
                return Err(Fault::refused("file-changed", message, None));
            }
        }
        files::replace(&self.files)
    }

    /// Whether there is anything to write.
    pub fn changes(&self) -> bool {
        !self.files.is_empty()
    }
}

impl Room {
    /// Which of its files are there.
    pub fn furniture(&self) -> Furniture {
        Furniture {
            dir: self.dir.display().to_string(),
            policy: self.dir.join(files::POLICY).exists(),
            scanner: self.dir.join(files::SCANNER_SEEN).exists(),
        }
    }

    fn products(&self) -> PathBuf {
        self.dir.join(files::CATALOGUE)
    }

    /// The file of guide catheters, with the bores that are common.
    ///
    /// # Errors
    /// It is there already.
    pub fn prepare_guides(&self) -> Result<Prepared, Fault> {
        let path = self.products().join(catalogue::GUIDES);
        absent(&path)?;
        let text = standard_guides();
        let lines = text.lines().filter(|line| !line.trim().is_empty());
        Ok(Prepared::new(lines.map(String::from).collect(), vec![(path, text)]))
    }

    /// The protocol with every default and its source.
    ///
    /// # Errors
    /// It is there already.
    pub fn prepare_policy(&self) -> Result<Prepared, Fault> {
        let path = self.dir.join(files::POLICY);
        absent(&path)?;
        let text = policy::commented();
        Ok(Prepared::new(text.lines().map(String::from).collect(), vec![(path, text)]))
    }

    /// Products out of a table (CSV).
    ///
    /// # Errors
    /// It can't be read, or something is wrong in it or beside what is there: every fault, with its line.
    pub fn prepare_products(&self, table: &Path) -> Result<Prepared, Fault> {
        Ok(Prepared::of_table(&self.products(), table)?.1)
    }

    /// Products out of a release that has been read, and the report of its rows.
    ///
    /// # Errors
    /// A file of that name is there, or a product does not go with those that are there.
    pub fn prepare_release(&self, imported: &Imported) -> Result<Prepared, Fault> {
        let products = imported.files.iter().map(|file| (file.name.clone(), file.text.clone()));
        let mut after = added(&self.products(), products)?;
        let report = &imported.report;
        let mut words = vec![format!(
            "{} with {}, none of them checked against the boxes yet",
            counted(imported.files.len(), "product"),
            counted(imported.boxes, "box")
        )];
        words.extend(report.notes.iter().take(NOTES).map(ToString::to_string));
        if report.notes.len() > NOTES {
            words.push({
                let more = report.notes.len() - NOTES;
                format!("{} {} in {REPORT}", counted(more, "more row"), by_count(more, "stands", "stand"))
            });
        }
        if imported.files.is_empty() {
            return Ok(Prepared::new(words, Vec::new()));
        }
        after.push((self.dir.join(REPORT), report.csv()));
        Ok(Prepared::new(words, after))
    }

    /// A stock file: where it came from, its pieces, and its cautions in words.
    ///
    /// # Errors
    /// It can't be read, or something is wrong in it: every fault, with its line.
    pub fn look_at_stock(&self, path: &Path) -> Result<(String, Vec<Piece>, Vec<String>), Fault> {
        let stock = files::stock(path, &self.catalogue)?;
        let from = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
        let cautions = stock.cautions.into_iter().map(|caution| caution.message).collect();
        Ok((from, stock.pieces, cautions))
    }

    /// Writes what was prepared, all of it or nothing, and reads the room's files again.
    ///
    /// # Errors
    /// A file has changed since it was looked at, or can't be written.
    pub fn lay(&mut self, prepared: &Prepared) -> Result<(), Fault> {
        make(&self.products())?;
        prepared.write()?;
        (self.catalogue, self.policy) = files::furniture(&self.dir)?;
        Ok(())
    }

    /// Remembers that a scanner has sent the separator of a label here.
    ///
    /// # Errors
    /// The folder can't be written.
    pub fn mark_scanner(&self) -> Result<(), Fault> {
        let text = format!("{}: a scanner sent the separator of a label here.\n", self.now().to_rfc3339());
        files::write_whole(&self.dir.join(files::SCANNER_SEEN), &text)
    }
}

fn texts(folder: &Path) -> Result<Vec<(PathBuf, String)>, Fault> {
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    files::products(folder)?.into_iter().map(|path| Ok((path.clone(), files::text(&path)?))).collect()
}

/// The catalogue that these files would be, and beside each product the number of its file.
fn whole(texts: &[(PathBuf, String)]) -> Result<(Catalogue, Vec<usize>), Fault> {
    let named: Vec<_> = texts.iter().map(|(path, text)| (path.display().to_string(), text.clone())).collect();
    catalogue::read_with_files(&named).map_err(|faults| Fault::of_files(&faults))
}

/// The files to write for new product files, each a name and its text: the whole is checked before anything is
/// written, as an id or an identifier may belong to another product.
///
/// # Errors
/// A file of that name is there, the folder can't be read, or the whole would be at fault: every fault is reported.
pub fn added(
    folder: &Path,
    files: impl Iterator<Item = (String, String)>,
) -> Result<Vec<(PathBuf, String)>, Fault> {
    let after: Vec<_> = files.map(|(name, text)| (folder.join(name), text)).collect();
    after.iter().try_for_each(|(path, _)| absent(path))?;
    whole(&[texts(folder)?, after.clone()].concat())?;
    Ok(after)
}

/// The catalogue of a folder as it is, and the files to write for these products: a product keeps the file that it
/// has.
fn merged(folder: &Path, read: &[File]) -> Result<(Catalogue, Vec<(PathBuf, String)>), Fault> {
    let mut texts = texts(folder)?;
    let (old, numbers) = whole(&texts)?;
    let own: HashMap<&str, usize> =
        old.products.iter().map(|product| product.id.as_str()).zip(numbers).collect();
    let mut after = Vec::new();
    let mut new = Vec::new();
    for File { product, text } in read {
        let number = own.get(product.id.as_str());
        let path = number.map_or_else(|| folder.join(product.file()), |number| texts[*number].0.clone());
        match number {
            Some(number) => texts[*number].1.clone_from(text),
            None => new.push((path.clone(), text.clone())),
        }
        after.push((path, text.clone()));
    }
    texts.extend(new);
    whole(&texts)?;
    Ok((old, after))
}
