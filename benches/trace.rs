//! `cargo bench --bench trace [ENTRIES]`: how long it takes to find one lot in a journal of a million entries, beside
//! reading the same file once (`cat FILE > /dev/null`, in one run).

use boxcall::journal::{BoxRead, CaseCode, Fact, Fate};
use boxcall::ledger::{self, Query};
use boxcall::store::Store;
use chrono::{DateTime, TimeDelta};
use std::io::Read;
use std::time::Instant;

/// Entries of one case: as many of them are boxes as in the walked demo.
const A_CASE: usize = 20;

fn label(lot: usize) -> BoxRead {
    let hex = "5d6432303130393532313030333330303234353137323730363330313048".to_string();
    BoxRead {
        product: Some("holm".into()),
        name: "Holm".into(),
        reference: Some("HM30024".into()),
        di: serde_json::from_value(serde_json::json!("09521003300245")).ok(),
        lot: Some(format!("HM{lot:06}")),
        printed: Some(format!("(01)09521003300245(17)270630(10)HM{lot:06}")),
        raw: Some(boxcall::label::Raw { hex: hex.clone(), arrival: boxcall::label::Arrival::Scanned }),
        price: Some(760.0),
        shelf: Some("cupboard 2, shelf E".into()),
        ..BoxRead::default()
    }
}

fn facts(case: usize) -> Vec<Fact> {
    let mut facts = vec![Fact::CaseBegun];
    for item in 1..=5 {
        facts.push(Fact::BoxOpened {
            item,
            call: None,
            lesion: Some(1),
            label: label(case * 5 + item as usize),
            finding: "SAME AS CALL 1".into(),
            reason: None,
            minutes_ago: None,
        });
        facts.push(Fact::FateGiven { item, fate: Fate::Implanted, lesion: Some(1) });
    }
    facts.resize(A_CASE - 1, Fact::UsedAgain { item: 1, lesion: 2, call: None });
    facts.push(Fact::SignedOff { unsettled: 0, why: None });
    facts
}

fn code(case: usize) -> CaseCode {
    let base = CaseCode::ALPHABET.len();
    CaseCode::from_dice([0, 1, 2, 3, 4].map(|place| ((case / base.pow(place)) % base) as u8))
}

fn main() {
    let entries = std::env::args().filter_map(|word| word.parse().ok()).next().unwrap_or(1_000_000usize);
    let folder = std::env::temp_dir().join(format!("boxcall-trace-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let path = folder.join("journal.db");
    let mut store = Store::open(&path).expect("a journal");
    let noon = DateTime::parse_from_rfc3339("2026-02-03T12:00:00+01:00").expect("a date");
    let begun = Instant::now();
    for case in 0..entries / A_CASE {
        let at = noon + TimeDelta::minutes(case as i64);
        store.append(&format!("case-{case}"), at, Some(&code(case)), &facts(case)).expect("written");
    }
    println!("{} entries written in {:.1} s", entries / A_CASE * A_CASE, begun.elapsed().as_secs_f64());
    drop(store);
    let mut read = Vec::new();
    let mut traced = Vec::new();
    for run in 0..5 {
        let begun = Instant::now();
        let mut file = std::fs::File::open(&path).expect("a file");
        let mut block = vec![0; 1 << 20];
        let mut bytes = 0;
        while let Ok(count @ 1..) = file.read(&mut block) {
            bytes += count;
        }
        read.push(begun.elapsed().as_secs_f64());
        let query = Query::Lot(format!("hm{:06}", entries / A_CASE / 2 * 5 + run));
        let begun = Instant::now();
        let store = Store::open_read_only(&path).expect("a journal");
        let sought = Query::sought(std::slice::from_ref(&query)).expect("a query");
        let found = ledger::trace(&store.entries_with_boxes(&sought).expect("entries"), &query);
        traced.push(begun.elapsed().as_secs_f64());
        assert_eq!(found.len(), 1);
        if run == 0 {
            println!("{} MB", bytes / 1_000_000);
        }
    }
    let median = |mut times: Vec<f64>| {
        times.sort_by(f64::total_cmp);
        times[times.len() / 2]
    };
    let (read, traced) = (median(read), median(traced));
    println!("one lot found in {traced:.3} s; reading the file once {read:.3} s; ratio {:.1}", traced / read);
    let _ = std::fs::remove_dir_all(&folder);
}
