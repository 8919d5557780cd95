//! A journal as years of work fill it, for the benches: cases of twenty entries, a stock load now and then.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    reason = "figures of a benchmark are small"
)]

use boxcall::catalogue::Piece;
use boxcall::journal::{BoxRead, CaseCode, Fact, Fate, Readiness, Wanted};
use boxcall::label::{Arrival, Raw};
use boxcall::store::{Stamp, Store};
use boxcall::udi::DeviceId;
use boxcall::units::{Diameter, Length};
use chrono::{DateTime, TimeDelta};
use std::path::Path;

/// Entries of one case: as many of them are boxes as in the walked demo.
pub const A_CASE: usize = 20;
/// Cases from one stock load to the next: about a month of a busy room. They open 1,000 of the 1,600 pieces loaded.
const A_LOAD: usize = 200;
/// Of the demo's catalogue: Fell 3.00 × 29.
const DI: &str = "09521001300292";

fn di() -> DeviceId {
    DeviceId::parse(DI).expect("the demo has it")
}

fn label(lot: usize) -> BoxRead {
    let hex = "5d6432303130393532313030333330303234353137323730363330313048".to_string();
    BoxRead {
        product: Some("fell".into()),
        name: "Fell".into(),
        reference: Some("FL30029".into()),
        di: Some(di()),
        lot: Some(format!("FL{lot:06}")),
        serial: lot.is_multiple_of(2).then(|| format!("{lot}")),
        printed: Some(format!("(01){DI}(17)270630(10)FL{lot:06}")),
        raw: Some(Raw { hex, arrival: Arrival::Scanned }),
        price: Some(760.0),
        shelf: Some("cupboard 2, shelf E".into()),
        ..BoxRead::default()
    }
}

pub fn code(case: usize) -> CaseCode {
    let base = CaseCode::ALPHABET.len();
    CaseCode::from_random([0, 1, 2, 3, 4].map(|place| ((case / base.pow(place)) % base) as u8))
}

fn stock() -> Fact {
    let piece = |lot: usize| Piece {
        di: di(),
        lot: format!("FL9{lot:05}"),
        serial: None,
        use_by: "2099-06-30".parse().ok(),
        shelf: "cupboard 2, shelf E".into(),
        count: 4,
        owner: Default::default(),
    };
    Fact::StockLoaded { from: "stock.csv".into(), pieces: (0..400).map(piece).collect() }
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

/// Fills a journal with about so many entries; the last case is open and waits for a box. Returns how many there are.
pub fn fill(path: &Path, entries: usize) -> u64 {
    let mut store = Store::open(path).expect("a journal");
    let noon = DateTime::parse_from_rfc3339("2026-02-03T12:00:00+01:00").expect("a date");
    let cases = entries / A_CASE;
    for case in 0..cases {
        let at = noon + TimeDelta::minutes(case as i64);
        if case.is_multiple_of(A_LOAD) {
            store.append(&Stamp::new(format!("stock-{case}"), at), None, &[stock()]).expect("written");
        }
        store
            .append(&Stamp::new(format!("case-{case}"), at), Some(&code(case)), &facts(case))
            .expect("written");
    }
    let at = noon + TimeDelta::minutes(cases as i64);
    if cases == 0 {
        store.append(&Stamp::new("stock", at), None, &[stock()]).expect("written");
    }
    let call = Fact::Called {
        call: 1,
        lesion: None,
        wanted: Wanted {
            product: Some("fell".into()),
            name: Some("Fell".into()),
            diameter: Some(Diameter::from_mm(3.0)),
            length: Some(Length::from_mm(29.0)),
            ..Wanted::default()
        },
        readiness: Readiness::Asked,
        verdict: None,
        why: None,
    };
    store.append(&Stamp::new("last", at), Some(&code(cases)), &[Fact::CaseBegun, call]).expect("written");
    store.last_seq().expect("a number")
}
