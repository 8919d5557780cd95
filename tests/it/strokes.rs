//! Each person's moment by key string, through the real binary in a pseudo-terminal: what it takes is counted, held
//! to what was promised, and kept as a table in docs/figures.md. `UPDATE=1 cargo test --test slow strokes` renews it
//! there.

use crate::pty::{LEAVE, Terminal, piece, scan};
use std::path::Path;

/// Keys, and the words that they bring onto the screen. Characters that stand together number five at most, or they
/// would be taken for a scan.
type Step = (&'static str, &'static str);

struct Moment {
    who: &'static str,
    what: &'static str,
    /// What was promised.
    most: usize,
    /// How the moment is reached; not counted. `scan REF` scans a box of that number.
    before: &'static [Step],
    keys: &'static [Step],
}

const NUMBERS: &[Step] = &[
    ("<↑>", "nothing measured"),
    ("m", "Lesion 1, measured"),
    ("o<Tab>", "OCT"),
    ("2.9<Tab>", "2.9"),
    ("3.2<Tab>", "3.2"),
    ("3.3<Tab>", "3.3"),
    ("3.6<Tab>", "3.6"),
    ("27", "27"),
];
const CALLED: &[Step] = &[
    ("<↑>", "nothing measured"),
    ("3 29", "3 29"),
    ("<Enter>", "A case has begun"),
    ("<F3>", "three point zero, by twenty-nine"),
];
const OPENED: &[Step] = &[
    ("<↑>", "nothing measured"),
    ("3 29", "3 29"),
    ("<Enter>", "A case has begun"),
    ("<F3>", "three point zero, by twenty-nine"),
    ("scan SK30029", "type the size printed on it"),
    ("o", "size on the box"),
    ("3 29", "3 29"),
    ("<Enter>", "box 1 opened for call 1"),
];
const SECOND: &[Step] = &[
    ("<↑>", "nothing measured"),
    ("3 29", "3 29"),
    ("<Enter>", "A case has begun"),
    ("<F3>", "three point zero, by twenty-nine"),
    ("scan FL30029", "type the size printed on it"),
    ("o", "size on the box"),
    ("3 29", "3 29"),
    ("<Enter>", "box 1 opened for call 1"),
    ("<F2>", "drug-eluting"),
    ("=", "call 2"),
    ("scan FL30029", "to be compared by eye"),
];
const WRONG: &[Step] = &[
    ("<↑>", "nothing measured"),
    ("3 29", "3 29"),
    ("<Enter>", "A case has begun"),
    ("<F3>", "three point zero, by twenty-nine"),
    ("scan FL35029", "DIFFERS"),
];
const SETTLED: &[Step] = &[
    ("<↑>", "nothing measured"),
    ("3 29", "3 29"),
    ("<Enter>", "A case has begun"),
    ("<F3>", "three point zero, by twenty-nine"),
    ("scan SK30029", "type the size printed on it"),
    ("o", "size on the box"),
    ("3 29", "3 29"),
    ("<Enter>", "box 1 opened for call 1"),
    ("f", "What became of"),
    ("1", "box 1 implanted"),
];

const MOMENTS: &[Moment] = &[
    Moment {
        who: "circulator",
        what: "a call of a measured lesion, after the numbers",
        most: 12,
        before: NUMBERS,
        keys: &[
            ("<Enter>", "A case has begun"),
            ("<↑>", "In rule distal-EEM"),
            ("3 29", "3 29"),
            ("<Enter>", "call 1: 3.00 × 29"),
        ],
    },
    Moment {
        who: "circulator",
        what: "a matching scan to \"opened\"",
        most: 1,
        before: SECOND,
        keys: &[("o", "box 2 opened for call 2")],
    },
    Moment {
        who: "circulator",
        what: "the first box of an identifier, its printed size typed",
        most: 6,
        before: &[
            ("<↑>", "nothing measured"),
            ("3 29", "3 29"),
            ("<Enter>", "A case has begun"),
            ("<F3>", "three point zero, by twenty-nine"),
            ("scan SK30029", "type the size printed on it"),
        ],
        keys: &[("o", "size on the box"), ("3 29", "3 29"), ("<Enter>", "box 1 opened for call 1")],
    },
    Moment {
        who: "circulator",
        what: "the wrong box goes back",
        most: 1,
        before: WRONG,
        keys: &[("b", "FETCH")],
    },
    Moment {
        who: "circulator",
        what: "the same size again",
        most: 2,
        before: CALLED,
        keys: &[("<F2>", "drug-eluting"), ("=", "call 2")],
    },
    Moment {
        who: "circulator",
        what: "a slip is taken back",
        most: 1,
        before: CALLED,
        keys: &[("u", "struck")],
    },
    Moment {
        who: "scrub",
        what: "an inflation, pressure alone",
        most: 4,
        before: OPENED,
        keys: &[("i", "Balloon up"), ("12", "atm = "), ("<Enter>", "box 1 inflated to 12 atm")],
    },
    Moment {
        who: "scrub",
        what: "the box was dropped",
        most: 3,
        before: OPENED,
        keys: &[("f", "What became of"), ("2", "why"), ("1", "dropped")],
    },
    Moment {
        who: "operator",
        what: "bail-out: what there is, from the middle of typing",
        most: 1,
        before: NUMBERS,
        keys: &[("<F9>", "COVERED STENTS")],
    },
    Moment {
        who: "operator",
        what: "bail-out: the first covered stent is called",
        most: 2,
        before: CALLED,
        keys: &[("<F9>", "COVERED STENTS"), ("<Enter>", "call 2")],
    },
    Moment {
        who: "the team",
        what: "sign-off of a clean case, from any screen",
        most: 2,
        before: SETTLED,
        keys: &[("<F6>", "Everything is settled"), ("<Enter>", "signed off")],
    },
    Moment {
        who: "newcomer",
        what: "the guided tour of the demo room, to the record",
        most: 60,
        before: &[],
        keys: TOUR,
    },
];

/// The tour, each step with what the tour says next: it moved on because the thing was done.
const TOUR: &[Step] = &[
    ("<Enter>", "tour 1 of 11"),
    ("m", "type o (for OCT)"),
    ("o<Tab>", "type 2.8"),
    ("2.8<Tab>", "type 3.1"),
    ("3.1<Tab>", "type 3.3"),
    ("3.3<Tab>", "type 3.6"),
    ("3.6<Tab>", "type 27"),
    ("27", "27"),
    ("<Enter>", "A case has begun. Any key goes on"),
    ("<↑>", "tour 2 of 11"),
    ("3 29", "3 29"),
    ("<Enter>", "tour 3 of 11"),
    ("<F3>", "tour 4 of 11"),
    ("W", "tour 5 of 11"),
    ("b", "tour 6 of 11"),
    ("P", "tour 7 of 11"),
    ("o", "size on the box"),
    ("3 29", "3 29"),
    ("<Enter>", "tour 8 of 11"),
    ("i", "Type 12"),
    ("12", "atm = "),
    ("<Enter>", "tour 9 of 11"),
    ("f", "1: implanted"),
    ("1", "tour 10 of 11"),
    ("<F6>", "Enter: signs the case off"),
    ("<Enter>", "tour 11 of 11"),
];

/// One key after another: what a terminal sends for each.
fn strokes(keys: &str) -> Vec<&[u8]> {
    let mut rest = keys;
    let mut strokes = Vec::new();
    while let Some(first) = rest.chars().next() {
        let named = rest.strip_prefix('<').and_then(|after| after.split_once('>'));
        let (bytes, left): (&[u8], &str) = match named {
            Some((name, left)) => (bytes_of(name), left),
            None => (&rest.as_bytes()[..first.len_utf8()], &rest[first.len_utf8()..]),
        };
        strokes.push(bytes);
        rest = left;
    }
    strokes
}

fn bytes_of(name: &str) -> &'static [u8] {
    match name {
        "Enter" => b"\r",
        "Tab" => b"\t",
        "↑" => b"\x1b[A",
        "F2" => b"\x1bOQ",
        "F3" => b"\x1bOR",
        "F6" => b"\x1b[17~",
        "F9" => b"\x1b[20~",
        _ => panic!("{name}: no bytes are known for this key"),
    }
}

fn walk(terminal: &mut Terminal, room: &Path, steps: &[Step]) -> usize {
    let mut count = 0;
    for (keys, then) in steps {
        if let Some(reference) = keys.strip_prefix("scan ") {
            let bytes = scan(&piece(room, reference), "\r");
            terminal.send(&bytes).sees(then);
            terminal.awake();
            continue;
        }
        let strokes = strokes(keys);
        let characters = strokes.iter().filter(|bytes| bytes.len() == 1).count();
        assert!(characters < 6, "{keys:?} would be taken for a scan");
        count += strokes.len();
        terminal.send(&strokes.concat()).sees(then);
        // The keys that scan for practice.
        if matches!(*keys, "W" | "P") {
            terminal.awake();
        }
    }
    count
}

/// Walks a moment in a demo room of its own, and says how many keys it took.
fn counted(moment: &Moment) -> usize {
    let folder = tempfile::tempdir().expect("a folder");
    let room = folder.path().join("room");
    let path = room.to_str().expect("a path").to_string();
    let mut terminal = Terminal::open(&["demo", "--room", &path], &[], 80, 24);
    terminal.sees("boxcall: the demo room");
    walk(&mut terminal, &room, moment.before);
    let count = walk(&mut terminal, &room, moment.keys);
    if moment.keys == TOUR {
        let screen = terminal.contents();
        let place = screen.lines().find_map(|line| line.trim().strip_prefix("Its record: "));
        let place = place.unwrap_or_else(|| panic!("the tour ends with where the record is\n{screen}"));
        assert!(room.join("records").read_dir().expect("the records").count() > 0, "{place}");
    }
    terminal.send(LEAVE.as_bytes());
    assert_eq!(terminal.ended(), 0);
    count
}

const BEGIN: &str = "<!-- strokes -->\n";
const END: &str = "<!-- /strokes -->";

#[test]
fn each_persons_moment_takes_the_keys_that_were_promised() {
    let mut table = String::from("| who | moment | keys | at most |\n| --- | --- | --- | --- |\n");
    let counts: Vec<usize> = std::thread::scope(|scope| {
        let walks: Vec<_> = MOMENTS.iter().map(|moment| scope.spawn(|| counted(moment))).collect();
        walks.into_iter().map(|walk| walk.join().expect("the walk ends")).collect()
    });
    for (moment, count) in MOMENTS.iter().zip(counts) {
        assert!(count <= moment.most, "{}: {count} keys, at most {}", moment.what, moment.most);
        table.push_str(&format!("| {} | {} | {count} | {} |\n", moment.who, moment.what, moment.most));
    }
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/figures.md");
    let text = std::fs::read_to_string(&file).expect("there is a docs/figures.md");
    let (before, rest) = text.split_once(BEGIN).expect("it marks where the table begins");
    let (kept, after) = rest.split_once(END).expect("it marks where the table ends");
    if std::env::var("UPDATE").is_ok_and(|value| value == "1") {
        std::fs::write(&file, format!("{before}{BEGIN}{table}{END}{after}")).expect("it can be written");
        return;
    }
    assert_eq!(kept, table, "UPDATE=1 renews the table");
}
