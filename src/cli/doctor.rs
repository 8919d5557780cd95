//! `boxcall doctor`: what the program finds on this machine and in this room, on one page to send along.

use super::log;
use super::out::{Out, Outcome};
use super::products::room_dir;
use crate::catalogue::Product;
use crate::room::{Fault, Room, files, now, sqlite_version};
use crate::tui::{locale, settings};
use crate::units::{Decimal, counted};
use clap::Args as Arguments;
use serde::Serialize;
use std::io::{self, IsTerminal};
use std::path::Path;

/// Report terminal, locale, room, versions, journal and scanner on one page, to send to support
#[derive(Debug, Arguments)]
#[command(after_help = "The page holds nothing of a patient, a label or a device.\n\n\
                  Example:\n  boxcall doctor\n  boxcall --room /srv/lab2 doctor --json")]
pub(super) struct Args {}

/// `doctor --json`. What can't be found out is null.
#[derive(Debug, Serialize)]
struct Report {
    boxcall: Version,
    terminal: Terminal,
    locale: Locale,
    room: Place,
    journal: Option<Journal>,
    /// A scanner has sent the separator of a label in this room.
    scanner_seen: bool,
    log: Option<Log>,
    /// What is wrong, in words.
    problems: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Version {
    version: &'static str,
    sqlite: &'static str,
    os: &'static str,
    processor: &'static str,
    /// The computer's clock, with its offset.
    now: String,
}

#[derive(Debug, Serialize)]
struct Terminal {
    is_terminal: bool,
    columns: Option<u16>,
    rows: Option<u16>,
    term: Option<String>,
    colorterm: Option<String>,
    no_color: Option<String>,
    /// A multiplexer or a remote login between the screen and the program: `TMUX`, `STY`, `SSH_TTY`.
    behind: Vec<&'static str>,
}

#[derive(Debug, Serialize)]
struct Locale {
    lc_all: Option<String>,
    lc_ctype: Option<String>,
    lc_numeric: Option<String>,
    lang: Option<String>,
    /// `point` or `comma`, as the language has it.
    decimal: &'static str,
}

#[derive(Debug, Serialize)]
#[allow(clippy::struct_excessive_bools, reason = "each is one line of the report")]
struct Place {
    folder: String,
    is_there: bool,
    is_demo: bool,
    writable: bool,
    products: Option<usize>,
    boxes: Option<usize>,
    /// Products whose chart, limit and guide nobody has compared with the leaflet.
    unverified: Option<usize>,
    policy: bool,
    settings: bool,
}

#[derive(Debug, Serialize)]
struct Journal {
    bytes: u64,
    entries: Option<u64>,
    /// The last entry's hash, in hexadecimal.
    head: Option<String>,
    /// Every entry was checked, by this command.
    holds: bool,
}

#[derive(Debug, Serialize)]
struct Log {
    file: String,
    bytes: u64,
    warnings: usize,
}

pub(super) fn run(_: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    let dir = room_dir(room)?;
    let mut problems = Vec::new();
    let report = Report {
        boxcall: Version {
            version: env!("CARGO_PKG_VERSION"),
            sqlite: sqlite_version(),
            os: std::env::consts::OS,
            processor: std::env::consts::ARCH,
            now: now().to_rfc3339(),
        },
        terminal: terminal(),
        locale: language(),
        room: place(&dir, &mut problems),
        journal: journal(&dir, &mut problems),
        scanner_seen: dir.join(files::SCANNER_SEEN).exists(),
        log: log_of(&dir.join(log::FILE)),
        problems,
    };
    out.answer(&report, || words(&report))?;
    Ok(Outcome::Answered)
}

fn variable(name: &str) -> Option<String> {
    std::env::var(name).ok()
}

fn terminal() -> Terminal {
    let size = crate::tui::terminal_size();
    Terminal {
        is_terminal: io::stdin().is_terminal() && io::stdout().is_terminal(),
        columns: size.map(|size| size.0),
        rows: size.map(|size| size.1),
        term: variable("TERM"),
        colorterm: variable("COLORTERM"),
        no_color: variable("NO_COLOR"),
        behind: ["TMUX", "STY", "SSH_TTY"].into_iter().filter(|name| variable(name).is_some()).collect(),
    }
}

fn language() -> Locale {
    Locale {
        lc_all: variable("LC_ALL"),
        lc_ctype: variable("LC_CTYPE"),
        lc_numeric: variable("LC_NUMERIC"),
        lang: variable("LANG"),
        decimal: match locale::decimal(variable) {
            Decimal::Point => "point",
            Decimal::Comma => "comma",
        },
    }
}

fn place(dir: &Path, problems: &mut Vec<String>) -> Place {
    let is_there = Room::is_there(dir);
    let writable = is_there && Room::try_writing(dir).is_ok();
    let mut note = |result: Result<(), Fault>| {
        if let Err(fault) = &result {
            problems.push(format!("{}: {}", fault.code(), fault.message()));
        }
        result.is_ok()
    };
    let catalogue = match files::catalogue(&dir.join(files::CATALOGUE)) {
        Ok(catalogue) => Some(catalogue),
        Err(fault) => {
            if is_there {
                note(Err(fault));
            }
            None
        }
    };
    let file = |name: &str| Some(dir.join(name)).filter(|path| is_there && path.exists());
    let policy = file(files::POLICY).is_none_or(|path| note(files::policy(&path).map(drop)));
    let settings = file(settings::FILE).is_none_or(|path| {
        let read = files::text(&path).and_then(|text| {
            settings::read(&path.display().to_string(), &text).map_err(|faults| Fault::of_files(&faults))
        });
        note(read.map(drop))
    });
    if is_there && !writable {
        problems.push(format!("{} can't be written: cases can't be recorded there", dir.display()));
    }
    let products = catalogue.as_ref().map(|catalogue| &catalogue.products);
    Place {
        folder: dir.display().to_string(),
        is_there,
        is_demo: is_there && Room::is_demo_in(dir),
        writable,
        products: products.map(Vec::len),
        boxes: products.map(|list| list.iter().map(Product::count).sum()),
        unverified: products.map(|list| list.iter().filter(|product| !product.verified).count()),
        policy,
        settings,
    }
}

fn journal(dir: &Path, problems: &mut Vec<String>) -> Option<Journal> {
    let bytes = std::fs::metadata(dir.join(files::JOURNAL)).ok()?.len();
    let (entries, head, why) = match Out::journal_to_check(dir) {
        Ok(room) => {
            let found = room.check_with(&mut |_, _| ());
            let why = (!found.holds).then(|| found.to_string());
            (found.entries, found.head, why)
        }
        Err(fault) => (None, None, Some(format!("{}: {}", fault.code(), fault.message()))),
    };
    let holds = why.is_none();
    problems.extend(why);
    Some(Journal { bytes, entries, head, holds })
}

fn log_of(path: &Path) -> Option<Log> {
    let bytes = std::fs::metadata(path).ok()?.len();
    let text = std::fs::read_to_string(path).unwrap_or_default();
    let is_warning = |line: &&str| line.contains(" WARN ") || line.contains(" ERROR ");
    Some(Log { file: path.display().to_string(), bytes, warnings: text.lines().filter(is_warning).count() })
}

fn words(report: &Report) -> String {
    let Report { boxcall, terminal, locale, room, journal, .. } = report;
    let none = || "not set".to_string();
    let set = |value: &Option<String>| value.clone().unwrap_or_else(none);
    let yes = |is: bool| if is { "yes" } else { "no" };
    let number = |value: Option<usize>| value.map_or("can't be read".into(), |value| value.to_string());
    let size = match (terminal.columns, terminal.rows) {
        (Some(columns), Some(rows)) => format!("{columns}x{rows}"),
        _ => "size not known".into(),
    };
    let mut lines = vec![
        format!(
            "boxcall   {}, SQLite {}, {} {}",
            boxcall.version, boxcall.sqlite, boxcall.os, boxcall.processor
        ),
        format!("clock     {}", boxcall.now),
        format!(
            "terminal  {size}, terminal: {}, TERM {}, COLORTERM {}, NO_COLOR {}{}",
            yes(terminal.is_terminal),
            set(&terminal.term),
            set(&terminal.colorterm),
            set(&terminal.no_color),
            terminal.behind.iter().map(|name| format!(", {name} set")).collect::<String>(),
        ),
        format!(
            "locale    LC_ALL {}, LC_CTYPE {}, LC_NUMERIC {}, LANG {}: decimal {}",
            set(&locale.lc_all),
            set(&locale.lc_ctype),
            set(&locale.lc_numeric),
            set(&locale.lang),
            locale.decimal
        ),
    ];
    if room.is_there {
        lines.push(format!(
            "room      {}, writable: {}, demo: {}",
            room.folder,
            yes(room.writable),
            yes(room.is_demo)
        ));
        lines.push(format!(
            "products  {}, boxes {}, not verified {}",
            number(room.products),
            number(room.boxes),
            number(room.unverified)
        ));
        lines.push(format!(
            "files     policy good: {}, settings good: {}",
            yes(room.policy),
            yes(room.settings)
        ));
    } else {
        lines.push(format!("room      none in {}", room.folder));
    }
    lines.push(match journal {
        Some(Journal { bytes, entries: Some(entries), head: Some(head), holds: true }) => {
            format!(
                "journal   holds: {}, {}, head {head}",
                counted(*entries, "entry"),
                counted(*bytes, "byte")
            )
        }
        Some(journal) => format!("journal   DOES NOT HOLD, {}", counted(journal.bytes, "byte")),
        None => "journal   none yet".into(),
    });
    lines.push(format!("scanner   has sent a label's separator here: {}", yes(report.scanner_seen)));
    lines.push(match &report.log {
        Some(log) => format!(
            "log       {}, {}, {}",
            log.file,
            counted(log.bytes, "byte"),
            counted(log.warnings as u64, "warning")
        ),
        None => "log       none".into(),
    });
    if report.problems.is_empty() {
        lines.push("problems  none found".into());
    }
    lines.extend(report.problems.iter().map(|problem| format!("PROBLEM   {problem}")));
    lines.join("\n")
}
