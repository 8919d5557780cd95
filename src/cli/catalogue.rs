//! `boxcall catalogue check`: every fault of every product file; `template`, `export` and `load`: products as a table.
//! `add` and `import` are in files of their own.

use super::out::{ErrorWords, Out, Outcome};
use super::products::{Folder, folder};
use crate::catalogue::{Product, sheet};
use crate::intake;
use crate::room::{Fault, Prepared, files};
use crate::units::{by_count, counted};
use clap::{Args as Arguments, Subcommand};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Check, convert and load product files
#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  boxcall catalogue check ./catalogues")]
pub(super) struct Args {
    #[command(subcommand)]
    task: Task,
}

#[derive(Debug, Subcommand)]
enum Task {
    /// Check product files: report every fault with its line
    #[command(after_help = "Example:\n  boxcall catalogue check ./catalogues --json")]
    Check {
        /// The folder of product files [default: the room's]
        dir: Option<PathBuf>,
        /// The same as DIR
        #[arg(long, value_name = "DIR", conflicts_with = "dir")]
        catalogue: Option<PathBuf>,
    },
    Add(super::add::Args),
    Import(super::import::Args),
    /// Print an empty product table (CSV): the columns, and one box as an example
    #[command(after_help = "Example:\n  boxcall catalogue template > products.csv")]
    Template,
    /// Export every box as a table (CSV) for a spreadsheet
    #[command(after_help = "Example:\n  boxcall catalogue export > products.csv")]
    Export(Folder),
    /// Load products from a table (CSV): show what changes, and write all of it or nothing
    #[command(
        after_help = "A product in the table takes the place of the one with its id; others stay. Without --write \
                            nothing is written.\n\nExample:\n  boxcall catalogue load products.csv --write"
    )]
    Load {
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// Write the changes
        #[arg(long)]
        write: bool,
        #[command(flatten)]
        folder: Folder,
    },
}

/// `catalogue check --json`. The counts are 0 where something is at fault: then nothing is taken.
#[derive(Debug, Default, Serialize)]
struct Answer<'a> {
    products: usize,
    boxes: usize,
    guides: usize,
    faults: &'a [intake::FileFault],
    #[serde(skip_serializing_if = "Option::is_none")]
    error: Option<ErrorWords<'a>>,
}

/// `catalogue load --json`.
#[derive(Debug, Serialize)]
struct Loaded<'a> {
    products: usize,
    changes: &'a [String],
    /// False: only looked at.
    written: bool,
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    match &args.task {
        Task::Check { dir, catalogue } => check(&folder(dir.as_deref().or(catalogue.as_deref()), room)?, out),
        Task::Add(args) => super::add::run(args, room, out),
        Task::Import(args) => super::import::run(args, out),
        Task::Template => out.file("csv", &sheet::template()),
        Task::Export(folder) => out.file("csv", &sheet::write(&files::catalogue(&folder.open(room)?)?)),
        Task::Load { file, write, folder } => load(&folder.open(room)?, file, *write, out),
    }
}

fn check(dir: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let catalogue = match files::check_catalogue(dir)? {
        Ok(catalogue) => catalogue,
        Err(faults) => {
            let fault = Fault::of_files(&faults);
            if !out.is_json() {
                return Err(fault);
            }
            let error = Some(ErrorWords::of(&fault));
            out.json(&Answer { faults: &faults, error, ..Answer::default() })?;
            out.aside(&format!("boxcall: {}", fault.message()));
            return Ok(Outcome::AtFault);
        }
    };
    let (products, guides) = (catalogue.products.len(), catalogue.guides.len());
    let boxes = catalogue.products.iter().map(Product::count).sum();
    out.answer(&Answer { products, boxes, guides, ..Answer::default() }, || {
        let [products, boxes, guides] =
            [(products, "product"), (boxes, "box"), (guides, "guide")].map(|(n, of)| counted(n, of));
        let mut text = format!("{products} with {boxes}, {guides}: nothing is wrong");
        let unverified = catalogue.products.iter().filter(|product| !product.verified);
        let unverified: Vec<&str> = unverified.map(|product| product.id.as_str()).collect();
        if !unverified.is_empty() {
            text.push_str(&format!("\nnot checked against the boxes yet: {}", unverified.join(", ")));
        }
        text
    })
}

fn load(folder: &Path, file: &Path, write: bool, out: &mut Out) -> Result<Outcome, Fault> {
    let (products, prepared) = Prepared::of_table(folder, file)?;
    let written = write && prepared.changes();
    if written {
        prepared.write()?;
    }
    let answer = Loaded { products, changes: &prepared.words, written };
    out.answer(&answer, || {
        let count = answer.changes.len();
        let last = match (count, written) {
            (0, _) => format!("{}: nothing changes", counted(products, "product")),
            (_, true) => format!("{} {} written", counted(count, "change"), by_count(count, "is", "are")),
            (_, false) => format!("{}; nothing is written yet: add --write", counted(count, "change")),
        };
        [answer.changes, &[last]].concat().join("\n")
    })
}
