//! `boxcall catalogue check`: every fault of every product file; the other tasks stand in files of their own.

use super::out::{Came, ErrorWords, Out};
use super::products::room_dir;
use super::sheet;
use crate::intake;
use crate::room::{Fault, Room, files};
use crate::units::counted;
use clap::{Args as Arguments, Subcommand};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Look after product files
#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  boxcall catalogue check ./catalogues")]
pub(super) struct Args {
    #[command(subcommand)]
    task: Task,
}

#[derive(Debug, Subcommand)]
enum Task {
    /// Tell every fault of every product file, each with its line
    #[command(after_help = "Example:\n  boxcall catalogue check ./catalogues --json")]
    Check {
        /// The folder of product files [default: the room's]
        dir: Option<PathBuf>,
        /// The same
        #[arg(long, value_name = "DIR", conflicts_with = "dir")]
        catalogue: Option<PathBuf>,
    },
    Add(super::add::Args),
    Import(super::import::Args),
    /// Print a table (CSV) to begin with: the columns and one box as an example
    #[command(after_help = "Example:\n  boxcall catalogue template > products.csv")]
    Template,
    /// Print every box as a table (CSV) for a spreadsheet
    #[command(after_help = "Example:\n  boxcall catalogue export > products.csv")]
    Export {
        /// A folder of product files, instead of the room's
        #[arg(long, value_name = "DIR")]
        catalogue: Option<PathBuf>,
    },
    /// Take products from a table (CSV): tells what changes, and writes all of it or nothing
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
        /// A folder of product files, instead of the room's
        #[arg(long, value_name = "DIR")]
        catalogue: Option<PathBuf>,
    },
}

/// `catalogue check --json`. The counts are 0 where something is at fault: then nothing is taken.
#[derive(Debug, Serialize)]
struct Answer<'a> {
    products: usize,
    boxes: usize,
    guides: usize,
    faults: Vec<FaultAnswer<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    error: Option<ErrorWords<'a>>,
}

/// One of its `faults`; `line` from 1, `key` empty where none is meant.
#[derive(Debug, Serialize)]
struct FaultAnswer<'a> {
    file: &'a str,
    line: usize,
    key: &'a str,
    message: &'a str,
}

impl<'a> FaultAnswer<'a> {
    fn of(fault: &'a intake::Fault) -> Self {
        FaultAnswer { file: &fault.file, line: fault.line, key: &fault.key, message: &fault.message }
    }
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Came, Fault> {
    let (dir, catalogue) = match &args.task {
        Task::Check { dir, catalogue } => (dir, catalogue),
        Task::Add(args) => return super::add::run(args, room, out),
        Task::Import(args) => return super::import::run(args, out),
        Task::Template => return sheet::template(out),
        Task::Export { catalogue } => return sheet::export(catalogue.as_deref(), room, out),
        Task::Load { file, write, catalogue } => {
            return sheet::load(file, *write, catalogue.as_deref(), room, out);
        }
    };
    let dir = match dir.as_ref().or(catalogue.as_ref()) {
        Some(dir) => dir.clone(),
        None => {
            let dir = room_dir(room)?;
            if !Room::is_there(&dir) {
                return Err(Fault::no_room(&dir));
            }
            dir.join(files::CATALOGUE)
        }
    };
    match files::check_catalogue(&dir)? {
        Ok(catalogue) => {
            let sized = catalogue.products.iter().flat_map(|product| &product.diameters);
            let sundries: usize = catalogue.products.iter().map(|product| product.sundries.len()).sum();
            let answer = Answer {
                products: catalogue.products.len(),
                boxes: sized.map(|platform| platform.boxes.len()).sum::<usize>() + sundries,
                guides: catalogue.guides.len(),
                faults: Vec::new(),
                error: None,
            };
            let unverified = catalogue.products.iter().filter(|product| !product.verified);
            let unverified: Vec<&str> = unverified.map(|product| product.id.as_str()).collect();
            out.answer(&answer, || {
                let Answer { products, boxes, guides, .. } = answer;
                let [products, boxes, guides] =
                    [(products, "product"), (boxes, "box"), (guides, "guide")].map(|(n, of)| counted(n, of));
                let mut text = format!("{products} with {boxes}, {guides}: nothing is wrong");
                if !unverified.is_empty() {
                    let list = unverified.join(", ");
                    text.push_str(&format!("\nnot checked against the boxes yet: {list}"));
                }
                text
            })?;
            Ok(Came::Answered)
        }
        Err(faults) => {
            let fault = Fault::of_files(&faults);
            if !out.is_json() {
                return Err(fault);
            }
            let list = faults.iter().map(FaultAnswer::of).collect();
            let error = Some(ErrorWords::of(&fault));
            out.json(&Answer { products: 0, boxes: 0, guides: 0, faults: list, error })?;
            out.aside(&format!("boxcall: {}", fault.message()));
            Ok(Came::AtFault)
        }
    }
}
