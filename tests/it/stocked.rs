//! The shelf between cases: received, moved, counted, pulled; on any date. The numbers are arithmetic over the rows that
//! stand in the test.

use crate::program::{boxcall_on, words};
use boxcall::catalogue::Piece;
use boxcall::journal::{Entry, Fact};
use boxcall::room::Room;
use boxcall::shelf::Shelf;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Output;

const HEAD: &str = "di,lot,serial,use_by,shelf,count,owner\n";

fn piece(lot: &str, shelf: &str, count: u32) -> Piece {
    Piece {
        di: boxcall::udi::DeviceId::parse("09521001275293").unwrap(),
        lot: lot.into(),
        serial: None,
        use_by: Some("2027-05-31".parse().unwrap()),
        shelf: shelf.into(),
        count,
        owner: Default::default(),
    }
}

fn entry(seq: u64, fact: Fact) -> Entry {
    let at = format!("2026-11-{:02}T23:30:00+01:00", 10 + seq).parse().unwrap();
    Entry { seq, at, command: format!("c{seq}"), case: None, fact }
}

fn lying(shelf: &Shelf) -> Vec<(String, String, u32)> {
    shelf.pieces().into_iter().map(|piece| (piece.shelf.clone(), piece.lot.clone(), piece.count)).collect()
}

fn of(rows: &[(&str, &str, u32)]) -> Vec<(String, String, u32)> {
    rows.iter().map(|(shelf, lot, count)| (shelf.to_string(), lot.to_string(), *count)).collect()
}

#[test]
fn the_shelf_follows_what_is_received_moved_counted_and_pulled() {
    let mut entries = Vec::new();
    let mut after = |fact| {
        entries.push(entry(entries.len() as u64 + 1, fact));
        Shelf::fold(&entries)
    };
    let loaded = after(Fact::StockLoaded { from: "x".into(), pieces: vec![piece("L1", "A", 2)] });
    assert_eq!(lying(&loaded), of(&[("A", "L1", 2)]));
    let received = after(Fact::StockReceived {
        from: "y".into(),
        pieces: vec![piece("L1", "A", 3), piece("L2", "A", 1)],
    });
    assert_eq!(lying(&received), of(&[("A", "L1", 5), ("A", "L2", 1)]), "alike rows become one");
    let moved = after(Fact::StockMoved { pieces: vec![piece("L1", "A", 2)], to: "B".into() });
    assert_eq!(lying(&moved), of(&[("A", "L1", 3), ("A", "L2", 1), ("B", "L1", 2)]));
    let more_than_there = after(Fact::StockMoved { pieces: vec![piece("L2", "A", 7)], to: "B".into() });
    assert_eq!(lying(&more_than_there), of(&[("A", "L1", 3), ("B", "L1", 2), ("B", "L2", 1)]));
    let counted = after(Fact::StockCounted { shelf: "B".into(), pieces: vec![piece("L2", "B", 4)] });
    assert_eq!(lying(&counted), of(&[("A", "L1", 3), ("B", "L2", 4)]));
    let changes = counted.changes_from(&more_than_there);
    let told: Vec<_> = changes.iter().map(|c| (c.piece.lot.as_str(), c.before, c.piece.count)).collect();
    assert_eq!(told, [("L1", 2, 0), ("L2", 1, 4)]);
    let pulled = after(Fact::StockPulled { why: "wet".into(), pieces: vec![piece("L1", "A", 3)] });
    assert_eq!(lying(&pulled), of(&[("B", "L2", 4)]));
    let struck = after(Fact::StruckOut { entry: 6, why: "they were dry".into() });
    assert_eq!(lying(&struck), of(&[("A", "L1", 3), ("B", "L2", 4)]));
}

struct Lab {
    folder: tempfile::TempDir,
}

impl Lab {
    fn new() -> Lab {
        let folder = tempfile::tempdir().unwrap();
        Room::lay_demo(&folder.path().join("room")).unwrap();
        Lab { folder }
    }

    fn file(&self, name: &str, text: &str) -> PathBuf {
        let path = self.folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path
    }

    fn run(&self, words: &[&str]) -> Output {
        boxcall_on(self.folder.path().join("room"), &[&["--json"], words].concat())
    }

    fn answer(&self, words: &[&str]) -> Value {
        let output = self.run(words);
        assert!(output.status.success(), "{words:?}: {}", String::from_utf8_lossy(&output.stdout));
        serde_json::from_slice(&output.stdout).unwrap()
    }

    fn pieces(&self) -> u64 {
        self.answer(&["stock", "list"])["pieces"].as_u64().unwrap()
    }
}

fn word(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn differences_are_told_before_anything_is_written() {
    let lab = Lab::new();
    let before = lab.pieces();
    let delivery = format!("{HEAD}09521001275293,NEW1,,2028-05-31,dock,3,consigned\n");
    let delivery = lab.file("delivery.csv", &delivery);
    let looked = lab.answer(&["stock", "receive", word(&delivery)]);
    assert_eq!((looked["entry"].clone(), lab.pieces()), (Value::Null, before));
    assert_eq!(looked["changes"][0]["before"], 0);
    assert_eq!(looked["changes"][0]["after"], 3);
    let written = lab.answer(&["stock", "receive", word(&delivery), "--write"]);
    assert!(written["entry"].is_u64());
    assert_eq!(lab.pieces(), before + 3);

    let moving = ["stock", "move", "--from", "dock", "--to", "B", "--lot", "new1", "--count", "2", "--write"];
    assert_eq!(lab.answer(&moving)["changes"].as_array().unwrap().len(), 2);
    let again = lab.run(&moving);
    assert_eq!(again.status.code(), Some(1), "one piece is left there, two should move");
    assert_eq!(lab.pieces(), before + 3);

    let found = lab.file("found.csv", &format!("{HEAD}09521001275293,NEW1,,2028-05-31,dock,5,consigned\n"));
    let count = |more: &[&str]| {
        let mut words = vec!["stock", "count", word(&found), "--shelf", "dock"];
        words.extend(more);
        lab.answer(&words)
    };
    assert_eq!(count(&[])["changes"][0]["after"], 5);
    assert_eq!(lab.pieces(), before + 3);
    count(&["--write"]);
    assert_eq!(lab.pieces(), before + 7);
    assert_eq!(count(&["--write"])["entry"], Value::Null, "nothing changes, so nothing is written");
    let elsewhere = lab.run(&["stock", "count", word(&found), "--shelf", "B"]);
    assert_eq!(elsewhere.status.code(), Some(2));
}

#[test]
fn a_delivery_that_is_received_twice_is_pointed_out_and_still_taken() {
    let lab = Lab::new();
    let rows = |first: &str, second: &str| format!("{HEAD}{first}{second}");
    let (one, two) =
        ("09521001275293,N1,,2031-05-31,dock,3,own\n", "09521001275293,,S1,2031-05-31,dock,1,own\n");
    let file = lab.file("delivery.csv", &rows(one, two));
    let codes = |answer: &Value| -> Vec<String> {
        let cautions = answer["cautions"].as_array().unwrap();
        let codes = cautions.iter().map(|caution| caution["code"].as_str().unwrap().to_string());
        codes.filter(|code| code != "new-place").collect()
    };
    let none: Vec<String> = Vec::new();
    assert_eq!(codes(&lab.answer(&["stock", "receive", word(&file)])), none);
    assert_eq!(codes(&lab.answer(&["stock", "receive", word(&file)])), none, "looking receives nothing");
    let first = lab.answer(&["stock", "receive", word(&file), "--write"]);
    assert_eq!(codes(&first), none);
    let entry = first["entry"].as_u64().unwrap();
    let before = lab.pieces();
    // The same list under another name and in another order; its serial number is on the shelf.
    let again = lab.file("again.csv", &rows(two, one));
    let looked = lab.answer(&["stock", "receive", word(&again)]);
    assert_eq!(codes(&looked), ["received-before", "serial-there"]);
    let message = looked["cautions"][0]["message"].as_str().unwrap();
    assert!(message.contains("delivery.csv") && message.contains(&format!("entry {entry}")), "{message}");
    let at = Room::look(&lab.folder.path().join("room")).unwrap().journal().unwrap();
    let at = at.iter().find(|written| written.seq == entry).unwrap().at.format("%F %R").to_string();
    assert!(message.contains(&at), "{message}");
    assert_eq!(lab.pieces(), before);
    // One piece more is another delivery.
    let more = lab.file("more.csv", &rows("09521001275293,N1,,2031-05-31,dock,4,own\n", ""));
    assert_eq!(codes(&lab.answer(&["stock", "receive", word(&more)])), none);
    // It may have come twice: it is taken.
    lab.answer(&["stock", "receive", word(&lab.file("delivery.csv", &rows(one, ""))), "--write"]);
    assert_eq!(lab.pieces(), before + 3);
    // What was loaded as a whole is on the shelf as well.
    lab.answer(&["stock", "load", word(&file)]);
    let loaded = lab.answer(&["stock", "receive", word(&file)]);
    let message = loaded["cautions"][0]["message"].as_str().unwrap();
    assert!(message.contains("was loaded before"), "{message}");
    // A receipt that was struck out did not come.
    let mut room = Room::open(&lab.folder.path().join("room")).unwrap();
    for entry in room.journal().unwrap() {
        if matches!(entry.fact, Fact::StockReceived { .. } | Fact::StockLoaded { .. }) {
            room.write(None, &[Fact::StruckOut { entry: entry.seq, why: "a slip".into() }]).unwrap();
        }
    }
    drop(room);
    assert_eq!(codes(&lab.answer(&["stock", "receive", word(&file)])), none);
}

#[test]
fn a_recall_entered_by_mistake_is_struck_out_and_stays_to_be_read() {
    let lab = Lab::new();
    let rows = "09521001275293,L1,,2031-05-31,A,3,own\n09521001300292,L2,,2031-05-31,A,1,own\n";
    lab.answer(&["stock", "load", word(&lab.file("stock.csv", &format!("{HEAD}{rows}")))]);
    let recalled = || -> Vec<bool> {
        let listed = lab.answer(&["stock", "list"]);
        listed["rows"].as_array().unwrap().iter().map(|row| row["recalled"].as_bool().unwrap()).collect()
    };
    let any = lab.answer(&["stock", "recall", word(&lab.file("any.csv", "lot\nL1\nL2\n"))]);
    let first = any["entry"].as_u64().unwrap();
    let one = lab.file("one.csv", "lot,di\nl1,09521001275293\n");
    let second = lab.answer(&["stock", "recall", word(&one)])["entry"].as_u64().unwrap();
    assert_eq!(recalled(), [true, true]);

    let [both, last] = [format!("{first}-{}", first + 1), second.to_string()];
    let strike = |entries: &str, more: &[&str]| {
        let mut words = vec!["stock", "strike", entries, "--reason", "the notice was for another room"];
        words.extend(more);
        lab.run(&words)
    };
    let answer = |output: Output| -> Value { serde_json::from_slice(&output.stdout).unwrap() };
    let looked = answer(strike(&both, &[]));
    assert_eq!((looked["entry"].clone(), recalled()), (Value::Null, vec![true, true]), "shown first");
    assert_eq!(looked["struck"].as_array().unwrap().len(), 2);
    assert_eq!(looked["cautions"][0]["code"], "still-recalled", "{looked}");
    assert_eq!(looked["cautions"].as_array().unwrap().len(), 1, "L2 is recalled no more");
    let written = answer(strike(&both, &["--write"]));
    let by = written["entry"].as_u64().unwrap();
    assert_eq!(recalled(), [true, false]);
    assert!(strike(&last, &["--write"]).status.success());
    assert_eq!(recalled(), [false, false]);

    // Everything is still there to be read, with why.
    let told = lab.answer(&["stock", "history", "--lot", "L2"]);
    let recall =
        told["entries"].as_array().unwrap().iter().find(|entry| entry["entry"] == first + 1).unwrap();
    assert_eq!(
        (recall["what"].clone(), recall["words"].clone()),
        ("lot-recalled".into(), "lot L2 recalled".into())
    );
    assert_eq!(recall["struck_out"], "the notice was for another room");
    assert_eq!(recall["struck_out_by"], by + 1);
    assert_eq!(told["entries"][0]["pieces"][0]["count"], 1, "{told}");
    // It can be recalled again.
    assert_eq!(lab.answer(&["stock", "recall", word(&one)])["written"], 1);
    assert_eq!(recalled(), [true, false]);
}

#[test]
fn a_strike_tells_what_changes_and_refuses_what_is_no_entry_of_the_shelf() {
    let lab = Lab::new();
    let row = |count: u32| format!("{HEAD}09521001275293,L1,,2031-05-31,A,{count},own\n");
    lab.answer(&["stock", "load", word(&lab.file("stock.csv", &row(5)))]);
    let received = lab.answer(&["stock", "receive", word(&lab.file("more.csv", &row(2))), "--write"]);
    let received = received["entry"].as_u64().unwrap().to_string();
    lab.answer(&["stock", "pull", "--reason", "damaged", "--lot", "L1", "--count", "1", "--write"]);
    assert_eq!(lab.pieces(), 6);
    let strike = |entry: &str, more: &[&str]| {
        let mut words = vec!["stock", "strike", entry, "--reason", "counted twice"];
        words.extend(more);
        lab.run(&words)
    };
    let looked: Value = serde_json::from_slice(&strike(&received, &[]).stdout).unwrap();
    let change = &looked["changes"][0];
    assert_eq!((change["before"].clone(), change["after"].clone(), lab.pieces()), (6.into(), 4.into(), 6));
    assert!(strike(&received, &["--write"]).status.success());
    assert_eq!(lab.pieces(), 4);
    // Not twice, not a strike, not an entry of a case, not one that is not there, and no number at all.
    let mut room = Room::open(&lab.folder.path().join("room")).unwrap();
    let case = boxcall::journal::CaseCode::parse("ACDEF").unwrap();
    let begun = room.write(Some(&case), &[Fact::CaseBegun]).unwrap()[0].seq;
    drop(room);
    for (entry, status, says) in [
        (received.clone(), 2, "already"),
        ((begun - 1).to_string(), 2, "can't be struck out"),
        (begun.to_string(), 2, "case ACDEF"),
        ((begun + 7).to_string(), 1, "the journal has none"),
        ("0".into(), 2, "not the number of an entry"),
        ("9-3".into(), 2, "not the number of an entry"),
        ("all".into(), 2, "not the number of an entry"),
    ] {
        let output = strike(&entry, &["--write"]);
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(output.status.code() == Some(status) && said.contains(says), "{entry}: {said}");
    }
    let silent = lab.run(&["stock", "strike", "1", "--reason", " ", "--write"]);
    assert_eq!(silent.status.code(), Some(2), "why is always said");
    assert_eq!(lab.pieces(), 4);
}

/// Whatever is struck out: what is told beforehand is what the whole fold says afterwards.
#[test]
fn what_a_strike_would_change_is_what_the_fold_says() {
    let lab = Lab::new();
    let dir = lab.folder.path().join("room");
    let mut room = Room::open(&dir).unwrap();
    let facts = [
        Fact::StockLoaded { from: "x".into(), pieces: vec![piece("L1", "A", 4), piece("L2", "A", 2)] },
        Fact::StockMoved { pieces: vec![piece("L1", "A", 2)], to: "B".into() },
        Fact::StockLoaded { from: "y".into(), pieces: vec![piece("L1", "A", 9)] },
        Fact::StockReceived { from: "z".into(), pieces: vec![piece("L3", "B", 3)] },
        Fact::StockMoved { pieces: vec![piece("L3", "B", 2)], to: "A".into() },
        Fact::StockCounted { shelf: "A".into(), pieces: vec![piece("L3", "A", 1)] },
        Fact::StockPulled { why: "wet".into(), pieces: vec![piece("L3", "B", 1)] },
    ];
    let written: Vec<u64> = facts
        .iter()
        .flat_map(|fact| room.write(None, std::slice::from_ref(fact)).unwrap())
        .map(|e| e.seq)
        .collect();
    let entries = room.journal().unwrap();
    for seq in &written {
        let mut told = entries.clone();
        let next = entries.last().unwrap().seq + 1;
        told.push(entry(next.min(15), Fact::StruckOut { entry: *seq, why: "x".into() }));
        let whole = Shelf::fold_with(&room.catalogue, &told);
        let quick = room.shelf_without(&[*seq].into()).unwrap();
        assert_eq!(lying(&quick), lying(&whole), "without {seq}");
    }
}

/// Of a product that was withdrawn the cases still know what it was; of a box that nobody ever read only its identifier.
#[test]
fn a_box_that_no_product_file_has_any_more_is_listed_with_what_the_cases_knew_of_it() {
    let lab = Lab::new();
    let rows = "09521001300292,L1,,2031-05-31,A,2,own\n09521001275293,L2,,2031-05-31,A,1,own\n";
    lab.answer(&["stock", "load", word(&lab.file("stock.csv", &format!("{HEAD}{rows}")))]);
    let dir = lab.folder.path().join("room");
    let case = boxcall::journal::CaseCode::parse("ACDEF").unwrap();
    let opened = |lot: &str, product: Option<&str>, name: &str| Fact::BoxOpened {
        item: 1,
        call: None,
        lesion: None,
        label: boxcall::journal::BoxRead {
            product: product.map(String::from),
            name: name.into(),
            diameter: product.map(|_| boxcall::units::Diameter::from_mm(3.0)),
            length: product.map(|_| boxcall::units::Length::from_mm(29.0)),
            reference: product.map(|_| "FL30029".into()),
            di: Some(boxcall::udi::DeviceId::parse("09521001300292").unwrap()),
            lot: Some(lot.into()),
            ..Default::default()
        },
        finding: "".into(),
        reason: None,
        minutes_ago: None,
    };
    let mut room = Room::open(&dir).unwrap();
    let facts = [
        Fact::CaseBegun,
        opened("Z1", Some("fell"), "Fell"),
        // Read when no product file had it any more: a name that somebody typed says nothing for certain.
        opened("Z2", None, "a red box"),
    ];
    let at = room.write(Some(&case), &facts).unwrap()[1].at;
    drop(room);
    let row = |place: usize| lab.answer(&["stock", "list"])["rows"][place].clone();
    let named = |row: &Value| row["di"] == "09521001300292";
    assert_eq!((0..2).map(row).find(named).unwrap()["remembered"], Value::Null, "the catalogue has it");
    std::fs::remove_file(dir.join("catalogue/fell.toml")).unwrap();
    let rows: Vec<Value> = (0..2).map(row).collect();
    let known = rows.iter().find(|row| named(row)).unwrap();
    assert_eq!((known["product"].clone(), known["diameter_mm"].clone()), (Value::Null, Value::Null));
    assert_eq!(
        known["remembered"],
        serde_json::json!({
            "product": "fell", "name": "Fell", "diameter_mm": 3.0, "length_mm": 29.0, "ref": "FL30029",
            "read": serde_json::to_value(at).unwrap()
        })
    );
    assert_eq!(rows.iter().find(|row| !named(row)).unwrap()["remembered"], Value::Null);
    let page = words(&boxcall_on(&dir, &["stock", "list"]).stdout);
    let day = at.format("%F");
    let told = format!("09521001300292 IN NO PRODUCT FILE; read on {day} as 3.00 × 29 Fell (FL30029)");
    assert!(page.contains(&told), "{page}");
    assert!(page.contains("09521001275293 IN NO PRODUCT FILE  lot L2"), "{page}");
}

#[test]
fn a_place_that_may_be_misspelt_and_a_box_that_may_not_be_used_are_pointed_out() {
    let lab = Lab::new();
    lab.answer(&[
        "stock",
        "load",
        word(&lab.file("a.csv", &format!("{HEAD}09521001275293,L1,,2031-05-31,A,3,own\n"))),
    ]);
    lab.answer(&["stock", "recall", word(&lab.file("recall.csv", "lot\nL7\n"))]);
    let told = |answer: &Value| -> Vec<(String, String)> {
        let cautions = answer["cautions"].as_array().unwrap().iter();
        let text = |caution: &Value, key: &str| caution[key].as_str().unwrap().to_string();
        cautions.map(|caution| (text(caution, "code"), text(caution, "message"))).collect()
    };
    let rows = "09521001275293,L2,,2020-05-31,a,1,own\n09521001275293,l7,,2031-05-31,A,1,own\n\
                09521001275293,L3,,2031-05-31,A,0,own\n09521001275293,L4,,2031-05-31,a,1,own\n";
    let file = lab.file("delivery.csv", &format!("{HEAD}{rows}"));
    let received = told(&lab.answer(&["stock", "receive", word(&file)]));
    let codes: Vec<&str> = received.iter().map(|(code, _)| code.as_str()).collect();
    assert_eq!(codes, ["expired", "recalled", "new-place"], "{received:?}");
    assert!(received[0].1.contains("lot L2") && received[0].1.contains("2020-05-31"), "{received:?}");
    assert!(received[1].1.contains("lot l7"), "{received:?}");
    assert!(received[2].1.contains("There is \"A\""), "{received:?}");
    let moving = told(&lab.answer(&["stock", "move", "--from", "A", "--to", "B"]));
    assert!(
        moving.len() == 1 && moving[0].0 == "new-place" && !moving[0].1.contains("There is"),
        "{moving:?}"
    );
    let misspelt = lab.run(&["stock", "move", "--from", "a", "--to", "B"]);
    assert_eq!(misspelt.status.code(), Some(1));
    let said = String::from_utf8_lossy(&misspelt.stdout).into_owned();
    assert!(said.contains("how the place is written") && said.contains("There is"), "{said}");
    // Everything is taken all the same.
    assert!(lab.answer(&["stock", "receive", word(&file), "--write"])["entry"].is_u64());
    assert_eq!(lab.pieces(), 6);
    // The first delivery of a room has no place to go by.
    lab.answer(&["stock", "pull", "--reason", "closed for the summer", "--from", "A", "--write"]);
    lab.answer(&["stock", "pull", "--reason", "closed for the summer", "--from", "a", "--write"]);
    let first = told(&lab.answer(&[
        "stock",
        "receive",
        word(&lab.file("b.csv", &format!("{HEAD}09521001275293,L9,,2031-05-31,Z,3,own\n"))),
    ]));
    assert_eq!(first, []);
}

#[test]
fn a_faulty_file_changes_nothing() {
    let lab = Lab::new();
    let before = lab.pieces();
    let bad = lab.file(
        "bad.csv",
        &format!("{HEAD}09521001275293,L1,,2028-05-31,A,3,own\n09521001275293,L1,,someday,A,3,own\n"),
    );
    let refused = lab.run(&["stock", "receive", word(&bad), "--write"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stdout).contains("bad.csv:3: use_by"));
    assert_eq!(lab.pieces(), before);
}

/// An export that was cut off behind its header empties no cupboard.
#[test]
fn a_table_without_a_row_does_not_empty_the_shelf() {
    let lab = Lab::new();
    let before = lab.pieces();
    let empty = lab.file("empty.csv", HEAD);
    let refused = lab.run(&["stock", "load", word(&empty)]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stdout).contains("no row below the header"));
    assert_eq!(lab.pieces(), before);
}

#[test]
fn the_expired_are_pulled_and_the_shelf_of_another_day_can_be_shown() {
    let lab = Lab::new();
    let before = lab.answer(&["stock", "list", "--today", "2027-06-30"]);
    let expired: u64 = before["rows"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|row| row["in_date"] == false)
        .map(|row| row["count"].as_u64().unwrap())
        .sum();
    assert!(expired > 0);
    lab.answer(&["stock", "pull", "--expired", "--today", "2027-06-30", "--write"]);
    assert_eq!(lab.pieces(), before["pieces"].as_u64().unwrap() - expired);
    let earlier = lab.answer(&["stock", "list", "--on", "2020-01-01"]);
    assert_eq!(earlier["pieces"], 0);
    let today = lab.answer(&["stock", "list", "--on", "2999-01-01"]);
    assert_eq!(today["pieces"], lab.pieces());
    // What is printed is what can be loaded again.
    let text = lab.answer(&["stock", "export"])["csv"].as_str().unwrap().to_string();
    let file = lab.file("export.csv", &text);
    let pieces = lab.pieces();
    lab.answer(&["stock", "load", word(&file)]);
    assert_eq!(lab.pieces(), pieces);
    let template = lab.answer(&["stock", "template"])["csv"].as_str().unwrap().to_string();
    lab.answer(&["stock", "receive", word(&lab.file("template.csv", &template))]);
}

#[test]
fn boxes_go_back_to_their_owner_or_are_thrown_away_by_an_explicit_choice() {
    let lab = Lab::new();
    let rows = "09521001275293,L1,,2028-05-31,A,3,consigned\n\
                09521001275293,L2,,2029-05-31,A,2,own\n\
                09521001300292,L2,,2029-05-31,B,1,borrowed from Ward 4\n\
                09521001300292,,S9,2029-05-31,B,1,own\n";
    lab.answer(&["stock", "load", word(&lab.file("stock.csv", &format!("{HEAD}{rows}")))]);
    let pull = |more: &[&str]| {
        let mut words = vec!["stock", "pull", "--reason", "returned to the owner"];
        words.extend(more);
        lab.run(&words)
    };
    let said = |output: &Output| String::from_utf8_lossy(&output.stdout).into_owned();
    // The whole shelf is never meant, and no box is chosen by the program.
    assert_eq!(pull(&["--write"]).status.code(), Some(2));
    assert_eq!(pull(&["--count", "1", "--write"]).status.code(), Some(2));
    let open = pull(&["--from", "A", "--count", "1", "--write"]);
    assert!(open.status.code() == Some(2) && said(&open).contains("name the lot"), "{}", said(&open));
    let none = pull(&["--lot", "L7", "--write"]);
    assert!(none.status.code() == Some(1) && said(&none).contains("not-found"), "{}", said(&none));
    let more_than_there = pull(&["--lot", "L1", "--count", "4", "--write"]);
    assert_eq!(more_than_there.status.code(), Some(1));
    for empty in ["", " ", "two\nlines"] {
        let output = lab.run(&["stock", "pull", "--reason", empty, "--lot", "L1", "--write"]);
        assert_eq!(output.status.code(), Some(2), "{empty:?}");
    }
    assert_eq!(lab.pieces(), 7, "nothing of all that was written");

    let gone = |more: &[&str]| {
        let mut words = vec!["stock", "pull", "--reason", "returned to the owner"];
        words.extend(more);
        let answer = lab.answer(&words);
        let changes = answer["changes"].as_array().unwrap();
        let told: Vec<String> = changes
            .iter()
            .map(|change| {
                format!("{} {} {}", change["lot"].as_str().unwrap(), change["before"], change["after"])
            })
            .collect();
        (told.join(", "), answer["entry"].is_u64())
    };
    assert_eq!(gone(&["--owner", "consigned"]), ("L1 3 0".into(), false));
    assert_eq!(lab.pieces(), 7, "shown first");
    assert_eq!(gone(&["--lot", "l1", "--count", "1", "--write"]), ("L1 3 2".into(), true));
    assert_eq!(gone(&["--owner", "consigned", "--write"]), ("L1 2 0".into(), true));
    assert_eq!(gone(&["--owner", "borrowed from Ward 4", "--write"]), ("L2 1 0".into(), true));
    assert_eq!(gone(&["--serial", "S9", "--from", "B", "--write"]), (" 1 0".into(), true));
    // By its catalogue number; a choice narrows what is expired too.
    assert_eq!(gone(&["--expired", "--today", "2030-01-01", "--from", "B"]), (String::new(), false));
    assert_eq!(gone(&["--ref", "FL27529", "--write"]), ("L2 2 0".into(), true));
    assert_eq!(lab.pieces(), 0);
    let entries = Room::look(&lab.folder.path().join("room")).unwrap().journal().unwrap();
    let whys = entries.iter().filter_map(|entry| match &entry.fact {
        Fact::StockPulled { why, .. } => Some(why.as_str()),
        _ => None,
    });
    assert_eq!(whys.collect::<Vec<_>>(), ["returned to the owner"; 5]);
}

#[test]
fn the_shelf_of_a_day_holds_what_was_written_by_then() {
    let entries = [
        entry(1, Fact::StockLoaded { from: "x".into(), pieces: vec![piece("L1", "A", 2)] }),
        entry(5, Fact::StockPulled { why: "x".into(), pieces: vec![piece("L1", "A", 2)] }),
    ];
    // Written at half past eleven in the evening of the 11th, by the room's own clock.
    let by = |day: &str| {
        let day = day.parse::<chrono::NaiveDate>().unwrap();
        Shelf::fold(entries.iter().filter(|entry| entry.at.date_naive() <= day))
    };
    assert_eq!(lying(&by("2026-11-10")), of(&[]));
    assert_eq!(lying(&by("2026-11-11")), of(&[("A", "L1", 2)]));
    assert_eq!(lying(&by("2026-11-15")), of(&[]));
}

#[test]
fn what_a_load_would_change_is_told_and_nothing_is_written() {
    let lab = Lab::new();
    let before = lab.pieces();
    let file = lab.file("stock.csv", &format!("{HEAD}09521001275293,NEW1,,2028-05-31,dock,3,own\n"));
    let looked = lab.answer(&["stock", "load", word(&file), "--preview"]);
    assert_eq!((looked["entry"].clone(), looked["pieces"].clone()), (Value::Null, 3.into()));
    let changes = looked["changes"].as_array().unwrap();
    let sum = |key: &str| changes.iter().map(|change| change[key].as_u64().unwrap()).sum::<u64>();
    assert_eq!((sum("before"), sum("after")), (before, 3), "everything that lay there goes");
    assert_eq!(lab.pieces(), before);
    assert!(lab.answer(&["stock", "load", word(&file)])["entry"].is_u64());
    assert_eq!(lab.pieces(), 3);
}

/// The pars are those of catalogues/room/policy.toml: "3.00x29" = 2, FP-180 = 8.
#[test]
fn the_order_list_is_what_the_pars_lack() {
    let lab = Lab::new();
    let file = lab.file(
        "stock.csv",
        &format!("{HEAD}09521001300292,L1,,2028-05-31,A,1,own\n09521001300292,L2,,2020-05-31,A,5,own\n"),
    );
    lab.answer(&["stock", "load", word(&file)]);
    let order = lab.answer(&["stock", "short", "--today", "2026-11-25"]);
    let short = order["short"].as_array().unwrap();
    let of = |item: &str| short.iter().find(|row| row["item"] == item).unwrap_or_else(|| panic!("{order}"));
    let size = of("3.00x29");
    assert_eq!(
        (size["wanted"].clone(), size["on_shelf"].clone(), size["missing"].clone(), size["place"].clone()),
        (2.into(), 1.into(), 1.into(), "A".into()),
        "what is past its date does not count"
    );
    assert!(size["boxes"].as_array().unwrap().iter().any(|one| one["ref"] == "FL30029"), "{size}");
    assert_eq!((of("FP-180")["missing"].clone(), of("FP-180")["place"].clone()), (8.into(), Value::Null));
    assert_eq!(short.len() as u64, order["items"].as_u64().unwrap(), "nothing else lies there");
}

#[test]
fn products_are_added_all_or_none() {
    let lab = Lab::new();
    let products = || lab.answer(&["catalogue", "check"])["products"].as_u64().unwrap();
    let before = products();
    let one = |id: &str, di: &str| {
        format!(
            "schema = 1\nid = \"{id}\"\nname = \"{id}\"\nmaker = \"Lowfell (invented)\"\nkind = \"other\"\n\
             boxes = [{{ ref = \"{id}-1\", di = [\"{di}\"] }}]\n"
        )
    };
    // Check digits by tests/reference/gtins.py's rule: @gs1-check-digit.
    let good = lab.file("gully.toml", &one("gully", "09521999000006"));
    let clashing = lab.file("runnel.toml", &one("runnel", "09521001275293"));
    let refused = lab.run(&["catalogue", "add", word(&good), word(&clashing)]);
    assert_eq!(refused.status.code(), Some(2), "{}", String::from_utf8_lossy(&refused.stdout));
    assert_eq!(
        products(),
        before,
        "an identifier of the second stands in another product, so the first stays out too"
    );
    let looked = lab.answer(&["catalogue", "add", word(&good), "--preview"]);
    assert_eq!((looked["written"].clone(), products()), (false.into(), before));
    let added = lab.answer(&["catalogue", "add", word(&good)]);
    assert_eq!((added["boxes"].clone(), products()), (1.into(), before + 1));
    let again = lab.run(&["catalogue", "add", word(&good)]);
    assert_eq!(again.status.code(), Some(2), "its id is there already");
    let table = lab.answer(&["catalogue", "template"])["csv"].as_str().unwrap().to_string();
    let taken = lab.run(&["catalogue", "add", word(&lab.file("taken.csv", &table))]);
    assert_eq!(taken.status.code(), Some(2), "the template's example is a product of the demo");
    let new = table.replace("fell", "gill").replace("09521001275293", "09521999000013");
    let table = lab.file("table.csv", &new);
    let output = lab.run(&["catalogue", "add", word(&table)]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stdout));
    assert_eq!(products(), before + 2);
}
