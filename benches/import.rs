//! The importer beside a plain count of the newlines of the same files, in one run; and how long product files take to
//! load, and to be replaced by a table, each beside twice as many.
//!
//! `cargo bench --bench import`. The promises: 200 MB of release text a second on one core, less than 200 MB of memory
//! whatever the files' size, 10,000 boxes loaded in less than 100 ms on one core, and twice as much in about twice the
//! time. The text is the invented release of tests/reference, its unwanted rows many times over.

mod timing;

use boxcall::catalogue::{self, import::ProductCode, product, sheet};
use boxcall::room::{self, Prepared, release};
use boxcall::udi::DeviceId;
use std::collections::HashSet;
use std::fmt::Write as _;
use std::fs::File;
use std::io::{BufWriter, Read, Write};
use std::path::{Path, PathBuf};
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

/// Once and twice as much of the same work, and their ratio.
fn twice<T>(what: &str, once: usize, mut work: impl FnMut(usize) -> T) {
    let [one, two] = [once, 2 * once].map(|count| timed(3, || work(count)));
    let ratio = two.as_secs_f64() / one.as_secs_f64();
    println!("{what:<40}{once:>8}: {one:>9.1?}, {:>8}: {two:>9.1?}, ratio {ratio:.2}", 2 * once);
}

/// A folder with so many products, and a table of them.
fn folder(count: usize) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let files = products(count);
    for (name, text) in &files {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    let table = folder.path().join("products.csv");
    std::fs::write(&table, sheet::write(&catalogue::read(&files).unwrap())).unwrap();
    (folder, table)
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

/// Products of 100 boxes each, as product files.
fn products(count: usize) -> Vec<(String, String)> {
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
    (0..count).map(product).collect()
}

fn main() {
    let dir = tempfile::tempdir().unwrap();
    let bytes = fatten(dir.path());
    let megabytes = bytes as f64 / 1e6;
    let rate = |time: Duration| megabytes / time.as_secs_f64();
    // Once before, so that both find the files in the system's memory.
    let lines = count_newlines(dir.path());
    let floor = timed(ROUNDS, || count_newlines(dir.path()));
    let import = timed(ROUNDS, || release::read(dir.path(), ProductCode::all(), |_, _| {}).unwrap());
    let boxes = release::read(dir.path(), ProductCode::all(), |_, _| {}).unwrap().boxes;
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
    for (boxes, promise) in [(3_000, "within the first frame"), (10_000, "100 ms")] {
        let (folder, _) = folder(boxes / 100);
        let load = timed(ROUNDS, || room::files::catalogue(folder.path()).unwrap());
        println!("{boxes:>6} boxes loaded  {load:>10.1?}                 (promise: {promise}, one core)");
    }
    twice("products loaded", 100, |count| catalogue::read(&products(count)).unwrap());
    let folders = [200, 400].map(|count| (count, folder(count)));
    twice("products compared with a table", 200, |count| {
        let (_, (folder, table)) = folders.iter().find(|(of, _)| *of == count).expect("one of them");
        Prepared::of_table(folder.path(), table).unwrap()
    });
    let unknown = |count| (0..count).map(|number| format!("[t{number}]\n")).collect::<String>();
    twice("unknown tables in a file", 100_000, |count| product::read("x.toml", &unknown(count)).is_err());
    let catalogue = catalogue::read(&products(100)).unwrap();
    let all: Vec<&DeviceId> = catalogue
        .products
        .iter()
        .flat_map(|p| &p.diameters)
        .flat_map(|d| &d.boxes)
        .flat_map(|b| &b.di)
        .collect();
    twice("rows looked up in 10,000 boxes", 4_000, |count| {
        all.iter().cycle().take(count).filter(|di| catalogue.find(di).is_some()).count()
    });
}
