//! `boxcall catalogue add`: product files taken into the room's folder, all of them or none.

use super::out::{Out, Outcome};
use super::products::Folder;
use crate::catalogue::product;
use crate::catalogue::sheet::{self, File};
use crate::room::{self, Fault, files};
use crate::units::{by_count, counted};
use clap::Args as Arguments;
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Add product files (TOML or CSV) to the room after checking them with those already there: all or none
#[derive(Debug, Arguments)]
#[command(
    after_help = "Each file becomes ID.toml in the folder. A product whose id is there already is refused: `catalogue \
                        load` replaces products by a table.\n\n\
                        Example:\n  boxcall catalogue add ./imported/*.toml\n  boxcall catalogue add products.csv"
)]
pub(super) struct Args {
    /// Product files (*.toml) or tables (*.csv)
    #[arg(value_name = "FILE", required = true)]
    files: Vec<PathBuf>,
    #[command(flatten)]
    folder: Folder,
    /// Only check, and show what would be added
    #[arg(long)]
    preview: bool,
}

/// `catalogue add --json`.
#[derive(Debug, Serialize)]
struct Answer {
    products: usize,
    boxes: usize,
    /// The files that are there now, or would be.
    files: Vec<String>,
    /// False: only looked at.
    written: bool,
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    let folder = args.folder.open(room)?;
    let mut faults = Vec::new();
    let mut read = Vec::new();
    for path in &args.files {
        let (name, text) = (path.display().to_string(), files::text(path)?);
        if is_table(path) {
            sheet::read(&name, &text).map_or_else(|wrong| faults.extend(wrong), |files| read.extend(files));
        } else {
            match product::read(&name, &text) {
                Ok(product) => read.push(File { product, text }),
                Err(wrong) => faults.extend(wrong),
            }
        }
    }
    if !faults.is_empty() {
        return Err(Fault::of_files(&faults));
    }
    let boxes = read.iter().map(|file| file.product.count()).sum();
    let after = room::added(&folder, read.into_iter().map(|file| (file.product.file(), file.text)))?;
    if !args.preview {
        files::replace(&after)?;
    }
    let answer = Answer {
        products: after.len(),
        boxes,
        files: after.iter().map(|(path, _)| path.display().to_string()).collect(),
        written: !args.preview,
    };
    out.answer(&answer, || words(&answer))
}

fn is_table(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("csv"))
}

fn words(answer: &Answer) -> String {
    let Answer { products, boxes, files, written } = answer;
    let what = format!("{} with {}", counted(*products, "product"), counted(*boxes, "box"));
    let mut lines = files.clone();
    lines.push(if *written {
        format!("{what} {} added", by_count(*products, "is", "are"))
    } else {
        format!("{what} would be added; nothing is written")
    });
    lines.join("\n")
}
