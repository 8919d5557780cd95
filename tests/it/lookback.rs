//! Looking back: a recall, the case drawn and told, totals over many cases, the shape of the record.

use crate::entries::*;
use crate::program::{boxcall_on, json, status};
use boxcall::catalogue::{Catalogue, Piece};
use boxcall::journal::chain::{self, Link};
use boxcall::journal::{BoxRead, Fact, Fate, Unused};
use boxcall::label::{self, Settings};
use boxcall::ledger::{self, Notice};
use boxcall::report::{self, CaseReport};
use boxcall::room::Room;
use boxcall::shelf::Shelf;
use boxcall::store::{Stamp, Store};
use serde_json::Value;

fn with_report<T>(journal: &Journal, read: impl Fn(&CaseReport) -> T) -> T {
    let case = journal.fold();
    let mut previous = chain::GENESIS;
    let links: Vec<Link> = journal
        .entries
        .iter()
        .map(|entry| {
            let body = entry.body().unwrap();
            let hash = chain::hash(&previous, &body);
            let link = Link { seq: entry.seq, previous, hash, body };
            previous = hash;
            link
        })
        .collect();
    read(&CaseReport {
        case: &case,
        currency: "EUR",
        refill: Vec::new(),
        consigned: Vec::new(),
        to_return: Vec::new(),
        program: "boxcall 0.1.0",
        head: &hex::encode(previous),
        anchor: boxcall::journal::Anchor { entry: 9, hash: [0; 32] },
        anchor_to_scan: "",
        journal: &boxcall::journal::Statement::of_nothing(),
        code_to_scan: "",
        links: &links,
        written: Journal::at(90),
    })
}

fn a_case() -> Journal {
    let mut journal = Journal::case();
    journal.call(1, wanted(Some("fell"), 3.0, 29.0));
    journal.open(1, Some(1), fell(FELL_30029, 3.0, 29.0, "L1"));
    journal.fate(1, Fate::Implanted);
    journal.open(2, None, fell(FELL_30029, 3.0, 29.0, "L2"));
    journal.fate(2, Fate::OpenedNotUsed { why: Unused::Dropped });
    let slip = journal.open(3, None, fell(FELL_27529, 2.75, 29.0, "L3"));
    journal.strike(slip);
    journal.push(Fact::SignedOff { unsettled: 0, why: None });
    journal
}

#[test]
fn the_case_is_told_in_words_and_drawn() {
    let text = with_report(&a_case(), |report| report::review(report, 78));
    for told in [
        "call 1: 3.00 × 29 Fell",
        "box 3 opened",
        "[STRUCK OUT]",
        "lot L1; implanted",
        "dropped or unsterile, 900 EUR",
    ] {
        assert!(text.contains(told), "{told:?} is missing:\n{text}");
    }
    let row = |name: &str| text.lines().find(|line| line.trim_start().starts_with(name)).unwrap().to_string();
    let (calls, opened) = (row("calls"), row("opened   "));
    assert!(calls.find('1') < opened.find('1'), "the call stands before its opening:\n{text}");
    assert!(!opened.contains('3'), "what was struck out is not drawn:\n{text}");
    let drawn: Vec<&str> =
        text.lines().skip_while(|line| !line.starts_with("Drawn")).skip(1).take(5).collect();
    assert!(drawn.iter().all(|line| line.chars().count() <= 80), "{drawn:?}");
}

/// Marks that fall on each other stand side by side; none is lost without a sign.
#[test]
fn a_crowded_strip_says_that_it_is_crowded() {
    let mut journal = Journal::case();
    for entry in 1..=60 {
        journal.call(entry, wanted(None, 3.0, 29.0));
    }
    let text = with_report(&journal, |report| report::review(report, 60));
    let row = text.lines().find(|line| line.starts_with("  calls")).unwrap();
    assert!(row.ends_with('+'), "{row}");
    let numbers: Vec<u32> = row.split_whitespace().filter_map(|word| word.parse().ok()).collect();
    assert!(numbers.windows(2).all(|pair| pair[1] == pair[0] + 1) && numbers.len() > 5, "{numbers:?}");
}

#[test]
fn a_text_longer_than_a_line_is_named_but_not_repeated() {
    let mut journal = a_case();
    assert!(report::long_texts(&journal.fold()).is_empty());
    let why = "somebody's story ".repeat(6);
    journal.push(Fact::SignedOff { unsettled: 1, why: Some(why.clone()) });
    let found = report::long_texts(&journal.fold());
    assert!(found.len() == 1 && found[0].contains("signature") && !found[0].contains("story"), "{found:?}");
}

/// Everything that a record holds stands in the published schema.
#[test]
fn the_schema_knows_every_field() {
    fn known<'a>(root: &'a Value, schema: &'a Value) -> Vec<&'a Value> {
        if let Some(name) = schema["$ref"].as_str() {
            return known(root, root.pointer(name.trim_start_matches('#')).unwrap());
        }
        match schema["anyOf"].as_array() {
            Some(any) => any.iter().flat_map(|one| known(root, one)).collect(),
            None => vec![schema],
        }
    }
    fn check(root: &Value, schemas: &[&Value], value: &Value, path: &str) {
        match value {
            Value::Object(fields) => {
                for (name, inner) in fields {
                    let found: Vec<&Value> = schemas
                        .iter()
                        .filter_map(|schema| {
                            schema["properties"].get(name).or_else(|| schema.get("additionalProperties"))
                        })
                        .flat_map(|schema| known(root, schema))
                        .filter(|schema| schema.is_object())
                        .collect();
                    assert!(!found.is_empty(), "{path}.{name} is not in the schema");
                    check(root, &found, inner, &format!("{path}.{name}"));
                }
            }
            Value::Array(list) => {
                let items: Vec<&Value> = schemas
                    .iter()
                    .filter_map(|schema| schema.get("items"))
                    .flat_map(|schema| known(root, schema))
                    .collect();
                list.iter().for_each(|inner| check(root, &items, inner, path));
            }
            _ => {}
        }
    }
    let schema: Value = serde_json::from_str(report::SCHEMA).unwrap();
    let record: Value = serde_json::from_str(&with_report(&a_case(), report::json)).unwrap();
    check(&schema, &[&schema], &record, "record");
}

#[test]
fn the_record_carries_its_own_chain() {
    let record: Value = serde_json::from_str(&with_report(&a_case(), report::json)).unwrap();
    let entries = record["entries"].as_array().unwrap();
    assert_eq!(entries.len(), 9);
    assert_eq!(entries.last().unwrap()["hash"], record["journal_head"]);
    assert_eq!(entries[1]["previous"], entries[0]["hash"]);
}

fn piece_of(lot: &str, count: u32) -> Piece {
    piece(FELL_30029, lot, "2027-12-31", "A2", count)
}

#[test]
fn a_recalled_lot_is_marked_and_everybody_who_had_it_is_found() {
    let mut journal = Journal::default();
    journal.push_to(None, Fact::StockLoaded { from: "stock.csv".into(), pieces: vec![piece_of("L1", 2)] });
    journal.entries.extend(a_case().entries.into_iter().map(|entry| {
        let seq = entry.seq + 1;
        let fact = match entry.fact {
            Fact::StruckOut { entry, why } => Fact::StruckOut { entry: entry + 1, why },
            fact => fact,
        };
        boxcall::journal::Entry { seq, fact, ..entry }
    }));
    // A box of that lot whose identifier nobody read may be one of them.
    journal.open(4, None, BoxRead { di: None, ..fell(FELL_30029, 3.0, 29.0, "l1 ") });
    journal.push_to(None, Fact::LotRecalled { di: Some(di(FELL_30029)), lot: "L1".into() });
    let shelf = Shelf::fold(&journal.entries);
    assert!(shelf.first_out(&[di(FELL_30029)], today()).is_none(), "a recalled piece is not proposed");
    let catalogue = Catalogue::default();
    let notices: Vec<Notice> = Notice::of_recalls(shelf.recalls(), &catalogue).collect();
    let boxes = |notices: &[Notice]| {
        let found = ledger::trace(&journal.entries, notices);
        let items = |list: &[ledger::Traced]| list.iter().map(|traced| traced.item).collect::<Vec<_>>();
        (items(&found.had), items(&found.may_have_had))
    };
    assert_eq!(boxes(&notices), (vec![1], vec![4]));
    // Another lot of that size is loaded and called: it is brought, and the recalled one is warned of.

    let mut later = Journal { entries: journal.entries.clone() };
    later.push_to(
        None,
        Fact::StockLoaded { from: "b".into(), pieces: vec![piece_of("L1", 1), piece_of("L7", 1)] },
    );
    later.push(Fact::Called {
        call: 9,
        lesion: None,
        wanted: wanted(Some("fell"), 3.0, 29.0),
        readiness: boxcall::journal::Readiness::Asked,
        verdict: None,
        why: None,
    });
    let products = crate::entries::catalogue();
    let shelf_now = Shelf::fold_with(&products, &later.entries);
    let case = later.fold();
    let card = shelf_now.card(case.call(9).unwrap(), &case, &products, today());
    assert_eq!(card.bring.map(|bring| bring.piece.lot), Some("L7".into()));
    assert!(card.cautions[0].starts_with("RECALLED, not to be brought: lot L1"), "{:?}", card.cautions);
    let other = [(Some(di(FELL_30039)), "L1".to_string())];
    assert_eq!(
        boxes(&Notice::of_recalls(&other, &catalogue).collect::<Vec<_>>()),
        (vec![], vec![4]),
        "another box's lot L1"
    );
}

/// Asked by one identifier, found by another of the same box, and by that of a carton; a recall that names the carton
/// stops the boxes in it.
#[test]
fn a_box_is_found_by_all_its_identifiers_and_by_its_cartons() {
    let mut catalogue = crate::entries::catalogue();
    let fell_file = catalogue.products.iter_mut().find(|product| product.id == "fell").unwrap();
    fell_file.diameters[1].boxes[0].di.push(di(STRANGER));
    let carton = di(FELL_30029).at_level(1).unwrap();
    let mut journal = Journal::case();
    journal.open(1, None, fell(FELL_30029, 3.0, 29.0, "L1"));
    journal.open(2, None, fell(STRANGER, 3.0, 29.0, "L1"));
    journal.open(3, None, BoxRead { di: Some(carton.clone()), ..fell(FELL_30029, 3.0, 29.0, "L1") });
    journal.open(4, None, fell(FELL_30039, 3.0, 39.0, "L1"));
    let items = |notice: &Notice| {
        let found = ledger::trace(&journal.entries, std::slice::from_ref(notice));
        assert!(found.may_have_had.is_empty(), "every identifier was read");
        found.had.iter().map(|traced| traced.item).collect::<Vec<_>>()
    };
    for asked in [di(FELL_30029), di(STRANGER), carton.clone(), di(STRANGER).at_level(5).unwrap()] {
        let notice = Notice::of_box(&asked, &catalogue);
        assert_eq!(items(&notice), [1, 2, 3], "{asked}");
        assert_eq!(notice.di[0], asked);
    }
    assert_eq!(items(&Notice::of_box(&di(FELL_30039), &catalogue)), [4]);
    assert_eq!(items(&Notice::of_box(&di(FELL_30029), &Catalogue::default())), [1, 3], "no file, no alias");
    let mut room = Journal::default();
    room.push_to(None, Fact::LotRecalled { di: Some(carton), lot: "L1".into() });
    let shelf = Shelf::fold_with(&catalogue, &room.entries);
    assert!(shelf.recalled(Some(&di(FELL_30029)), "L1") && shelf.recalled(Some(&di(STRANGER)), "L1"));
    assert!(!shelf.recalled(Some(&di(FELL_30039)), "L1") && !shelf.recalled(Some(&di(FELL_30029)), "L2"));
    let notices: Vec<Notice> = Notice::of_recalls(shelf.recalls(), &catalogue).collect();
    let found = ledger::trace(&journal.entries, &notices).had;
    assert_eq!(found.iter().map(|traced| traced.item).collect::<Vec<_>>(), [1, 2, 3]);
}

/// The cases that are not read from the disk hold nothing that the fold would have found.
#[test]
fn the_disk_is_searched_for_what_the_fold_finds() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("catalogue")).unwrap();
    let mut store = Store::open(&folder.path().join("journal.db")).unwrap();
    let mut all = Vec::new();
    for (number, name) in ["ACD34", "ACD36", "ACD37", "ACD39"].iter().enumerate() {
        let label = BoxRead { serial: Some(format!("s\"{number}")), ..fell(FELL_30029, 3.0, 29.0, "Lot 7") };
        let mut journal = Journal::case();
        journal.open(1, None, BoxRead { lot: (number % 2 == 0).then(|| "Lot 7".into()), ..label });
        let facts: Vec<Fact> = journal.entries.into_iter().map(|entry| entry.fact).collect();
        all.extend(
            store.append(&Stamp::new(*name, Journal::at(1)), Some(&code(name)), &facts).unwrap().entries,
        );
    }
    let strike = Fact::StruckOut { entry: 2, why: "slip".into() };
    all.extend(store.append(&Stamp::new("strike", Journal::at(2)), None, &[strike]).unwrap().entries);
    drop(store);
    let room = Room::look(folder.path()).unwrap();
    let recalled = |identifier: &str| Notice { di: vec![di(identifier)], ..Notice::of_lot("lot 7") };
    for (notice, had, may) in [
        (Notice::of_lot(" lot 7"), 1, 3),
        (Notice::of_lot("lot"), 0, 2),
        (Notice::of_serial("S\"3"), 1, 0),
        (Notice { di: di(FELL_30029).levels(), ..Notice::default() }, 3, 1),
        (Notice { di: vec![di(FELL_30039)], ..Notice::default() }, 0, 0),
        // A lot that nobody read may be the recalled one, where the identifier is.
        (recalled(FELL_30029), 1, 3),
        (recalled(FELL_30039), 0, 0),
    ] {
        let notice = [notice];
        let found = room.trace(&notice).unwrap();
        assert_eq!((found.had.len(), found.may_have_had.len()), (had, may), "{notice:?}");
        assert_eq!(found.ruled_out, 4 - had - may, "{notice:?}: every box is in one of the three lists");
        assert_eq!(found, ledger::trace(&all, &notice), "{notice:?}");
        assert!(found.may_have_had.iter().all(|one| one.doubt.is_some()), "{notice:?}: it is said why");
    }
}

/// One label with a lost separator has two readings: a notice that means either finds the box, and none other does.
#[test]
fn a_doubtful_label_is_found_by_each_of_its_readings() {
    let bytes = b"01095210013002921726123110L1212345".as_slice();
    let read = label::read(bytes, &Settings::of_year(2026)).unwrap();
    assert!(read.lot.is_none() && read.readings.len() > 1, "{read:?}");
    let raw = Some(label::Raw::new(bytes, label::Arrival::Scanned));
    let mut journal = Journal::case();
    journal.open(1, None, BoxRead { lot: None, raw, ..fell(FELL_30029, 3.0, 29.0, "") });
    for reading in &read.readings {
        let lot = &reading.fields.iter().find(|(id, _)| id == "10").unwrap().1;
        let found = ledger::trace(&journal.entries, &[Notice::of_lot(lot)]);
        assert_eq!((found.had.len(), found.may_have_had.len()), (1, 0), "{lot}");
    }
    assert!(ledger::trace(&journal.entries, &[Notice::of_lot("K7")]).is_empty());
}

/// A notice with an identifier alone, serial numbers from one to another, or use-by dates from one to another.
#[test]
fn a_notice_may_name_a_range() {
    let of = |serial: &str, day: Option<&str>| BoxRead {
        serial: Some(serial.into()),
        use_by: day.map(|day| day.parse().unwrap()),
        ..fell(FELL_30029, 3.0, 29.0, "L1")
    };
    let mut journal = Journal::case();
    journal.open(1, None, of("S099", Some("2027-01-31")));
    journal.open(2, None, of("S100", Some("2027-02-01")));
    journal.open(3, None, of("S180", None));
    journal.open(4, None, BoxRead { serial: None, ..of("", Some("2027-03-01")) });
    let lists = |notice: Notice| {
        let found = ledger::trace(&journal.entries, &[notice]);
        let items = |list: &[ledger::Traced]| list.iter().map(|one| one.item).collect::<Vec<_>>();
        (items(&found.had), items(&found.may_have_had), found.ruled_out)
    };
    let serials = Some(("S100".to_string(), "S180".to_string()));
    assert_eq!(lists(Notice { serials: serials.clone(), ..Notice::default() }), (vec![2, 3], vec![4], 1));
    let days = ["2027-02-01", "2027-02-28"].map(|day| day.parse().unwrap());
    let use_by = Some((days[0], days[1]));
    assert_eq!(lists(Notice { use_by, ..Notice::default() }), (vec![2], vec![3], 2));
    assert_eq!(lists(Notice { serials, use_by, ..Notice::default() }), (vec![2], vec![3], 2));
    assert_eq!(lists(Notice { di: vec![di(FELL_30039)], ..Notice::default() }), (vec![], vec![], 4));
    assert_eq!(lists(Notice::default()), (vec![], vec![], 4), "nothing that is asked for finds nothing");
}

/// A spreadsheet makes 12 of lot 0012: the notice that says 12 does not pass over it.
#[test]
fn a_lot_that_a_spreadsheet_has_changed_is_asked_about() {
    let mut journal = Journal::case();
    journal.open(1, None, fell(FELL_30029, 3.0, 29.0, "0012"));
    let found = ledger::trace(&journal.entries, &[Notice::of_lot("12")]);
    assert_eq!((found.had.len(), found.may_have_had.len()), (0, 1));
    assert!(found.may_have_had[0].doubt.as_deref().unwrap().contains("compare it with 12"));
}

#[test]
fn totals_tell_sizes_what_was_missing_and_waste() {
    let catalogue = catalogue();
    let mut journal = Journal::default();
    let case = |code: &str, journal: &mut Journal, facts: Vec<Fact>| {
        facts.into_iter().for_each(|fact| {
            journal.push_to(Some(code), fact);
        });
    };
    let called = |call| Fact::Called {
        call,
        lesion: None,
        wanted: wanted(Some("fell"), 3.0, 29.0),
        readiness: boxcall::journal::Readiness::Asked,
        verdict: None,
        why: None,
    };
    let opened = |item| Fact::BoxOpened {
        item,
        call: None,
        lesion: None,
        label: fell(FELL_30029, 3.0, 29.0, "L1"),
        finding: "same".into(),
        reason: None,
        minutes_ago: None,
    };
    let dropped =
        |item| Fact::FateGiven { item, fate: Fate::OpenedNotUsed { why: Unused::Dropped }, lesion: None };
    case("ACD34", &mut journal, vec![Fact::CaseBegun, called(1)]);
    journal.push_to(None, Fact::StockLoaded { from: "stock.csv".into(), pieces: vec![piece_of("L1", 1)] });
    case("ACD34", &mut journal, vec![called(2), opened(1), dropped(1), called(3)]);
    let sums = ledger::sums(&journal.entries, &catalogue, Some(today()));
    assert_eq!((sums.cases, sums.calls, sums.calls_unknown), (1, 3, 1));
    assert_eq!(sums.missing.iter().map(|one| one.count).collect::<Vec<_>>(), [1], "the last piece had gone");
    assert_eq!((sums.sizes[0].opened, sums.sizes[0].not_used), (1, 1));
    assert_eq!((sums.waste[0].why, sums.waste[0].count, sums.waste[0].cost), (Unused::Dropped, 1, 900.0));
    let holds = boxcall::journal::Statement::of_nothing();
    let table = report::totals_table(&sums, "EUR");
    assert!(table.contains("#####") && table.contains("900 EUR"), "{table}");
    assert_eq!(report::totals_csv(&sums, "EUR", &holds).lines().count(), 1 + 3 + 1);
    let wasted = ledger::Wasted { why: Unused::Damaged, count: 3, cost: 900.0, unpriced: 2 };
    let unpriced = ledger::Sums { waste: vec![wasted], ..ledger::Sums::default() };
    let table = report::totals_csv(&unpriced, "EUR", &holds);
    assert!(table.contains(",900,EUR,2\n"), "the cost is at least as high: {table}");
    let tomorrow = today().succ_opt();
    assert_eq!(ledger::sums(&journal.entries, &catalogue, tomorrow).cases, 0);
}

/// The program itself: a list with a fault recalls nothing, a good one marks the shelf, twice is once.
#[test]
fn a_recall_list_is_taken_in_whole_or_not_at_all() {
    let folder = tempfile::tempdir().unwrap();
    let room = folder.path().join("room");
    drop(boxcall::room::Room::lay_demo(&room).unwrap());
    let run = |words: &[&str]| {
        let done = boxcall_on(&room, &[&["--json"], words].concat());
        (status(&done), json(&done))
    };
    let listed = run(&["stock", "list"]).1;
    let (lot, of) = (listed["rows"][0]["lot"].as_str().unwrap(), listed["rows"][0]["di"].as_str().unwrap());
    let recalled = |answer: &Value| {
        let rows = answer["rows"].as_array().unwrap();
        rows.iter().filter(|row| row["recalled"] == true).map(|row| row["lot"].clone()).collect::<Vec<_>>()
    };
    assert!(recalled(&listed).is_empty());
    let file = folder.path().join("notice.csv");
    let path = file.to_str().unwrap();
    std::fs::write(&file, format!("lot,di\n{lot},{of}\n,{of}\n")).unwrap();
    let (status, answer) = run(&["stock", "recall", path]);
    assert_eq!((status, answer["error"]["code"].as_str()), (2, Some("bad-file")));
    assert!(answer["error"]["message"].as_str().unwrap().contains("notice.csv:3: lot: "), "{answer}");
    assert!(recalled(&run(&["stock", "list"]).1).is_empty(), "nothing of it was taken");
    std::fs::write(&file, format!("lot,di\n{lot},{of}\n")).unwrap();
    let (status, answer) = run(&["stock", "recall", path]);
    assert_eq!((status, answer["written"].as_u64(), answer["known"].as_u64()), (0, Some(1), Some(0)));
    assert_eq!(answer["on_shelf"][0]["lot"], lot);
    let again = run(&["stock", "recall", path]).1;
    assert_eq!((again["written"].as_u64(), again["known"].as_u64()), (Some(0), Some(1)));
    let marked = recalled(&run(&["stock", "list"]).1);
    assert!(!marked.is_empty() && marked.iter().all(|one| one == lot), "{marked:?}");
    let (status, answer) = run(&["trace", "--recalled"]);
    assert_eq!((status, answer["boxes"].as_array().unwrap().len()), (1, 0), "no case had one");
}
