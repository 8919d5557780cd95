//! A disk that is full while a room is furnished: product files, a release, the protocol, a box that is enrolled from
//! its front. The message says what to do, nothing that was there is lost, and nothing is there by half.
#![cfg(unix)]

use crate::faults_files::{everything, limited, limited_into, says_what_to_do};
use crate::faulty::folder;
use boxcall::catalogue::enrol::Front;
use boxcall::catalogue::import::ProductCode;
use boxcall::measure::Kind;
use boxcall::room::{Fault, Room, files, release};
use boxcall::udi::DeviceId;
use std::path::Path;
use std::process::Command;

/// So many bytes fit, and no more: from none at all up to more than any of these files has.
const SIZES: [u64; 10] = [0, 1, 50, 200, 700, 2_000, 5_000, 20_000, 100_000, 1_000_000];

/// A table of this many products, one box each, with check digits by @gs1-check-digit.
fn table(products: usize) -> String {
    let gtin = |number: usize| {
        let digits = format!("0952188{number:06}");
        let sum: u32 = digits
            .bytes()
            .enumerate()
            .map(|(at, byte)| u32::from(byte - b'0') * if at % 2 == 0 { 3 } else { 1 })
            .sum();
        format!("{digits}{}", (10 - sum % 10) % 10)
    };
    let example = String::from_utf8(limited(None, &["catalogue", "template"]).stdout).unwrap();
    let (head, row) = example.trim_end().split_once('\n').unwrap();
    let rows = (0..products).map(|number| {
        row.replace("fell", &format!("gill{number}"))
            .replace("Fell", &format!("Gill {number}"))
            .replace("FL27529", &format!("GL{number}"))
            .replace("09521001275293", &gtin(number))
    });
    format!("{head}\n{}\n", rows.collect::<Vec<_>>().join("\n"))
}

#[test]
fn product_files_are_taken_whole_or_not_at_all() {
    let folder = folder();
    let room = folder.path().join("room");
    drop(Room::lay_empty(&room).unwrap());
    let at = |name: &str| folder.path().join(name).display().to_string();
    let (into, file) = (at("taken"), at("table.csv"));
    std::fs::write(&file, table(9)).unwrap();
    let release = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/release").display().to_string();
    let commands: [(&str, Vec<&str>); 3] = [
        ("import", vec!["catalogue", "import", &release, "--into", &into]),
        ("load", vec!["catalogue", "load", &file, "--write"]),
        ("add", vec!["catalogue", "add", &file]),
    ];
    for (what, command) in commands {
        // What was loaded is taken away, so that the same products can be added.
        for path in files::products(&room.join(files::CATALOGUE)).unwrap() {
            std::fs::remove_file(path).unwrap();
        }
        let mut arguments = command.clone();
        let path = room.display().to_string();
        arguments.extend(["--room", &path]);
        let (mut refused, before) = (0, everything(folder.path()));
        for size in SIZES {
            let output = limited(Some(size), &arguments);
            if output.status.success() {
                break;
            }
            refused += 1;
            says_what_to_do(&output, &format!("{what}, {size} bytes"));
            let after = everything(folder.path());
            let names =
                |all: &[(String, Vec<u8>)]| all.iter().map(|(name, _)| name.clone()).collect::<Vec<_>>();
            assert_eq!(names(&after), names(&before), "{what}, {size}");
            assert!(after == before, "{what}, {size}: as it was");
        }
        assert!(refused > 2, "{what}: {refused}");
        if everything(folder.path()) == before {
            let output = limited(None, &arguments);
            assert!(output.status.success(), "{what}: {}", String::from_utf8_lossy(&output.stderr));
        }
        assert!(everything(folder.path()).len() > before.len(), "{what}: it is there now");
        assert!(limited(None, &["catalogue", "check", "--room", &path]).status.success(), "{what}");
    }
}

/// Whether a room can be written is tried first: the trial leaves nothing behind.
#[test]
fn a_disk_that_takes_names_and_no_bytes_is_said_before_anything_is_opened() {
    let folder = folder();
    let room = folder.path().join("room");
    drop(Room::lay_empty(&room).unwrap());
    let stock = folder.path().join("stock.csv");
    std::fs::write(&stock, "di,lot,serial,use_by,shelf,count\n").unwrap();
    let [stock, path] = [&stock, &room].map(|path| path.display().to_string());
    let before = everything(&room);
    let output = limited(Some(0), &["stock", "receive", &stock, "--room", &path]);
    says_what_to_do(&output, "receive");
    let after = everything(&room);
    assert_eq!(after.len(), before.len(), "{:?}", after.iter().map(|(name, _)| name).collect::<Vec<_>>());
}

/// `boxcall policy > policy.toml`: the shell made the file, and the program says that it is not whole.
#[test]
fn a_protocol_that_is_printed_into_a_full_disk_is_no_success() {
    let folder = folder();
    let file = folder.path().join("policy.toml");
    for command in [&["policy"][..], &["settings"], &["catalogue", "template"], &["policy", "--json"]] {
        let output = limited_into(60, &file, command);
        says_what_to_do(&output, command[0]);
        assert!(std::fs::metadata(&file).unwrap().len() <= 60);
    }
}

const CHILD: &str = "BOXCALL_TEST_FURNISHES";

/// What the first steps and read-back write, in a process of its own whose files are limited.
fn furnish(what: &str, dir: &Path, size: u64) -> Result<(), Fault> {
    let mut room = Room::open(dir)?;
    let release = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/release");
    let limit = libc::rlimit { rlim_cur: size, rlim_max: libc::RLIM_INFINITY };
    let narrow = || {
        // SAFETY: both only set what holds of this process from here on.
        unsafe {
            libc::signal(libc::SIGXFSZ, libc::SIG_IGN);
            assert_eq!(libc::setrlimit(libc::RLIMIT_FSIZE, &limit), 0);
        }
    };
    let prepared = match what {
        "enrol" => {
            let front = Front {
                di: DeviceId::parse("09529999999993").unwrap(),
                name: "Sound".into(),
                kind: Kind::Other,
                size: None,
                reference: "SD1".into(),
            };
            narrow();
            return room.enrol(&front).map(|_| ());
        }
        "scanner" => {
            narrow();
            return room.mark_scanner();
        }
        "policy" => room.prepare_policy()?,
        "guides" => room.prepare_guides()?,
        "products" => room.prepare_products(&dir.with_file_name("table.csv"))?,
        _ => room.prepare_release(&release::read(&release, ProductCode::all(), |_, _| {})?)?,
    };
    narrow();
    room.lay(&prepared)
}

#[test]
fn what_the_screens_lay_is_there_whole_or_not_at_all() {
    if let Some(told) = std::env::var_os(CHILD) {
        let told = told.into_string().unwrap();
        let [what, size, dir] = told.splitn(3, ' ').collect::<Vec<_>>().try_into().unwrap();
        match furnish(what, Path::new(dir), size.parse().unwrap()) {
            Ok(()) => println!("came: laid"),
            Err(fault) => println!("came: {} {}", fault.exit(), fault.message().replace('\n', " ")),
        }
        return;
    }
    let folder = folder();
    let room = folder.path().join("room");
    std::fs::write(folder.path().join("table.csv"), table(9)).unwrap();
    drop(Room::lay_empty(&room).unwrap());
    std::fs::remove_file(room.join(files::POLICY)).unwrap();
    for what in ["enrol", "scanner", "policy", "guides", "products", "release"] {
        // The journal's own files come and go with each opening.
        let there = || {
            let all = everything(&room).into_iter();
            all.filter(|(name, _)| !name.contains(files::JOURNAL)).collect::<Vec<_>>()
        };
        let (before, mut refused, mut laid) = (there(), 0, false);
        for size in SIZES {
            let output = Command::new(std::env::current_exe().unwrap())
                .args([
                    "faults_furnish::what_the_screens_lay_is_there_whole_or_not_at_all",
                    "--exact",
                    "--nocapture",
                ])
                .env(CHILD, format!("{what} {size} {}", room.display()))
                .output()
                .unwrap();
            let said = String::from_utf8_lossy(&output.stdout).into_owned();
            let (_, came) = said.split_once("came: ").unwrap_or_else(|| panic!("{what}, {size}: {output:?}"));
            if came.starts_with("laid") {
                laid = true;
                break;
            }
            refused += 1;
            assert!(came.starts_with("3 ") && came.contains("make room"), "{what}, {size}: {came}");
            assert!(there() == before, "{what}, {size}: as it was");
        }
        assert!(refused > 1 && laid, "{what}: {refused}");
        assert!(there().len() > before.len(), "{what}: it is there now");
        Room::look(&room).unwrap();
    }
}
