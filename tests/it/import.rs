//! The importer against an invented release whose truth is known.
//!
//! Outside: tests/reference/release.py wrote the files and truth.tsv, and shares nothing with the program. Column names
//! as the loaders of three public repositories have them.

use crate::program::boxcall;
use boxcall::catalogue::import::{Count, Import, Imported, Outcome, Part, ProductCode};
use boxcall::catalogue::{self, Catalogue, Found};
use boxcall::fit::judge;
use boxcall::lesion::{Measurements, Reading, check};
use boxcall::measure::{Kind, Method};
use boxcall::policy::Policy;
use boxcall::room::release;
use boxcall::udi::DeviceId;
use boxcall::units::{Diameter, Length};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

fn dir() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/release")
}

fn imported() -> Imported {
    release::read(&dir(), ProductCode::all(), |_, _| {}).expect("the release can be read")
}

fn loaded(imported: &Imported) -> Catalogue {
    let files: Vec<(String, String)> =
        imported.files.iter().map(|file| (file.name.clone(), file.text.clone())).collect();
    catalogue::read(&files).unwrap_or_else(|faults| panic!("{}", faults[0]))
}

/// One device as release.py made it.
struct Truth {
    state: String,
    kind: Kind,
    diameter: f64,
    length: f64,
    reference: String,
    further: Option<String>,
    dirt: String,
}

fn truth() -> HashMap<String, Truth> {
    let text = std::fs::read_to_string(dir().join("truth.tsv")).expect("release.py wrote the truth");
    let rows = text.lines().skip(1).map(|line| {
        let cells: Vec<&str> = line.split('\t').collect();
        let truth = Truth {
            state: cells[1].into(),
            kind: Kind::from_name(cells[2]).unwrap(),
            diameter: cells[3].parse().unwrap(),
            length: cells[4].parse().unwrap(),
            reference: cells[5].into(),
            further: Some(cells[6]).filter(|cell| !cell.is_empty()).map(String::from),
            dirt: cells[7].into(),
        };
        (cells[0].to_string(), truth)
    });
    rows.collect()
}

#[test]
fn what_is_read_is_right_and_nothing_else_is_read() {
    let (truth, imported) = (truth(), imported());
    let catalogue = loaded(&imported);
    let mut wrong = Vec::new();
    let mut read = 0;
    let packs = catalogue.products.iter().flat_map(|product| &product.diameters).flat_map(|row| &row.boxes);
    for di in packs.flat_map(|pack| &pack.di) {
        let Some(Found::Sized { product, platform, pack }) = catalogue.find(di) else { panic!("{di}") };
        let own = truth.get(di.as_str());
        let further = || truth.values().find(|truth| truth.further.as_deref() == Some(di.as_str()));
        let Some(known) = own.or_else(further) else {
            wrong.push(format!("{di} is no box of the truth"));
            continue;
        };
        read += usize::from(own.is_some());
        let said = (product.kind, platform.diameter.mm(), pack.length.mm(), pack.reference.as_str());
        let meant = (known.kind, known.diameter, known.length, known.reference.as_str());
        if said != meant || known.state != "readable" || product.verified {
            wrong.push(format!("{di} ({}, {}): {said:?} for {meant:?}", known.state, known.dirt));
        }
    }
    let readable = truth.values().filter(|truth| truth.state == "readable").count();
    let missed = truth.iter().filter(|(di, truth)| {
        truth.state == "readable" && catalogue.find(&DeviceId::parse(di).unwrap()).is_none()
    });
    let mut missed: Vec<String> = missed.map(|(di, truth)| format!("{di} {}", truth.dirt)).collect();
    missed.sort();
    println!(
        "{read} of {readable} readable sizes are read right ({:.2} %)",
        100.0 * read as f64 / readable as f64
    );
    assert!(wrong.is_empty(), "{} read wrong:\n{}", wrong.len(), wrong.join("\n"));
    assert!(read as f64 >= 0.95 * readable as f64, "{read} of {readable}; missed:\n{}", missed.join("\n"));
}

/// Shelves hold boxes that are no longer sold.
#[test]
fn discontinued_boxes_are_kept_out_and_said_or_taken_on_request() {
    let (truth, kept_out) = (truth(), imported());
    let gone = truth.values().filter(|truth| truth.state == "discontinued").count();
    assert!(gone > 50 && kept_out.no_longer_sold() == gone, "{} of {gone}", kept_out.no_longer_sold());
    let all =
        release::read_into(Import::new(ProductCode::all()).with_discontinued(), &dir(), |_, _| {}).unwrap();
    assert_eq!(all.no_longer_sold(), 0);
    let catalogue = loaded(&all);
    let mut read = 0;
    for (di, known) in truth.iter().filter(|(_, known)| known.state == "discontinued") {
        let Some(found) = catalogue.find(&DeviceId::parse(di).unwrap()) else { continue };
        let size = found.size().map(|(diameter, length)| (diameter.mm(), length.mm()));
        assert_eq!(size, Some((known.diameter, known.length)), "{di} {}", known.dirt);
        read += 1;
    }
    assert!(f64::from(read) > 0.8 * gone as f64, "{read} of {gone}");
}

#[test]
fn the_counts_add_up_to_the_rows() {
    let imported = imported();
    for part in Part::ALL {
        let text = std::fs::read(dir().join(part.name())).unwrap();
        let lines = text.split(|byte| *byte == b'\n').filter(|line| !line.trim_ascii().is_empty()).count();
        let Count { rows, read, doubtful, skipped } = imported.report.count(*part);
        assert_eq!(rows, lines as u64 - 1, "{part}");
        assert_eq!(read + doubtful + skipped, rows, "{part}");
        let noted = |outcome| {
            let notes = imported.report.notes.iter().filter(|note| note.part == *part);
            notes.filter(|note| note.outcome == outcome).count() as u64
        };
        assert_eq!(noted(Outcome::Doubtful), doubtful, "{part}: every doubtful row is listed");
        assert!(noted(Outcome::Skipped) <= skipped);
        assert!(rows > 5_000, "{part} has {rows} rows");
    }
    let devices = imported.report.count(Part::Devices);
    assert_eq!(devices.read, imported.boxes as u64, "one row is one box here");
    assert!(imported.report.notes.iter().all(|note| note.line > 1 && !note.reason.is_empty()));
}

/// What the database does not hold is not known, and a verdict that needs it says so.
#[test]
fn verdicts_are_unknown_where_the_release_is_silent() {
    let catalogue = loaded(&imported());
    let policy = Policy::default();
    let mm = |value| Some(Reading::One(Diameter::from_mm(value)));
    let measured = Measurements {
        method: Some(Method::Oct),
        distal_lumen: mm(2.6),
        distal_eem: mm(3.0),
        proximal_lumen: mm(3.5),
        proximal_eem: mm(4.0),
        length: Some(Length::from_mm(20.0)),
        ..Measurements::default()
    };
    let lesion = check(&measured, &policy, &[]).expect("these measures are believable");
    let judged =
        judge(&catalogue, &[Kind::DrugElutingStent], &lesion, &policy, None, "2026-11-25".parse().unwrap());
    let asked: Vec<_> =
        judged.sizes.iter().filter(|size| size.diameter.mm() == 3.0 && size.length.mm() >= 20.0).collect();
    assert!(asked.len() > 10);
    assert!(asked.iter().all(|size| size.verdict.name() == "unknown" && size.deploy.is_none()));
}

fn fed(devices: &[&str], sizes: &[&str]) -> Imported {
    let mut import = Import::new(ProductCode::all());
    let rows: [(Part, &str, &[&str]); 4] = [
        (Part::Codes, "PrimaryDI|productCode", &["09521001275293|NIQ"]),
        (
            Part::Devices,
            "companyName|PRIMARY DI|brandName|versionModelNumber|catalogNumber|deviceCommDistributionStatus",
            devices,
        ),
        (Part::Sizes, "PrimaryDI|sizeType|sizeUnit|sizeValue|sizeText", sizes),
        (Part::Identifiers, "PrimaryDI|deviceId|deviceIdType", &[]),
    ];
    for (part, header, lines) in rows {
        import.header(part, header.as_bytes()).unwrap();
        for (number, line) in lines.iter().enumerate() {
            import.row(line.as_bytes(), number as u64 + 2);
        }
    }
    import.settle()
}

#[test]
fn columns_may_stand_in_another_order_and_a_doubt_names_its_line() {
    let device = "Lowfell|09521001275293|Fell|Mk 2|FL27529|In Commercial Distribution";
    let typed = ["09521001275293|Length|Millimeter|29|", "09521001275293|Outer Diameter|Millimeter|2.75|"];
    let read = fed(&[device], &typed);
    assert_eq!((read.boxes, read.files.len()), (1, 1));
    assert_eq!(read.files[0].name, "lowfell-fell.toml");
    let torn = fed(&[device], &[typed[0], "09521001275293|Outer Diameter|Millimeter|28|"]);
    assert_eq!(torn.boxes, 0);
    let notes: Vec<String> = torn.report.notes.iter().map(ToString::to_string).collect();
    assert_eq!(
        notes,
        [
            "device.txt:2: 09521001275293: doubtful: no diameter is certain",
            "deviceSizes.txt:3: 09521001275293: doubtful: no labelled diameter is believed to be that",
        ]
    );
}

/// Only a file that says it is unverified may lack both pressures, and it may not lack one of them.
#[test]
fn a_verified_product_needs_its_pressures() {
    let text = |verified: bool, pressures: &str| {
        format!(
            "schema = 1\nid = \"fell\"\nname = \"Fell\"\nmaker = \"Lowfell\"\nkind = \"drug-eluting stent\"\n\
             material = \"steel\"\nshaft_cm = 145\nwire_in = 0.014\nverified = {verified}\n[[diameter]]\nmm = 2.75\n\
             {pressures}boxes = [{{ length_mm = 29, ref = \"FL27529\", di = [] }}]\n"
        )
    };
    let read = |verified, pressures: &str| catalogue::product::read("fell.toml", &text(verified, pressures));
    let keys = |faults: Vec<boxcall::intake::FileFault>| {
        faults.into_iter().map(|fault| fault.key).collect::<Vec<_>>()
    };
    let both = ["diameter[1].nominal_atm", "diameter[1].rated_burst_atm"];
    assert_eq!(keys(read(true, "").unwrap_err()), both);
    let silent = read(false, "").unwrap();
    assert_eq!(silent.diameters[0].pressures, None);
    assert!(silent.diameters[0].marks().contains("RATED BURST NOT KNOWN"));
    assert_eq!(keys(read(false, "nominal_atm = 11\n").unwrap_err()), both[1..]);
    assert_eq!(keys(read(false, "chart = [[11, 2.75]]\n").unwrap_err())[..2], both);
}

/// tests/reference/gtins.tsv: biip 5.2.0.
#[test]
fn check_digits_agree_with_the_reference_library() {
    let rows: Vec<(&str, &str)> = include_str!("../reference/gtins.tsv")
        .lines()
        .skip(1)
        .map(|line| line.split_once('\t').unwrap())
        .collect();
    assert_eq!(rows.len(), 200);
    for (body, check) in rows {
        assert_eq!(boxcall::udi::mod10_check(body).map(String::from).as_deref(), Some(check), "{body}");
    }
}

#[test]
fn the_command_writes_everything_or_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let into = folder.path().join("imported");
    let (from, to) = (dir(), into.display().to_string());
    let release = ["--json", "catalogue", "import", from.to_str().unwrap(), "--into", &to];
    let run = |words: &[&str]| boxcall(&[&release, words].concat());
    assert_eq!(run(&["--code", "ABC"]).status.code(), Some(2), "what kind is that?");
    assert!(!into.exists());
    let output = run(&["--code", "NIQ"]);
    assert!(output.status.success());
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let catalogue = boxcall::room::files::catalogue(&into).unwrap();
    assert_eq!(answer["products"], catalogue.products.len());
    assert!(catalogue.products.iter().all(|product| product.kind == Kind::DrugElutingStent));
    let report = std::fs::read_to_string(into.join("import-report.csv")).unwrap();
    assert_eq!(answer["notes"].as_array().unwrap().len() + 1, report.lines().count());
    assert_eq!(run(&[]).status.code(), Some(2), "the folder is not empty any more");
}
