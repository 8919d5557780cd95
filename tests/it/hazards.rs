//! What can go wrong in the whole job, what holds it back, and the test that proves it: one table, printed into
//! docs/hazards.md. `UPDATE=1 cargo test --test fast hazards` renews it there.

use crate::entries::*;
use crate::hazard_table::{HAZARDS, Hazard};
use boxcall::case::Case;
use boxcall::journal::{Fact, Fate};
use boxcall::ledger::{self, Notice};
use boxcall::room::files;
use boxcall::shelf::Shelf;
use chrono::TimeDelta;
use std::path::Path;

const BEGIN: &str = "<!-- hazards -->\n";
const END: &str = "<!-- /hazards -->";

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// `module::test`, out of a file and a test.
fn named(proof: &str) -> String {
    let (file, test) = proof.split_once(' ').expect("a file and a test");
    let file = file.trim_end_matches(".rs");
    format!("`{}::{test}`", file.rsplit('/').next().unwrap_or(file))
}

fn table() -> String {
    let mut page = String::from("| hazard | cause | control | proof |\n| --- | --- | --- | --- |\n");
    for Hazard { hazard, cause, control, proved, tested } in HAZARDS {
        let proved = proved.iter().map(|(name, proof)| format!("{name}: {}", named(proof)));
        let proof: Vec<String> = proved.chain(tested.iter().map(|proof| named(proof))).collect();
        page.push_str(&format!("| {hazard} | {cause} | {control} | {} |\n", proof.join(", ")));
    }
    page
}

/// Whether a test of this name stands in this text: its attribute within the three lines before it.
fn is_tested(text: &str, test: &str) -> bool {
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    lines.iter().enumerate().any(|(at, line)| {
        line.starts_with(&format!("fn {test}("))
            && lines[at.saturating_sub(3)..at].contains(&"#[test]")
            && !lines[at.saturating_sub(3)..at].iter().any(|line| line.starts_with("#[ignore"))
    })
}

#[test]
fn every_hazard_names_a_test_that_is_there() {
    assert!(HAZARDS.len() >= 20);
    for Hazard { hazard, proved, tested, .. } in HAZARDS {
        for proof in proved.iter().map(|(_, proof)| proof).chain(*tested) {
            let (file, test) = proof.split_once(' ').expect("a file and a test");
            let text =
                std::fs::read_to_string(root().join(file)).unwrap_or_else(|error| panic!("{file}: {error}"));
            assert!(is_tested(&text, test), "{hazard}: no test {test} in {file}");
        }
    }
    assert!(!is_tested("#[test]\nfn other() {}\n", "wanted") && !is_tested("fn wanted() {}\n", "wanted"));
    // A test that is set aside proves nothing.
    let source = |mark: &str| format!("#[test]\n{mark}fn wanted() {{}}\n");
    let set_aside = format!("#[{}]\n", "ignore");
    assert!(is_tested(&source(""), "wanted") && !is_tested(&source(&set_aside), "wanted"));
}

/// A control that can be taken out is in the table, where its test is named, and the table names no other.
#[test]
fn every_control_in_the_sources_is_in_the_table_once() {
    const ASKED: &str = "control::holds(\"";
    let mut files = Vec::new();
    crate::tidy::sources(&root().join("src"), &mut files);
    let mut asked: Vec<&str> = files
        .iter()
        .flat_map(|(_, text)| text.match_indices(ASKED).map(|(at, _)| &text[at + ASKED.len()..]))
        .filter_map(|rest| rest.split_once('"').map(|(name, _)| name))
        .collect();
    asked.sort_unstable();
    asked.dedup();
    let mut named: Vec<&str> =
        HAZARDS.iter().flat_map(|hazard| hazard.proved).map(|(name, _)| *name).collect();
    named.sort_unstable();
    assert_eq!(asked, named);
}

#[test]
fn the_table_of_hazards_is_printed_for_those_who_change_the_program() {
    let file = root().join("docs/hazards.md");
    let text = std::fs::read_to_string(&file).unwrap();
    let (before, rest) = text.split_once(BEGIN).expect("docs/hazards.md marks where the table begins");
    let (kept, after) = rest.split_once(END).expect("docs/hazards.md marks where the table ends");
    if std::env::var("UPDATE").is_ok_and(|value| value == "1") {
        std::fs::write(&file, format!("{before}{BEGIN}{}{END}{after}", table())).unwrap();
        return;
    }
    assert_eq!(kept, table(), "UPDATE=1 renews the table");
}

/// The clock goes back an hour in the middle of the case, as at the end of summer time on a machine without offsets.
#[test]
fn a_clock_that_goes_back_changes_no_order() {
    let mut journal = Journal::default();
    let pieces = vec![piece(FELL_30029, "L1", "2027-12-31", "A2", 2)];
    journal.push_to(None, Fact::StockLoaded { from: "stock.csv".into(), pieces });
    journal.push(Fact::CaseBegun);
    journal.call(1, wanted(Some("fell"), 3.0, 29.0));
    journal.open(1, Some(1), fell(FELL_30029, 3.0, 29.0, "L1"));
    journal.fate(1, Fate::NotFound);
    journal.fate(1, Fate::Implanted);
    let right = journal.fold();
    let fates =
        |case: &Case| case.items.iter().map(|item| (item.number, item.fate_in_words())).collect::<Vec<_>>();
    // Between any two entries of the case, also between a fate and the one that corrects it.
    for from in 3..journal.entries.len() {
        let mut late = Journal { entries: journal.entries.clone() };
        for entry in &mut late.entries[from..] {
            entry.at -= TimeDelta::hours(1);
        }
        let back: Case = late.fold();
        assert_eq!(fates(&back), fates(&right));
        assert_eq!(back.calls[0].state, right.calls[0].state);
        assert_eq!(back.totals(), right.totals());
        let numbers: Vec<u64> = back.story.iter().map(|line| line.seq).collect();
        assert_eq!(numbers, [2, 3, 4, 5, 6], "told in the order in which it was written down");
        assert_eq!(Shelf::fold(&late.entries).on_hand(&[di(FELL_30029)], today()), 1);
        assert_eq!(ledger::trace(&late.entries, &[Notice::of_lot("L1")]).had[0].fate, Some(Fate::Implanted));
    }
}

/// What stands in the way of the new file here is a folder of the name under which it would be written first.
#[test]
fn a_record_that_can_not_be_written_leaves_the_earlier_one() {
    let folder = tempfile::tempdir().unwrap();
    let record = folder.path().join("ACD34.md");
    files::write_whole(&record, "first\n").unwrap();
    let beside = folder.path().join(format!("ACD34.md.{}.part", std::process::id()));
    std::fs::create_dir(&beside).unwrap();
    assert!(files::write_whole(&record, "second\n").is_err());
    assert_eq!(std::fs::read_to_string(&record).unwrap(), "first\n");
    std::fs::remove_dir(&beside).unwrap();
    files::write_whole(&record, "second\n").unwrap();
    assert_eq!(std::fs::read_to_string(&record).unwrap(), "second\n");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left beside it");
}
