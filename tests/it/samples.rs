//! One list of sample calls, at least one for each command of the command line's own description. Whatever is promised
//! of every command is tested by walking it, in its order, in one room in which there is one of everything.

use crate::entries::{CODE, fell, wanted};
use boxcall::case::entry_words;
use boxcall::catalogue::{Product, sheet};
use boxcall::cli;
use boxcall::journal::{CaseCode, Fact, Fate, Inflation, Readiness, Unused};
use boxcall::room::{Kept, Room};
use boxcall::units::Pressure;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};

pub const CATALOGUES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/catalogues");

/// What a call reads of the room, and so whether a product file at fault stops it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reads {
    /// No room.
    Nothing,
    /// The room's product files: one that is at fault is named, and nothing is answered.
    Products,
    /// The room's journal: it answers whatever is at fault beside it.
    Journal,
    /// It makes a room of its own.
    Own,
}

/// Where the text of an answer says who decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Defers {
    /// Its last line, on standard output.
    AtItsEnd,
    /// Standard error: standard output is a program's.
    Aside,
    /// In the document.
    Within,
    /// In the file that is written.
    InItsFile,
    /// In a file beside the one that is written.
    BesideItsFile,
    /// Nowhere: it is a table or a settings file that is read back.
    Nowhere,
    /// Nowhere: it is refused, and an error is no answer.
    Refused,
    /// On the screen: the call needs a terminal.
    OnScreen,
}

#[derive(Debug)]
pub struct Sample {
    /// As the command line describes it, such as `stock load`; empty for the program without a command.
    pub command: &'static str,
    /// Names in braces stand for what [`Ground`] has.
    pub arguments: &'static [&'static str],
    pub reads: Reads,
    pub defers: Defers,
    pub exit: i32,
    /// Whether `--json` makes an object of it: a format that is named is printed whatever else is asked for.
    pub json: bool,
    /// The row of the table in docs/json.md.
    pub shape: &'static str,
}

impl Sample {
    const fn no(self) -> Sample {
        Sample { exit: 1, ..self }
    }

    const fn text_alone(self) -> Sample {
        Sample { json: false, ..self }
    }

    const fn shaped(self, shape: &'static str) -> Sample {
        Sample { shape, ..self }
    }

    pub fn in_terminal(&self) -> bool {
        self.defers == Defers::OnScreen
    }

    /// The call as it is typed, for messages.
    pub fn typed(&self) -> String {
        format!("boxcall {} {}", self.command, self.arguments.join(" "))
    }
}

const fn sample(
    command: &'static str,
    arguments: &'static [&'static str],
    reads: Reads,
    defers: Defers,
) -> Sample {
    Sample { command, arguments, reads, defers, exit: 0, json: true, shape: command }
}

use Defers::{Aside, AtItsEnd, BesideItsFile, InItsFile, Nowhere, OnScreen, Refused, Within};
use Reads::{Journal, Nothing, Own, Products};

/// The row of the record in the table of shapes.
pub const RECORD: &str = "case show";

pub const ALL: &[Sample] = &[
    sample("policy", &[], Nothing, Nowhere),
    sample("doctor", &[], Journal, AtItsEnd),
    sample("settings", &[], Nothing, Nowhere),
    sample("card", &[], Nothing, Within),
    sample("label", &["--di", "{di}", "--lot", "L1", "--use-by", "2031-05-31"], Nothing, AtItsEnd),
    sample("label", &["--di", "{di}", "--picture", "ascii"], Nothing, AtItsEnd),
    sample("label", &["--di", "{di}", "--picture", "svg"], Nothing, Aside),
    sample("read", &["{label}"], Nothing, AtItsEnd),
    sample(
        "branch",
        &["--law", "huo-kassab", "--daughter-1", "3.5", "--daughter-2", "3.0"],
        Nothing,
        AtItsEnd,
    ),
    sample(
        "lesion",
        &[
            "--mld", "1.5", "--reference", "3.0", "--arc", "200", "--thickness", "0.6", "--calcium-length",
            "6",
        ],
        Nothing,
        AtItsEnd,
    ),
    sample(
        "expansion",
        &["--msa", "5.6", "--proximal-area", "7.4", "--distal-area", "6.2", "--method", "ivus"],
        Nothing,
        AtItsEnd,
    ),
    sample("guide", &["--od", "0.9", "--bore-in", "0.071"], Nothing, AtItsEnd),
    sample("guide", &["--od", "1.2", "--od", "1.2", "--bore-in", "0.071"], Nothing, AtItsEnd).no(),
    sample("guide", &["--od", "0.9", "--guide", "6"], Products, AtItsEnd),
    sample("catalogue template", &[], Nothing, Nowhere),
    sample("catalogue import", &["{release}", "--into", "{new}"], Nothing, AtItsEnd),
    sample("catalogue add", &["{table}", "--preview"], Products, AtItsEnd),
    sample("catalogue add", &["{table}"], Products, AtItsEnd),
    sample("catalogue check", &[], Products, AtItsEnd),
    sample("catalogue export", &[], Products, Nowhere),
    sample("catalogue load", &["{table}"], Products, AtItsEnd),
    sample("fit", &["--method", "qca", "--distal-lumen", "{lumen}", "--length", "12"], Products, AtItsEnd),
    sample(
        "fit",
        &["--method", "qca", "--distal-lumen", "{lumen}", "--length", "12", "--explain"],
        Products,
        AtItsEnd,
    ),
    sample("fit", &["--method", "qca", "--distal-lumen", "{lumen}", "--length", "100"], Products, AtItsEnd)
        .no(),
    sample(
        "span",
        &[
            "--method", "qca", "--distal-lumen", "{lumen}", "--length", "12", "--max-devices", "1",
            "--stock", "{stock}",
        ],
        Products,
        AtItsEnd,
    ),
    sample(
        "span",
        &["--method", "qca", "--distal-lumen", "{lumen}", "--length", "100", "--max-devices", "1"],
        Products,
        AtItsEnd,
    )
    .no(),
    sample("span", &["--lesions", "{lesions}"], Products, AtItsEnd).shaped("span --lesions"),
    sample(
        "inflate",
        &["--product", "{product}", "--diameter", "{diameter}", "--to", "{diameter}"],
        Products,
        AtItsEnd,
    ),
    sample(
        "inflate",
        &["--product", "{product}", "--diameter", "{diameter}", "--at", "40"],
        Products,
        AtItsEnd,
    )
    .no(),
    sample(
        "post-dilate",
        &["--catalogue", "{catalogues}", "--to", "3.1", "--within", "14"],
        Products,
        AtItsEnd,
    ),
    sample("post-dilate", &["--to", "3.1", "--within", "14"], Products, AtItsEnd).no(),
    sample("stock template", &[], Nothing, Nowhere),
    sample("stock load", &["{stock}", "--preview"], Products, AtItsEnd),
    sample("stock load", &["{stock}"], Products, AtItsEnd),
    sample("stock list", &[], Products, AtItsEnd),
    sample("stock export", &[], Products, Nowhere),
    sample("stock short", &[], Products, AtItsEnd),
    sample("stock receive", &["{stock}"], Products, AtItsEnd),
    sample("stock receive", &["{none}"], Products, AtItsEnd),
    sample("stock move", &["--from", "A", "--to", "B"], Products, AtItsEnd),
    sample("stock move", &["--from", "A", "--to", "B", "--count", "1", "--lot", "L7"], Products, Refused)
        .no(),
    sample("stock count", &["{none}", "--shelf", "A"], Products, AtItsEnd),
    sample("stock pull", &["--reason", "damaged", "--from", "A", "--count", "1"], Products, AtItsEnd),
    sample("shelf gaps", &[], Products, AtItsEnd),
    sample("shelf wall", &[], Products, Within),
    sample("shelf wall", &["--format", "text"], Products, Within),
    sample("stock recall", &["{recall}"], Products, AtItsEnd),
    sample("stock pull", &["--recalled", "--write"], Products, AtItsEnd),
    sample("stock history", &[], Journal, AtItsEnd),
    sample("stock history", &["--lot", "L1"], Journal, AtItsEnd),
    sample("stock strike", &["{loaded}", "--reason", "a slip"], Products, AtItsEnd),
    sample("journal check", &[], Journal, AtItsEnd),
    sample("journal head", &[], Journal, AtItsEnd),
    sample("journal backup", &["{new}"], Journal, AtItsEnd),
    sample("journal confirm-date", &["{today}", "--reason", "the room was closed"], Products, AtItsEnd),
    sample("journal take-in", &["{kept}"], Products, AtItsEnd),
    sample("case list", &[], Journal, AtItsEnd),
    sample("case show", &[], Journal, Within),
    sample("case show", &["ZZZZZ"], Journal, Refused).no(),
    sample("case export", &[], Journal, Within).shaped(RECORD),
    sample("case export", &["--format", "markdown"], Journal, Within).text_alone(),
    sample("case export", &["--format", "json"], Journal, Within).shaped(RECORD),
    sample("case export", &["--format", "fhir"], Journal, Within).text_alone(),
    sample("case export", &["--format", "csv"], Journal, Aside).text_alone(),
    sample("case export", &["--format", "json-schema"], Journal, Aside).text_alone(),
    sample("case export", &["--format", "markdown", "--to", "{new}"], Journal, InItsFile).text_alone(),
    sample("case export", &["--format", "fhir", "--to", "{new}"], Journal, InItsFile).text_alone(),
    sample("case export", &["--format", "csv", "--to", "{new}"], Journal, BesideItsFile).text_alone(),
    sample("case totals", &[], Journal, AtItsEnd),
    sample("case totals", &["--format", "csv"], Journal, Aside).text_alone(),
    sample("trace", &["--lot", "L1"], Journal, AtItsEnd),
    sample("trace", &["--lot", "NO1"], Journal, AtItsEnd).no(),
    sample("demo", &["--plain"], Own, Within).shaped(RECORD),
    sample("demo", &[], Own, OnScreen),
    sample("scanner", &[], Nothing, OnScreen),
    sample("far", &[], Journal, OnScreen),
    sample("", &[], Journal, OnScreen),
];

/// A folder with an empty room, one case in its journal, and the files that calls read: one of everything.
pub struct Ground {
    folder: tempfile::TempDir,
    example: Product,
    kept: PathBuf,
    /// The entry that the stock will have.
    loaded: u64,
    made: AtomicUsize,
}

/// One case: a call, a box that was opened for it, inflated and found damaged, and the signature.
fn one_case(example: &Product) -> Vec<Fact> {
    let platform = &example.diameters[0];
    let (diameter, length) = (platform.diameter.mm(), platform.boxes[0].length.mm());
    let inflation = Inflation {
        at_atm: Pressure::from_atm(1.0),
        seconds: Some(1),
        chart_mm: None,
        rated_burst_atm: None,
        lesion: Some(1),
    };
    let label = fell(platform.boxes[0].di[0].as_str(), diameter, length, "L1");
    vec![
        Fact::CaseBegun,
        Fact::Called {
            call: 1,
            lesion: Some(1),
            wanted: wanted(None, diameter, length),
            readiness: Readiness::Asked,
            verdict: None,
            why: None,
        },
        Fact::BoxOpened {
            item: 1,
            call: Some(1),
            lesion: Some(1),
            label,
            finding: "same".into(),
            reason: None,
            minutes_ago: None,
        },
        Fact::Inflated { item: 1, inflation },
        Fact::FateGiven { item: 1, fate: Fate::OpenedNotUsed { why: Unused::Damaged }, lesion: None },
        Fact::SignedOff { unsettled: 0, why: None },
    ]
}

impl Ground {
    pub fn new() -> Ground {
        let folder = tempfile::tempdir().unwrap();
        let file = |name: &str, text: &str| {
            let path = folder.path().join(name);
            std::fs::write(&path, text).unwrap();
            path
        };
        let template = sheet::template();
        let example = sheet::read("template", &template).unwrap().remove(0).product;
        let platform = &example.diameters[0];
        let di = platform.boxes[0].di[0].as_str();
        file("products.csv", &template);
        let head = "di,lot,serial,use_by,shelf,count\n";
        file("none.csv", head);
        file("stock.csv", &format!("{head}{di},L1,,2031-05-31,A,1\n"));
        file("recall.csv", "lot\nL1\n");
        let lumen = lumen(&example);
        file(
            "lesions.toml",
            &format!("[[lesion]]\nid = \"a\"\nmethod = \"qca\"\ndistal_lumen = {lumen}\nlength = 12\n"),
        );
        let mut room = Room::lay_empty(&folder.path().join("room")).unwrap();
        let inside = |name: &str, text: &str| std::fs::write(room.dir().join(name), text).unwrap();
        inside("catalogue/guides.toml", "[[guide]]\nfr = 6\ninner_in = 0.071\n");
        let size = format!("{}x{}", platform.diameter, platform.boxes[0].length);
        inside("policy.toml", &format!("schema = 1\n[par]\n\"{size}\" = 2\n"));
        let facts = one_case(&example);
        let command = Kept {
            id: "one".into(),
            entered: room.now(),
            case: CaseCode::parse(CODE),
            numbers: (1..=facts.len() as u64).collect(),
            words: facts.iter().map(entry_words).collect(),
            facts,
        };
        let kept = room.write_rescue(Some(folder.path()), vec![command]).unwrap();
        room.take_in(&kept).unwrap();
        let loaded = room.journal().unwrap().len() as u64 + 1;
        drop(room);
        Ground { folder, example, kept, loaded, made: AtomicUsize::new(0) }
    }

    pub fn room(&self) -> PathBuf {
        self.folder.path().join("room")
    }

    /// The arguments, each name in braces replaced by what it stands for. A new path is another one each time.
    fn filled(&self, sample: &Sample) -> Vec<String> {
        let platform = &self.example.diameters[0];
        let di = platform.boxes[0].di[0].as_str();
        let file = |name: &str| self.folder.path().join(name).display().to_string();
        let fill = |argument: &&str| match *argument {
            "{catalogues}" => CATALOGUES.into(),
            "{release}" => concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/release").into(),
            "{table}" => file("products.csv"),
            "{stock}" => file("stock.csv"),
            "{none}" => file("none.csv"),
            "{recall}" => file("recall.csv"),
            "{lesions}" => file("lesions.toml"),
            "{kept}" => self.kept.display().to_string(),
            "{new}" => file(&format!("new-{}", self.made.fetch_add(1, Ordering::Relaxed))),
            "{today}" => boxcall::room::today().to_string(),
            "{loaded}" => self.loaded.to_string(),
            "{product}" => self.example.id.clone(),
            "{diameter}" => platform.diameter.to_string(),
            "{lumen}" => lumen(&self.example),
            "{di}" => di.into(),
            "{label}" => format!("]d201{di}1731053110L1"),
            other => other.into(),
        };
        sample.arguments.iter().map(fill).collect()
    }

    /// The whole line: command, arguments, and the room where the call does not make its own.
    pub fn line(&self, sample: &Sample) -> Vec<String> {
        let mut line: Vec<String> = sample.command.split_whitespace().map(String::from).collect();
        line.extend(self.filled(sample));
        if sample.reads != Own {
            line.extend(["--room".into(), self.room().display().to_string()]);
        }
        line
    }

    /// Runs one call; no terminal, and nothing of this machine's own room.
    pub fn run(&self, sample: &Sample, json: bool) -> Ran {
        let line = self.line(sample);
        let mut command = Command::new(env!("CARGO_BIN_EXE_boxcall"));
        command.args(&line).stdin(Stdio::null());
        if json {
            command.arg("--json");
        }
        for name in ["HOME", "XDG_DATA_HOME", "TMPDIR"] {
            command.env(name, self.folder.path());
        }
        Ran { output: command.output().unwrap(), line }
    }
}

/// The distal lumen for which the example's diameter is aimed at.
fn lumen(example: &Product) -> String {
    format!("{:.2}", example.diameters[0].diameter.mm() / 1.02)
}

/// One call that was run.
pub struct Ran {
    pub output: Output,
    pub line: Vec<String>,
}

impl Ran {
    pub fn stdout(&self) -> String {
        String::from_utf8_lossy(&self.output.stdout).into_owned()
    }

    pub fn stderr(&self) -> String {
        String::from_utf8_lossy(&self.output.stderr).into_owned()
    }

    pub fn exit(&self) -> Option<i32> {
        self.output.status.code()
    }

    /// The file that the call was told to write, where its last argument but the room names one.
    pub fn file(&self) -> PathBuf {
        let at = self.line.iter().position(|word| word == "--to").unwrap();
        PathBuf::from(&self.line[at + 1])
    }
}

/// Every call that needs no terminal, in order, in one room: in words, or all that have one as JSON.
fn walk(json: bool) -> (Ground, Vec<(&'static Sample, Ran)>) {
    let ground = Ground::new();
    let asked = ALL.iter().filter(|sample| !sample.in_terminal());
    let ran = asked
        .map(|sample| (sample, ground.run(sample, json && sample.json)))
        .inspect(|(sample, ran)| {
            let told = format!("{}: {}{}", sample.typed(), ran.stdout(), ran.stderr());
            assert_eq!(ran.exit(), Some(sample.exit), "{told}");
        })
        .collect();
    (ground, ran)
}

/// The list walked once in words, for every test that reads what is said.
pub fn in_words() -> &'static [(&'static Sample, Ran)] {
    static WALKED: OnceLock<(Ground, Vec<(&'static Sample, Ran)>)> = OnceLock::new();
    &WALKED.get_or_init(|| walk(false)).1
}

/// The list walked once under `--json`; calls that have no object of their own are left out.
pub fn in_json() -> impl Iterator<Item = &'static (&'static Sample, Ran)> {
    static WALKED: OnceLock<(Ground, Vec<(&'static Sample, Ran)>)> = OnceLock::new();
    WALKED.get_or_init(|| walk(true)).1.iter().filter(|(sample, _)| sample.json)
}

/// Commands that have no commands of their own, as the command line describes itself.
fn described() -> Vec<String> {
    fn leaves(command: &clap::Command, path: &str, found: &mut Vec<String>) {
        for inner in command.get_subcommands() {
            let path = format!("{path} {}", inner.get_name()).trim_start().to_string();
            match inner.has_subcommands() {
                true => leaves(inner, &path, found),
                false => found.push(path),
            }
        }
    }
    let mut found = vec![String::new()];
    leaves(&cli::described(), "", &mut found);
    found
}

#[test]
fn every_command_has_a_sample_and_every_sample_a_command() {
    let described = described();
    assert!(described.len() > 40, "{described:?}");
    let sampled = |command: &String| ALL.iter().any(|sample| sample.command == command);
    let without: Vec<&String> = described.iter().filter(|command| !sampled(command)).collect();
    assert!(without.is_empty(), "no sample of {without:?}");
    for sample in ALL {
        assert!(described.iter().any(|command| command == sample.command), "{}", sample.typed());
    }
}

/// Each call ends as it is said to, in words and as JSON: [`walk`] holds each against its exit status.
#[test]
fn every_sample_ends_as_it_says() {
    let (words, json) = (in_words().len(), in_json().count());
    assert!(words > 60 && json > 50, "{words}, {json}");
}

/// A product file that is at fault: what reads products names it and answers nothing, everything else answers.
#[test]
fn a_product_file_at_fault_stops_what_reads_products_and_nothing_else() {
    let (ground, ran) = walk(false);
    drop(ran);
    // As before the product was added, so that adding it meets the fault and not the product.
    let catalogue = ground.room().join("catalogue");
    std::fs::remove_file(catalogue.join(format!("{}.toml", ground.example.id))).unwrap();
    std::fs::write(catalogue.join("zz.toml"), "schema = 1\n").unwrap();
    for sample in ALL.iter().filter(|sample| !sample.in_terminal()) {
        let ran = ground.run(sample, false);
        let told = format!("{}: {}{}", sample.typed(), ran.stdout(), ran.stderr());
        if sample.reads == Products {
            assert_eq!(ran.exit(), Some(2), "{told}");
            assert!(ran.stderr().contains("zz.toml:1: name"), "{told}");
            assert!(ran.stdout().is_empty(), "{told}");
        } else {
            assert_eq!(ran.exit(), Some(sample.exit), "{told}");
        }
    }
}
