//! `boxcall catalogue import`: product files out of the public device database's release.

use super::bar::Bar;
use super::out::{Out, Outcome};
use crate::catalogue::import::{Count, Import, Imported, Note, Part, ProductCode};
use crate::room::{Fault, release};
use crate::units::{by_count, counted};
use clap::Args as Arguments;
use serde::Serialize;
use std::path::PathBuf;

/// Convert a release of the public device database to product files; no room is changed
#[derive(Debug, Arguments)]
#[command(
    after_help = "DIR holds device.txt, deviceSizes.txt, productCodes.txt and identifiers.txt. A size is read where \
                        it is certain; every other wanted row stands in import-report.csv with its reason. Products \
                        come out unverified, without pressures, charts and limits.\n\n\
                        Example:\n  boxcall catalogue import ./release --into ./imported\n  \
                        boxcall catalogue import ./release --into ./imported --code NIQ --code LOX=semi-compliant-balloon"
)]
pub(super) struct Args {
    /// The folder of the unpacked release
    #[arg(value_name = "DIR")]
    release: PathBuf,
    /// A new or empty folder for the product files and the report
    #[arg(long, value_name = "DIR")]
    into: PathBuf,
    /// A product code, or CODE=KIND [default: the codes of coronary stents and balloons, NIQ MAF LOX]
    #[arg(long, value_name = "CODE")]
    code: Vec<String>,
    /// Include boxes that are no longer sold; without it they are only listed in the report
    #[arg(long)]
    discontinued: bool,
}

/// `catalogue import --json`. `devices` counts the rows of device.txt.
#[derive(Debug, Serialize)]
struct Answer<'a> {
    products: usize,
    boxes: usize,
    /// Devices kept out because they are no longer sold.
    no_longer_sold: usize,
    files: Vec<FileCount>,
    notes: &'a [Note],
}

/// One file of the release; `rows` is the sum of the other three.
#[derive(Debug, Serialize)]
struct FileCount {
    file: Part,
    #[serde(flatten)]
    count: Count,
}

pub(super) fn run(args: &Args, out: &mut Out) -> Result<Outcome, Fault> {
    let codes = args.code.iter().map(|text| ProductCode::parse(text)).collect::<Result<Vec<_>, _>>();
    let mut codes = codes.map_err(Fault::bad_input)?;
    if codes.is_empty() {
        codes = ProductCode::all();
    }
    let mut bar = Bar::new(out.is_json());
    let mut import = Import::new(codes);
    if args.discontinued {
        import = import.with_discontinued();
    }
    let imported = release::read_into(import, &args.release, |done, total| bar.show(done, total))?;
    bar.end();
    release::write(&args.into, &imported)?;
    let answer = answer(&imported);
    out.answer(&answer, || words(&answer, args))?;
    Ok(Outcome::answered(answer.boxes > 0))
}

fn answer(imported: &Imported) -> Answer<'_> {
    let files = Part::ALL.iter().map(|part| FileCount { file: *part, count: imported.report.count(*part) });
    Answer {
        products: imported.files.len(),
        boxes: imported.boxes,
        no_longer_sold: imported.no_longer_sold(),
        files: files.collect(),
        notes: &imported.report.notes,
    }
}

fn words(answer: &Answer, args: &Args) -> String {
    let mut lines = vec![format!(
        "{} with {} {} in {}, none of them checked against the boxes yet",
        counted(answer.products, "product"),
        counted(answer.boxes, "box"),
        by_count(answer.products, "is", "are"),
        args.into.display()
    )];
    for FileCount { file, count: Count { rows, read, doubtful, skipped } } in &answer.files {
        lines.push(format!(
            "{file}: {}: {read} read, {doubtful} doubtful, {skipped} skipped",
            counted(*rows, "row")
        ));
    }
    let notes = answer.notes.len();
    lines.push(format!(
        "{} with {} {} in import-report.csv",
        counted(notes, "row"),
        by_count(notes, "its reason", "their reasons"),
        by_count(notes, "is", "are")
    ));
    if answer.no_longer_sold > 0 {
        let many = answer.no_longer_sold;
        lines.push(format!(
            "{} {} kept out: no longer sold; --discontinued takes {} as well",
            counted(many, "device"),
            by_count(many, "is", "are"),
            by_count(many, "it", "them")
        ));
    }
    lines.push(
        "Pressures, charts, limits and guides are not in the release: verdicts that need them are unknown"
            .into(),
    );
    lines.join("\n")
}
