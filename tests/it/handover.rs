//! What is handed over, and what is found again months later.

use crate::entries::*;
use boxcall::case::{Case, ItemState};
use boxcall::journal::{BoxRead, Fact, Fate, Inflation, Unused};
use boxcall::ledger::{self, Notice, SizeUsed};
use boxcall::report::{self, CaseReport};
use boxcall::shelf::Shelf;
use boxcall::units::{Diameter, Pressure};

/// A stent implanted, one dropped, a balloon used, one box put back, a slip struck out; labels that bite.
fn journal() -> Journal {
    let mut journal = Journal::default();
    let pieces = vec![piece(FELL_30029, "L1", "2027-12-31", "A2", 3)];
    journal.push_to(None, Fact::StockLoaded { from: "stock.csv".into(), pieces });
    journal.push(Fact::CaseBegun);
    journal.call(1, wanted(Some("fell"), 3.0, 29.0));
    journal.open(1, Some(1), BoxRead { serial: Some("S1".into()), ..fell(FELL_30029, 3.0, 29.0, "L1") });
    let inflation = Inflation {
        at_atm: Pressure::from_atm(11.3),
        seconds: Some(20),
        chart_mm: Some(Diameter::from_mm(3.0 + 1.0 / 3.0)),
        rated_burst_atm: None,
        lesion: None,
    };
    journal.push(Fact::Inflated { item: 1, inflation });
    journal.fate(1, Fate::Implanted);
    journal.open(2, None, fell(FELL_30029, 3.0, 29.0, "=2+3"));
    journal.fate(2, Fate::OpenedNotUsed { why: Unused::Dropped });
    journal.open(3, None, BoxRead { name: "Beck|<b>".into(), ..beck() });
    journal.fate(3, Fate::Used);
    journal.put_back(4, fell(FELL_30039, 3.0, 39.0, "L9"));
    let slip = journal.open(5, None, fell(FELL_27529, 2.75, 29.0, "L8"));
    journal.strike(slip);
    journal
}

fn with_report<T>(journal: &Journal, read: impl Fn(&CaseReport) -> T) -> T {
    let case = journal.fold();
    let shelf = Shelf::fold(&journal.entries);
    read(&CaseReport {
        case: &case,
        currency: "EUR",
        refill: shelf.refill(&case),
        consigned: shelf.consigned_used(&case),
        to_return: shelf.to_return(&case),
        program: "boxcall 0.1.0",
        head: "0123456789abcdef0123456789abcdef",
        anchor: boxcall::journal::Anchor { entry: 9, hash: [0; 32] },
        anchor_to_scan: "",
        journal: &boxcall::journal::Statement::of_nothing(),
        code_to_scan: "",
        links: &[],
        written: Journal::at(90),
    })
}

#[test]
fn the_page_shows_the_code_on_top_and_every_opened_box_once() {
    let page = with_report(&journal(), report::markdown);
    assert!(page.starts_with(&format!("# Case {CODE}\n")), "{page}");
    let table: Vec<&str> = page.lines().filter(|line| line.starts_with("| ")).collect();
    assert_eq!(table.len(), 2 + 3, "head, rule and three boxes:\n{page}");
    let unescaped = |line: &str| line.replace("\\|", "").matches('|').count();
    assert!(table.iter().all(|line| unescaped(line) == unescaped(table[0])), "{page}");
    assert!(page.contains("Opened 3 = implanted 1 + used 1 + opened, not used 1 + lost in the patient 0"));
    assert!(page.contains("dropped or unsterile 1. Cost: 900 EUR"));
    assert!(
        page.contains("Fell opened 2, implanted 1, not used 1 (dropped or unsterile 1), put back 1"),
        "{page}"
    );
    assert!(page.contains("| not judged; read back: same |") && page.contains("| read back: same |"));
    assert!(page.contains("Beck\\|\\<b\\>"), "{page}");
    let struck = page.find("## Struck out").unwrap();
    assert!(page[struck..].contains("2.75 × 29 Fell") && !page[..struck].contains("2.75 × 29"));
    assert!(page.contains(boxcall::deference::LONG));
    assert!(!page.contains("## Not settled"), "{page}");
}

#[test]
fn the_code_to_scan_stands_under_the_code() {
    let drawn = with_report(&journal(), |report| {
        report::markdown(&CaseReport { code_to_scan: "▄▀\n▀▄\n", ..report.clone() })
    });
    assert!(drawn.starts_with(&format!("# Case {CODE}\n\n```\n▄▀\n▀▄\n```\n\nBegun")), "{drawn}");
}

#[test]
fn what_is_not_settled_stands_first() {
    let mut journal = journal();
    journal.open(6, None, beck());
    journal.push(Fact::SignedOff { unsettled: 1, why: Some("the next patient is coming".into()) });
    let page = with_report(&journal, report::markdown);
    assert!(page.find("## Not settled").unwrap() < page.find("## Opened").unwrap());
    assert!(page.contains("with 1 unsettled: the next patient is coming"));
    assert!(page.contains("NOT SETTLED") && !page.contains("Settled since then"));
    journal.fate(6, Fate::Used);
    let page = with_report(&journal, report::markdown);
    assert!(page.contains("the next patient is coming. Settled since then."), "{page}");
    assert!(!page.contains("## Not settled"), "{page}");
}

#[test]
fn the_table_has_a_row_a_box_and_no_formula() {
    let text = with_report(&journal(), report::csv);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let column = |name: &str| header.iter().position(|column| column == name).unwrap();
    let rows: Vec<_> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 4);
    assert_eq!(&rows[1][column("lot")], "'=2+3");
    assert_eq!(&rows[0][column("diameter_mm")], "3");
    assert_eq!(&rows[0][column("fate")], "implanted");
    assert_eq!(&rows[0][column("inflations_atm")], "11.3");
    assert_eq!(&rows[3][column("state")], "put back");
    let dangerous = |cell: &str| cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
    assert!(!rows.iter().flat_map(|row| row.iter()).any(dangerous), "{text}");
}

#[test]
fn json_rounds_nothing_and_counts_every_box() {
    let text = with_report(&journal(), report::json);
    let record: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(record["case"], CODE);
    let boxes = record["boxes"].as_array().unwrap();
    assert_eq!(boxes.len(), 4);
    assert_eq!(boxes[0]["inflations"][0]["chart_mm"].as_f64(), Some(3.0 + 1.0 / 3.0));
    assert_eq!(boxes[0]["fate"]["fate"], "implanted");
    assert_eq!(boxes[0]["fate"]["lesion"], 1);
    assert_eq!(boxes[1]["label"]["lot"], "=2+3", "as it was read");
    assert_eq!(boxes[1]["fate"]["why"], "dropped-or-unsterile");
    assert_eq!(record["totals"]["opened"], 3);
    let products = record["totals_by_product"].as_object().unwrap();
    assert_eq!(products.values().map(|one| one["opened"].as_u64().unwrap()).sum::<u64>(), 3);
    assert_eq!(products["Fell"]["opened"], 2);
    assert_eq!(record["totals"]["opened_not_used"]["dropped-or-unsterile"], 1);
    assert_eq!(record["opened_not_used"]["cost"], 900.0);
    assert_eq!(record["calls"][0]["state"], "opened");
    assert_eq!(record["calls"][0]["box"], 1);
    let story = record["story"].as_array().unwrap();
    assert_eq!(story.iter().filter(|line| line["struck_out"] == true).count(), 1);
    assert_eq!(record["refill"][0]["place"], "A2");
    assert_eq!(record["signed"], serde_json::Value::Null);
}

/// @mdr-27: who implants keeps the whole UDI, lot and serial number in it. @mdr-18: the implant card names the maker.
#[test]
fn the_identifiers_stand_whole_on_the_page_and_in_the_table() {
    let mut journal = Journal::case();
    let printed = format!("(01){FELL_30029}(11)260131(17)271231(10)L1(21)S1");
    let made = chrono::NaiveDate::from_ymd_opt(2026, 1, 31);
    let system = Some(boxcall::label::System::Gs1);
    let maker = Some("Lowfell (invented)".to_string());
    let label =
        BoxRead { printed: Some(printed.clone()), made, maker, system, ..fell(FELL_30029, 3.0, 29.0, "L1") };
    journal.open(1, None, label);
    journal.open(2, None, BoxRead::default());
    let page = with_report(&journal, report::markdown);
    assert!(page.contains(&format!("- box 1: {printed}, Lowfell (invented)\n- box 2: not read\n")), "{page}");
    let unread = page.lines().find(|line| line.starts_with("| 2 ")).unwrap();
    assert_eq!(unread.matches("| not read ").count(), 2, "neither lot nor use-by is left blank: {unread}");
    let table = with_report(&journal, report::csv);
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let header = reader.headers().unwrap().clone();
    let rows: Vec<_> = reader.records().map(Result::unwrap).collect();
    let cell = |row: usize, name: &str| {
        rows[row][header.iter().position(|column| column == name).unwrap()].to_string()
    };
    assert_eq!(
        ["made", "udi_system", "udi_printed"].map(|name| cell(0, name)),
        ["2026-01-31", "gs1", printed.as_str()]
    );
    assert_eq!(["udi_printed", "maker"].map(|name| cell(1, name)), ["", ""]);
    assert_eq!(cell(0, "maker"), "Lowfell (invented)");
    let bundle: serde_json::Value = serde_json::from_str(&with_report(&journal, report::fhir)).unwrap();
    let devices = bundle["entry"].as_array().unwrap().iter().map(|entry| &entry["resource"]);
    let makers: Vec<_> = devices
        .filter(|one| one["resourceType"] == "Device")
        .map(|one| one["manufacturer"].as_str())
        .collect();
    assert_eq!(makers, [Some("Lowfell (invented)"), None]);
}

#[test]
fn what_is_past_its_date_put_back_and_measured_stands_on_the_page() {
    let mut journal = Journal::case();
    let past = chrono::NaiveDate::from_ymd_opt(2026, 10, 31);
    let last = Journal::at(0).date_naive();
    journal.open(1, None, BoxRead { use_by: past, ..fell(FELL_30029, 3.0, 29.0, "L1") });
    journal.open(2, None, BoxRead { use_by: Some(last), ..fell(FELL_30029, 3.0, 29.0, "L2") });
    journal.put_back(3, fell(FELL_30039, 3.0, 39.0, "L9"));
    let areas = boxcall::journal::Areas {
        msa_mm2: boxcall::units::Area::from_mm2(5.6),
        proximal_mm2: boxcall::units::Area::from_mm2(7.1),
        distal_mm2: boxcall::units::Area::from_mm2(6.4),
        method: boxcall::measure::Method::Ivus,
        segment: None,
    };
    journal.push(Fact::AreasMeasured { item: 1, areas });
    let page = with_report(&journal, report::markdown);
    assert!(page.contains("| 2026-10-31 EXPIRED |"), "{page}");
    // In date up to and on its use-by date.
    assert!(page.contains(&format!("| {last} |")), "{page}");
    assert!(page.contains("## Put back unopened\n\n- box 3: 3.00 × 39 Fell, lot L9 (different)\n"), "{page}");
    assert!(page.contains("- box 1: minimal stent area 5.6 mm² by IVUS"), "{page}");
}

#[test]
fn what_was_written_after_the_signature_says_so() {
    let mut journal = journal();
    assert!(!with_report(&journal, report::markdown).contains("after the signature"));
    journal.push(Fact::SignedOff { unsettled: 0, why: None });
    assert!(!with_report(&journal, report::markdown).contains("after the signature"));
    journal.open(6, None, beck());
    let fate = journal.fate(6, Fate::Implanted);
    journal.strike(fate);
    let page = with_report(&journal, report::markdown);
    let later = page.split("## Written after the signature\n").nth(1).unwrap();
    assert!(later.contains("box 6 opened") && later.contains("box 6 implanted (struck out)"), "{page}");
    assert_eq!(later.lines().filter(|line| line.starts_with("- ")).count(), 3, "{page}");
}

/// The clock is set back an hour in the middle, then by a slip before the beginning.
#[test]
fn a_clock_that_was_set_back_is_told_and_boxes_stand_in_the_order_of_the_entries() {
    let mut journal = Journal::case();
    journal.open(1, None, fell(FELL_30029, 3.0, 29.0, "L1"));
    journal.push(Fact::ClockWentBack { before: Journal::at(60) });
    journal.open(2, None, fell(FELL_30029, 3.0, 29.0, "L2"));
    let fold = |shifted: bool| {
        let mut entries = journal.entries.clone();
        let last = entries.last_mut().unwrap();
        if shifted {
            last.at = "2026-11-25T08:05:00+00:00".parse().unwrap();
        }
        Journal { entries }
    };
    assert_eq!(fold(true).fold().opened().iter().map(|item| item.number).collect::<Vec<_>>(), [1, 2]);
    let page = with_report(&fold(true), report::markdown);
    assert!(page.contains("## Of the times\n\n- ") && page.contains("the clock was set back"), "{page}");
    assert!(page.contains(&format!("Begun {}. ", Journal::at(1).format("%Y-%m-%d %H:%M %:z"))), "{page}");
    assert!(page.contains("| 08:05 +00:00 |"), "another offset is said: {page}");
    journal.entries.retain(|entry| !matches!(entry.fact, Fact::ClockWentBack { .. }));
    let mut plain = Journal { entries: journal.entries };
    plain.entries.last_mut().unwrap().at = "2026-11-25T08:05:00+01:00".parse().unwrap();
    assert_eq!(plain.fold().opened().iter().map(|item| item.number).collect::<Vec<_>>(), [2, 1]);
    assert!(!with_report(&plain, report::markdown).contains("Of the times"));
}

#[test]
fn an_empty_case_makes_a_record_too() {
    let journal = Journal::case();
    assert!(with_report(&journal, report::markdown).contains("No box was opened."));
    assert_eq!(with_report(&journal, report::csv).lines().count(), 1);
    assert!(with_report(&journal, report::json).contains("\"boxes\": []"));
}

#[test]
fn a_lot_is_traced_to_its_case_codes() {
    let mut journal = journal();
    journal.push_to(Some("XYW99"), Fact::CaseBegun);
    let opened = |item, label| Fact::BoxOpened {
        item,
        call: None,
        lesion: Some(2),
        label,
        finding: "no call".into(),
        reason: None,
        minutes_ago: None,
    };
    let at_xyw = |journal: &mut Journal, fact| journal.push_to(Some("XYW99"), fact);
    at_xyw(&mut journal, opened(1, fell(FELL_30029, 3.0, 29.0, "l1")));
    // A second box under the same number is loose in its case; a recall must find it all the same.
    at_xyw(&mut journal, opened(1, fell(FELL_30039, 3.0, 39.0, "L1")));
    let found = ledger::trace(&journal.entries, &[Notice::of_lot("L1")]).had;
    let told: Vec<_> = found.iter().map(|one| (one.case.as_str(), one.item, one.fate)).collect();
    assert_eq!(told, [(CODE, 1, Some(Fate::Implanted)), ("XYW99", 1, None), ("XYW99", 1, None)]);
    assert_eq!(found[1].lesions, [2]);
    let put_back = ledger::trace(&journal.entries, &[Notice::of_lot("L9")]).had;
    assert_eq!(put_back[0].state, ItemState::PutBack);
    let struck = ledger::trace(&journal.entries, &[Notice::of_lot("L8")]).may_have_had;
    assert_eq!(struck.len(), 1, "an opening that was struck out is told, and that it was");
    assert_eq!(struck[0].struck.as_deref(), Some("slip of the finger"));
    assert!(!struck[0].was_opened() && found.iter().all(|one| one.struck.is_none()));
    let by_di = Notice { di: vec![di(FELL_30039)], ..Notice::default() };
    assert!(ledger::trace(&journal.entries, &[Notice::of_lot("")]).is_empty());
    assert_eq!(ledger::trace(&journal.entries, &[by_di]).had.len(), 2);
    assert_eq!(ledger::trace(&journal.entries, &[Notice::of_serial("s1")]).had.len(), 1);
}

#[test]
fn totals_over_cases_keep_the_identity() {
    let mut journal = journal();
    journal.push_to(Some("XYW99"), Fact::CaseBegun);
    journal.push_to(Some("XYW99"), Fact::SignedOff { unsettled: 0, why: None });
    let cases: Vec<Case> = ledger::cases(&journal.entries);
    assert_eq!(cases.iter().map(|case| case.code.as_str()).collect::<Vec<_>>(), [CODE, "XYW99"]);
    let sums = ledger::sums(&journal.entries, &catalogue(), None);
    assert_eq!((sums.cases, sums.signed, sums.waste[0].cost), (2, 1, 900.0));
    let opened: u32 = sums.sizes.iter().map(|size| size.opened).sum();
    let told = |size: &SizeUsed| size.implanted + size.used + size.not_used + size.lost + size.not_found;
    assert_eq!((opened, sums.sizes.iter().map(told).sum()), (3, 3), "{:?}", sums.sizes);
}
