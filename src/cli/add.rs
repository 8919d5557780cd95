//! `boxcall catalogue add`: product files taken into the room's folder, all of them or none.

use super::out::{Came, Out};
use super::sheet::{folder, named};
use crate::catalogue::{self, product, sheet};
use crate::room::{Fault, files};
use crate::units::{by_count, counted};
use clap::Args as Arguments;
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Take product files (TOML or a table) into the room, once they go with those that are there: all or none
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
    /// A folder of product files, instead of the room's
    #[arg(long, value_name = "DIR")]
    catalogue: Option<PathBuf>,
    /// Only check, and tell what would be added
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

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Came, Fault> {
    let folder = folder(args.catalogue.as_deref(), room)?;
    let mut faults = Vec::new();
    let mut after: Vec<(PathBuf, String)> = Vec::new();
    let mut boxes = 0;
    for path in &args.files {
        let (name, text) = (path.display().to_string(), files::text(path)?);
        let read = if is_table(path) {
            sheet::read(&name, &text)
                .map(|files| files.into_iter().map(|file| (file.product, file.text)).collect::<Vec<_>>())
        } else {
            product::read(&name, &text).map(|product| vec![(product, text)])
        };
        match read {
            Err(wrong) => faults.extend(wrong),
            Ok(read) => {
                for (product, text) in read {
                    let sized: usize = product.diameters.iter().map(|platform| platform.boxes.len()).sum();
                    boxes += sized + product.sundries.len();
                    after.push((folder.join(format!("{}.toml", product.id)), text));
                }
            }
        }
    }
    if !faults.is_empty() {
        return Err(Fault::of_files(&faults));
    }
    let mut texts = Vec::new();
    for path in files::products(&folder)? {
        texts.push((path.clone(), files::text(&path)?));
    }
    if let Some((path, _)) = after.iter().find(|(path, _)| texts.iter().any(|(there, _)| there == path)) {
        let message = format!(
            "{}: stands there already, so nothing was added; move it away first, or take another id",
            path.display()
        );
        return Err(Fault::refused("file-exists", message, None));
    }
    // The whole is checked before anything is written: an id or an identifier may belong to another product.
    texts.extend(after.iter().cloned());
    catalogue::read(&named(&texts)).map_err(|faults| Fault::of_files(&faults))?;
    if !args.preview {
        files::replace(&after)?;
    }
    let answer = Answer {
        products: after.len(),
        boxes,
        files: after.iter().map(|(path, _)| path.display().to_string()).collect(),
        written: !args.preview,
    };
    out.answer(&answer, || words(&answer))?;
    Ok(Came::Answered)
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
