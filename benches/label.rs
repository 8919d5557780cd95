//! Labels under fire: so many inputs through the reader, every slip in a thousand identifiers, the time a label takes, and
//! the symbols for an outside reader.
//!
//! Run: `cargo bench --bench label -- 1000000 [SEED]` (how many inputs; 1,000,000 if not given). Ends with 1 at the first
//! fault: a panic, a field that does not stand in the input, or a written label that reads back otherwise.
//! `-- symbols FOLDER` writes Data Matrix pictures with their bytes, for `tests/reference/datamatrix.py`.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "figures of a benchmark are small"
)]

#[path = "../tests/it/mutations.rs"]
mod mutations;

use boxcall::label::write::{self, Content};
use boxcall::label::{self, Settings, card};
use boxcall::udi::{DeviceId, mod10_check, mod43_check};
use chrono::NaiveDate;
use std::error::Error;
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

const YEAR: i32 = 2026;
const ROWS: &str = include_str!("../tests/data/label_vectors.tsv");
/// What biip took for the same thousand labels stands in its first line.
const REFERENCE: &str = include_str!("../tests/reference/labels.tsv");
const SET_82: &[u8] = b"!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz";
const PIECES: [&str; 26] = [
    "]d2",
    "]C1",
    "]E0",
    "]D2",
    "01",
    "09521234543213",
    "17270228",
    "10",
    "21",
    "LOT7",
    "\x1d",
    "\r",
    "(01)",
    "(10)",
    "+",
    "A123FL300290L",
    "$$3270228",
    "/",
    "=/",
    "https://id.example.org/01/",
    "?17=",
    "%2B",
    "[)>\x1e05\x1d",
    "240",
    "|",
    " ",
];

/// The same numbers in every run: @xorshift64.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 16
    }

    fn below(&mut self, bound: usize) -> usize {
        (self.next() % bound.max(1) as u64) as usize
    }

    fn text(&mut self) -> Option<String> {
        let length = self.below(21);
        (length > 0).then(|| (0..length).map(|_| char::from(SET_82[self.below(82)])).collect())
    }
}

fn gtin(body: &str) -> Result<DeviceId, Box<dyn Error>> {
    let check = mod10_check(body).ok_or("no digits")?;
    Ok(DeviceId::parse(&format!("{body}{check}"))?)
}

/// The same thousand labels that `tests/reference/labels.py` gives to biip.
fn thousand() -> Result<Vec<Vec<u8>>, Box<dyn Error>> {
    (0..1000u32)
        .map(|i| {
            let content = Content {
                di: gtin(&format!("0952{:09}", u64::from(i) * 7_654_321 % 1_000_000_000))?,
                lot: Some(format!("L{i:05}")),
                serial: Some(format!("S{:06}", i * 31)),
                use_by: NaiveDate::from_ymd_opt(2027, i % 12 + 1, i % 28 + 1),
            };
            Ok(write::element_string(&content, YEAR)?)
        })
        .collect()
}

fn unescaped(text: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let hex = rest.strip_prefix("\\x").and_then(|r| u8::from_str_radix(r.get(..2)?, 16).ok());
        let used = match (hex, rest.starts_with("\\\\")) {
            (Some(byte), _) => {
                bytes.push(byte);
                4
            }
            (None, true) => {
                bytes.push(b'\\');
                2
            }
            (None, false) => {
                bytes.extend(c.to_string().bytes());
                c.len_utf8()
            }
        };
        rest = &rest[used..];
    }
    bytes
}

/// A written label: read, it says the same, and written again it is the same.
fn round_trip(dice: &mut Dice) -> Result<(), String> {
    let body = format!("{:013}", 1 + dice.next() % 9_999_999_999_999);
    let first = NaiveDate::from_ymd_opt(1977, 1, 1).unwrap_or_default();
    let content = Content {
        di: gtin(&body).map_err(|fault| format!("{body}: {fault}"))?,
        lot: dice.text(),
        serial: dice.text(),
        use_by: (dice.below(4) > 0).then(|| first + chrono::Days::new(dice.below(36_000) as u64)),
    };
    let bytes = match write::element_string(&content, YEAR) {
        Ok(bytes) => bytes,
        Err(write::WriteError::Separator { .. }) => return Ok(()),
        Err(fault) => return Err(format!("{content:?}: {fault}")),
    };
    let manner = Settings { sends_separators: true, ..Settings::of_year(YEAR) };
    let read = label::read(&write::scanned(&bytes), &manner).map_err(|r| format!("{content:?}: {r}"))?;
    let Some(di) = read.di else { return Err(format!("{content:?}: no identifier")) };
    let again = Content { di, lot: read.lot, serial: read.serial, use_by: read.use_by };
    let same = again == content && write::element_string(&again, YEAR).is_ok_and(|second| second == bytes);
    if same { Ok(()) } else { Err(format!("{content:?} is read back as {again:?}")) }
}

fn percent_decoded(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let byte = rest.strip_prefix('%').and_then(|r| u8::from_str_radix(r.get(..2)?, 16).ok());
        match byte.filter(u8::is_ascii) {
            Some(byte) => {
                out.push(char::from(byte));
                rest = &rest[3..];
            }
            None => {
                out.push(c);
                rest = &rest[c.len_utf8()..];
            }
        }
    }
    out
}

/// Every field stands in the input, after the documented translations: case (caps lock, HIBC), percent signs of a
/// link, spaces between the digits of a printed line, `_` for a space, zeros before a short GTIN.
fn nothing_invented(bytes: &[u8], settings: &Settings) -> Result<bool, String> {
    let Ok(read) = label::read(bytes, settings) else { return Ok(false) };
    let given = String::from_utf8_lossy(bytes).to_ascii_uppercase().replace('_', " ");
    let stands = |value: &str| {
        let value = value.to_ascii_uppercase().replace('_', " ");
        let bare = value.trim_start_matches('0');
        given.contains(&value)
            || given.contains(bare)
            || percent_decoded(&given).to_ascii_uppercase().replace('_', " ").contains(bare)
            || given.replace(' ', "").contains(bare)
    };
    let values = read.fields.iter().map(|(_, value)| value).chain(&read.lot).chain(&read.serial);
    for value in values.chain(read.readings.iter().flat_map(|r| r.fields.iter().map(|(_, v)| v))) {
        if !stands(value) {
            return Err(format!("{value:?} does not stand in {:?}", String::from_utf8_lossy(bytes)));
        }
    }
    Ok(true)
}

/// A vector with some bytes hurt, or pieces of labels in any order.
fn mangled(dice: &mut Dice, vectors: &[Vec<u8>]) -> Vec<u8> {
    if dice.below(3) == 0 {
        let mut bytes = Vec::new();
        for _ in 0..dice.below(10) {
            match dice.below(6) {
                0 => bytes.push(dice.next() as u8),
                _ => bytes.extend_from_slice(PIECES[dice.below(PIECES.len())].as_bytes()),
            }
        }
        // Now and then a check character that holds, so that HIBC is met behind its door.
        if dice.below(4) == 0 {
            let check = std::str::from_utf8(&bytes).ok().and_then(mod43_check);
            bytes.extend(check.map(|c| c as u8));
        }
        return bytes;
    }
    let mut bytes = vectors[dice.below(vectors.len())].clone();
    for _ in 0..dice.below(4) {
        let at = dice.below(bytes.len());
        match dice.below(5) {
            0 if !bytes.is_empty() => bytes[at] = dice.next() as u8,
            1 if !bytes.is_empty() => bytes[at] = SET_82[dice.below(82)],
            2 if !bytes.is_empty() => drop(bytes.remove(at)),
            3 => bytes.insert(at, SET_82[dice.below(82)]),
            _ => bytes.truncate(at),
        }
    }
    bytes
}

fn fire(count: u64, seed: u64) -> Result<(), String> {
    println!("seed {seed}");
    let vectors: Vec<Vec<u8>> =
        ROWS.lines().skip(1).filter_map(|line| line.split('\t').nth(1).map(unescaped)).collect();
    let begun = Instant::now();
    let shares = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..2u64)
            .map(|worker| {
                let vectors = &vectors;
                scope.spawn(move || {
                    let mut dice = Dice(0x9E37_79B9_7F4A_7C15 ^ (2 * seed + worker + 1));
                    let mut taken = 0u64;
                    for turn in 0..count / 2 {
                        if turn % 4 == 0 {
                            round_trip(&mut dice)?;
                            taken += 1;
                            continue;
                        }
                        let bytes = mangled(&mut dice, vectors);
                        let settings = Settings {
                            year: YEAR,
                            separator: (dice.below(8) == 0).then_some('#'),
                            sends_separators: dice.below(2) == 0,
                        };
                        let label = nothing_invented(&bytes, &settings)?;
                        taken += u64::from(label);
                        if label && matches!(card::read(&bytes), Some(Ok(_))) {
                            return Err(format!("{bytes:?} is a label and a command"));
                        }
                    }
                    Ok(taken)
                })
            })
            .collect();
        let ended =
            workers.into_iter().map(|worker| worker.join().map_err(|_| "the reader panicked".to_string())?);
        ended.collect::<Result<Vec<u64>, String>>()
    })?;
    let taken: u64 = shares.iter().sum();
    println!(
        "{} inputs, {taken} read as labels, {:.1} s: nothing invented",
        count / 2 * 2,
        begun.elapsed().as_secs_f64()
    );
    Ok(())
}

/// Ends with a panic where a slip passes that the check digit catches.
fn slips() -> Result<(), String> {
    let found = (mutations::modulo_10(1000), mutations::modulo_43(1000));
    if found != ([126_000, 11_954, 981], [385_000, 97, 9_499, 8_499]) {
        return Err(format!("slips in a thousand identifiers: {found:?}"));
    }
    println!("{found:?}: slips in a thousand identifiers, all caught that a check digit can catch");
    Ok(())
}

fn speed() -> Result<(), Box<dyn Error>> {
    let labels: Vec<Vec<u8>> = thousand()?.iter().map(|bytes| write::scanned(bytes)).collect();
    let settings = Settings::of_year(YEAR);
    let mut best = f64::INFINITY;
    for _ in 0..20 {
        let begun = Instant::now();
        for bytes in &labels {
            black_box(label::read(black_box(bytes), &settings)?);
        }
        best = best.min(begun.elapsed().as_secs_f64() * 1e6 / labels.len() as f64);
    }
    let biip: f64 =
        REFERENCE.lines().next().and_then(|line| line.split('\t').nth(1)).unwrap_or("").parse()?;
    println!(
        "{best:.2} microseconds a label; biip took {biip} on the machine that asked it: ratio {:.3}",
        best / biip
    );
    Ok(())
}

fn symbols(folder: &Path) -> Result<(), Box<dyn Error>> {
    std::fs::create_dir_all(folder)?;
    let hex = |bytes: &[u8]| bytes.iter().map(|b| format!("{b:02x}")).collect::<String>();
    let mut dice = Dice(952);
    let mut written: Vec<Vec<u8>> = thousand()?.into_iter().step_by(20).collect();
    for _ in 0..50 {
        let content =
            Content { di: gtin("0952123454321")?, lot: dice.text(), serial: dice.text(), use_by: None };
        written.extend(write::element_string(&content, YEAR));
    }
    for (place, bytes) in written.iter().enumerate() {
        std::fs::write(folder.join(format!("gs1-{place:03}.svg")), write::gs1_matrix(bytes)?.svg(0.5))?;
        std::fs::write(folder.join(format!("gs1-{place:03}.hex")), hex(bytes))?;
    }
    let codes: Vec<String> = card::all().iter().map(|(_, code)| hex(code.as_bytes())).collect();
    std::fs::write(folder.join("card-sheet.svg"), card::sheet_svg(0.5)?)?;
    std::fs::write(folder.join("card-sheet.hex"), codes.join("\n"))?;
    println!("{} symbols and the card in {}", written.len(), folder.display());
    Ok(())
}

fn broken(count: u64, seed: u64) -> Result<(), Box<dyn Error>> {
    fire(count, seed)?;
    slips()?;
    speed()
}

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["symbols", folder] => symbols(Path::new(folder)),
        [] => broken(1_000_000, 0),
        [count] => broken(count.parse()?, 0),
        [count, seed] => broken(count.parse()?, seed.parse()?),
        _ => Err("give a count, or: symbols FOLDER".into()),
    }
}
