//! The importer beside a plain count of the newlines of the same files, in one run; and how long 50,000 boxes take to load.
//!
//! `cargo bench --bench import`. The promises: 200 MB of release text a second on one core, less than 200 MB of memory
//! whatever the files' size, and 50,000 boxes in less than 100 ms. The text is the invented release of tests/reference, its
//! unwanted rows many times over.

mod timing;

use boxcall::catalogue::{self, import::Code};
use boxcall::room::{self, release};
use std::collections::HashSet;
use std::fmt::Write as _;
use std::fs::File;
use std::io::{BufWriter, Read, Write};
use std::path::Path;
use std::process::Command;
use std::time::Duration;
use timing::timed;

const FILES: [&str; 4] = ["device.txt", "deviceSizes.txt", "productCodes.txt", "identifiers.txt"];
const MEGABYTES: u64 = 400;
const ROUNDS: usize = 5;

/// Writes the release with its crowd multiplied; returns the bytes of all files.
fn fatten(into: &Path) -> u64 {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/release");
    let truth = std::fs::read_to_string(from.join("truth.tsv")).unwrap();
    let wanted: HashSet<&str> = truth.lines().skip(1).filter_map(|line| line.split('\t').next()).collect();
    let mut bytes = 0;
    for name in FILES {
        let text = std::fs::read(from.join(name)).unwrap();
        let lines: Vec<&[u8]> = text.split_inclusive(|byte| *byte == b'\n').collect();
        let crowd: Vec<&[u8]> = lines[1..]
            .iter()
            .filter(|line| {
                let di = line.split(|byte| *byte == b'|').next().unwrap_or_default();
                !wanted.contains(String::from_utf8_lossy(di).as_ref())
            })
            .copied()
            .collect();
        let mut file = BufWriter::new(File::create(into.join(name)).unwrap());
        let mut written = text.len() as u64;
        file.write_all(&text).unwrap();
        while written < MEGABYTES * 1_000_000 / FILES.len() as u64 {
            for line in &crowd {
                file.write_all(line).unwrap();
                written += line.len() as u64;
            }
        }
        file.flush().unwrap();
        bytes += written;
    }
    bytes
}

fn count_newlines(dir: &Path) -> u64 {
    let mut buffer = vec![0; 1 << 20];
    let mut lines = 0;
    for name in FILES {
        let mut file = File::open(dir.join(name)).unwrap();
        loop {
            let count = file.read(&mut buffer).unwrap();
            if count == 0 {
                break;
            }
            lines += memchr::memchr_iter(b'\n', &buffer[..count]).count() as u64;
        }
    }
    lines
}

/// `grep -c ''` of all files, where there is a grep.
fn grep(dir: &Path) -> Option<u64> {
    let output = Command::new("grep")
        .arg("-c")
        .arg("")
        .args(FILES)
        .current_dir(dir)
        .env("LC_ALL", "C")
        .output()
        .ok()?;
    let text = String::from_utf8(output.stdout).ok()?;
    text.lines().map(|line| line.rsplit(':').next()?.parse::<u64>().ok()).sum()
}

/// The most memory that this process ever held, in MB, where the system tells.
fn most_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse::<u64>().ok().map(|kilobytes| kilobytes / 1000)
}

/// 500 products of 100 boxes each, as product files.
fn fifty_thousand() -> Vec<(String, String)> {
    let product = |number: usize| {
        let mut text = format!(
            "schema = 1\nid = \"p{number:04}\"\nname = \"P{number:04}\"\nmaker = \"Lowfell (invented)\"\n\
             kind = \"drug-eluting stent\"\nmaterial = \"steel\"\nshaft_cm = 145\nwire_in = 0.014\n"
        );
        for d in 0..10 {
            let mm = 2.0 + 0.25 * d as f64;
            let (rated, limit) = (mm + 0.2, mm + 0.75);
            let _ = write!(
                text,
                "\n[[diameter]]\nmm = {mm}\nexpansion_limit_mm = {limit}\nnominal_atm = 11\nrated_burst_atm = 18\n\
                 chart = [[8, {}], [11, {mm}], [14, {}], [18, {rated}]]\nboxes = [\n",
                mm - 0.1,
                mm + 0.1
            );
            for l in 0..10 {
                let body = format!("0952{:09}", number * 100 + d * 10 + l);
                let check = boxcall::udi::mod10_check(&body).unwrap();
                let _ = writeln!(
                    text,
                    "  {{ length_mm = {}, ref = \"P{number}-{d}-{l}\", di = [\"{body}{check}\"] }},",
                    8 + 4 * l
                );
            }
            text.push_str("]\n");
        }
        (format!("p{number:04}.toml"), text)
    };
    (0..500).map(product).collect()
}

fn main() {
    let dir = tempfile::tempdir().unwrap();
    let bytes = fatten(dir.path());
    let megabytes = bytes as f64 / 1e6;
    let rate = |time: Duration| megabytes / time.as_secs_f64();
    // Once before, so that both find the files in the system's memory.
    let lines = count_newlines(dir.path());
    let floor = timed(ROUNDS, || count_newlines(dir.path()));
    let import = timed(ROUNDS, || release::read(dir.path(), Code::all(), |_, _| {}).unwrap());
    let boxes = release::read(dir.path(), Code::all(), |_, _| {}).unwrap().boxes;
    println!("{megabytes:.0} MB, {lines} lines, {boxes} boxes read");
    println!("newlines counted     {floor:>10.1?}  {:>8.0} MB/s", rate(floor));
    if grep(dir.path()).is_some() {
        let time = timed(ROUNDS, || grep(dir.path()));
        println!("grep -c              {time:>10.1?}  {:>8.0} MB/s", rate(time));
    }
    println!("import               {import:>10.1?}  {:>8.0} MB/s  (promise: 200)", rate(import));
    match most_memory() {
        Some(most) => println!("most memory          {most:>7} MB                 (promise: under 200)"),
        None => println!("most memory: this system does not tell"),
    }
    let files = fifty_thousand();
    let products = tempfile::tempdir().unwrap();
    for (name, text) in &files {
        std::fs::write(products.path().join(name), text).unwrap();
    }
    let one = timed(ROUNDS, || catalogue::read(&files).unwrap());
    let load = timed(ROUNDS, || room::files::catalogue(products.path()).unwrap());
    let catalogue = room::files::catalogue(products.path()).unwrap();
    let boxes: usize = catalogue.products.iter().flat_map(|p| &p.diameters).map(|d| d.boxes.len()).sum();
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let size = files.iter().map(|(_, text)| text.len()).sum::<usize>() as f64 / 1e6;
    println!("{boxes} boxes, {size:.1} MB of TOML in 500 files");
    println!("loaded, {cores} cores      {load:>10.1?}                 (promise: 100 ms)");
    println!("the text, one core   {one:>10.1?}");
}
