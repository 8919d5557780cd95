//! Every kind of fact goes to its stored text and comes back as it was.

use super::*;
use crate::catalogue::{Owner, Piece};
use crate::journal::{Areas, BoxRead, Certainty, Fate, Inflation, Overlap, Readiness, Unused, Wanted};
use crate::journal::{Finding, Recorded};
use crate::label::{Arrival, Raw, System};
use crate::lesion::{Measurements, Reading};
use crate::measure::{Dominance, Kind, Method, Rule, Site};
use crate::udi::DeviceId;
use crate::units::{Area, Diameter, French, Length, Pressure};
use chrono::{DateTime, NaiveDate};
use proptest::prelude::*;

/// Quotes, a backslash, controls, the separator of a scanner, letters outside ASCII, and one outside the BMP.
const ODD: &str = "\"Fell\" \\ \n\t\u{1d}\u{0} ⌀ ñ е́ 𝛼 </x>";

fn di(text: &str) -> DeviceId {
    serde_json::from_value(serde_json::Value::from(text)).unwrap()
}

fn mm(value: f64) -> Diameter {
    Diameter::from_mm(value)
}

fn full_label(odd: f64) -> BoxRead {
    BoxRead {
        product: Some("fell".into()),
        name: ODD.into(),
        maker: Some(ODD.into()),
        kind: Some(Kind::DrugElutingStent),
        reference: Some("FL30029".into()),
        diameter: Some(mm(odd)),
        length: Some(Length::from_mm(28.0)),
        di: Some(di("09521001275293")),
        lot: Some(ODD.into()),
        serial: Some("0007".into()),
        use_by: NaiveDate::from_ymd_opt(2027, 2, 28),
        made: NaiveDate::from_ymd_opt(2026, 1, 31),
        system: Some(System::Gs1),
        printed: Some(ODD.into()),
        price: Some(odd),
        owner: Some(Owner::Borrowed(ODD.into())),
        shelf: Some(ODD.into()),
        raw: Some(Raw { hex: "5d64321d".into(), arrival: Arrival::Scanned }),
    }
}

/// Each variant at its fullest and at its barest.
fn facts(odd: f64) -> Vec<Fact> {
    let bare = BoxRead::default();
    let piece = Piece {
        di: di("09521001275293"),
        lot: ODD.into(),
        serial: None,
        use_by: None,
        shelf: "B2".into(),
        count: u32::MAX,
        owner: Owner::Borrowed(ODD.into()),
    };
    let own = Piece { serial: Some("1".into()), owner: Owner::Own, count: 0, ..piece.clone() };
    let measured = Measurements {
        branch_lumen: Some(Reading::One(mm(odd))),
        branch_at: Some(Length::from_mm(odd)),
        further_branches_at: vec![Length::from_mm(odd)],
        method: Some(Method::Oct),
        proximal_lumen: Some(Reading::One(mm(odd))),
        proximal_eem: Some(Reading::Two(mm(odd), mm(3.0))),
        distal_lumen: Some(Reading::Area(Area::from_mm2(odd))),
        distal_eem: Some(Reading::One(mm(3.0))),
        length: Some(Length::from_mm(odd)),
        limit: Some(Length::from_mm(38.0)),
        rule: Some(Rule::SmallerEem),
        guide: Some(French::new(6.0)),
        segment: Some("12a".into()),
        dominance: Some(Dominance::Left),
        sites: vec![Site::Ostial, Site::LeftMain],
    };
    let wanted = Wanted {
        name: Some(ODD.into()),
        product: Some("fell".into()),
        diameter: Some(mm(odd)),
        length: Some(Length::from_mm(odd)),
        kind: Some(Kind::CoveredStent),
        reference: Some(ODD.into()),
    };
    let inflation = Inflation {
        at_atm: Pressure::from_atm(odd),
        seconds: Some(u32::MAX),
        chart_mm: Some(mm(odd)),
        rated_burst_atm: Some(Pressure::from_atm(18.0)),
        lesion: Some(255),
    };
    let bare_inflation = Inflation {
        at_atm: Pressure::from_atm(11.0),
        seconds: None,
        chart_mm: None,
        rated_burst_atm: None,
        lesion: None,
    };
    let mut all = vec![
        Fact::StockReceived { from: ODD.into(), pieces: vec![piece.clone(), own.clone()] },
        Fact::StockMoved { pieces: vec![piece.clone()], to: ODD.into() },
        Fact::StockCounted { shelf: ODD.into(), pieces: vec![own.clone(), piece.clone()] },
        Fact::StockCounted { shelf: String::new(), pieces: Vec::new() },
        Fact::StockPulled { why: ODD.into(), pieces: vec![own.clone()] },
        Fact::StockLoaded { from: ODD.into(), pieces: vec![piece, own] },
        Fact::StockLoaded { from: String::new(), pieces: Vec::new() },
        Fact::LotRecalled { di: Some(di("x")), lot: ODD.into() },
        Fact::LotRecalled { di: None, lot: "7".into() },
        Fact::PrintedSizeTyped {
            di: di("x"),
            diameter: Some(mm(odd)),
            length: Length::from_mm(odd),
            agrees: true,
        },
        Fact::PrintedSizeTyped { di: di("x"), diameter: None, length: Length::from_mm(8.0), agrees: false },
        Fact::ClockWentAhead { before: "2026-03-29T01:59:59.999-09:30".parse().unwrap() },
        Fact::DateConfirmed { day: "2026-03-29".parse().unwrap(), why: ODD.into() },
        Fact::ClockWentBack { before: "2026-03-29T01:59:59.999-09:30".parse().unwrap() },
        Fact::HeldBack { entered: "0001-01-01T00:00:00+14:00".parse().unwrap() },
        Fact::CaseBegun,
        Fact::LesionMeasured { lesion: 1, measured },
        Fact::LesionMeasured { lesion: 255, measured: Measurements::default() },
        Fact::Called {
            call: u32::MAX,
            lesion: Some(1),
            wanted,
            readiness: Readiness::HaveReady,
            verdict: Some(Recorded::Other("fits, nearly".into())),
            why: Some(ODD.into()),
        },
        Fact::Called {
            call: 1,
            lesion: None,
            wanted: Wanted::default(),
            readiness: Readiness::Asked,
            verdict: None,
            why: None,
        },
        Fact::ReadinessChanged { call: 1, readiness: Readiness::Asked },
        Fact::CallCancelled { call: 1 },
        Fact::BoxAtHand {
            item: 1,
            call: Some(2),
            label: full_label(odd),
            finding: "SAME".into(),
            reason: Some(ODD.into()),
        },
        Fact::BoxAtHand { item: 1, call: None, label: bare.clone(), finding: Finding::NotSaid, reason: None },
        Fact::BoxOpened {
            item: 1,
            call: Some(2),
            lesion: Some(3),
            label: full_label(odd),
            finding: ODD.into(),
            reason: Some(ODD.into()),
            minutes_ago: Some(4),
        },
        Fact::BoxOpened {
            item: 1,
            call: None,
            lesion: None,
            label: bare,
            finding: Finding::NotSaid,
            reason: None,
            minutes_ago: None,
        },
        Fact::BoxPutBack { item: 1, label: full_label(odd), finding: "SAME".into() },
        Fact::BalloonUp { item: 1 },
        Fact::BalloonDown { item: 1, seconds: u32::MAX },
        Fact::Inflated { item: 1, inflation },
        Fact::Inflated { item: u32::MAX, inflation: bare_inflation },
        Fact::AreasMeasured {
            item: 1,
            areas: Areas {
                msa_mm2: Area::from_mm2(odd),
                proximal_mm2: Area::from_mm2(odd),
                distal_mm2: Area::from_mm2(odd),
                method: Method::Oct,
                segment: Some(ODD.into()),
            },
        },
        Fact::OverlapPlaced {
            overlap: Overlap {
                lesion: 1,
                distal: 2,
                proximal: u32::MAX,
                mm: Length::from_mm(odd),
                gap: true,
                how: Certainty::Estimated,
            },
        },
        Fact::OverlapPlaced {
            overlap: Overlap {
                lesion: 255,
                distal: 2,
                proximal: 1,
                mm: Length::from_mm(3.0),
                gap: false,
                how: Certainty::Measured,
            },
        },
        Fact::BackOnTable { item: 1 },
        Fact::UsedAgain { item: 1, lesion: 2, call: Some(3) },
        Fact::StruckOut { entry: u64::MAX, why: ODD.into() },
        Fact::SignedOff { unsettled: 2, why: Some(ODD.into()) },
        Fact::SignedOff { unsettled: 0, why: None },
    ];
    let fates = [Fate::Implanted, Fate::Used, Fate::LostInPatient, Fate::NotFound];
    let unused = Unused::ALL.iter().map(|&why| Fate::OpenedNotUsed { why });
    for (fate, lesion) in fates.into_iter().chain(unused).flat_map(|fate| [(fate, None), (fate, Some(2))]) {
        all.push(Fact::FateGiven { item: 3, fate, lesion });
    }
    all
}

fn entry(fact: Fact) -> Entry {
    Entry {
        seq: 7,
        at: DateTime::parse_from_rfc3339("2026-02-28T23:59:59.123456789-09:30").unwrap(),
        command: ODD.into(),
        case: CaseCode::parse("ACDEF"),
        fact,
    }
}

#[test]
fn every_fact_comes_back_as_it_was() {
    // 0.1 + 0.2, the least and the largest positive numbers, and ones that need all 17 digits.
    for odd in [0.1 + 0.2, 2.75, 29.0, f64::MIN_POSITIVE, 5e-324, f64::MAX, 1.0 / 3.0, -0.1, 1e21] {
        for fact in facts(odd) {
            let entry = entry(fact);
            let body = entry.body().unwrap_or_else(|error| panic!("{entry:?}: {error}"));
            assert_eq!(Entry::from_body(&body).as_ref(), Ok(&entry), "{body}");
        }
    }
}

#[test]
fn the_word_of_a_fact_is_the_one_in_its_body() {
    let mut seen = std::collections::BTreeSet::new();
    for fact in facts(2.75) {
        let json = serde_json::to_value(&fact).unwrap();
        assert_eq!(json["what"], fact.what());
        seen.insert(fact.what());
    }
    assert_eq!(seen.len(), 29, "a kind of fact is missing from these tests: {seen:?}");
}

#[test]
fn the_offset_of_the_clock_is_kept() {
    let entry = entry(Fact::CaseBegun);
    let back = Entry::from_body(&entry.body().unwrap()).unwrap();
    // Equal instants compare as equal whatever their offsets, so the offset is asked for by itself.
    assert_eq!(back.at.offset(), entry.at.offset());
    assert_eq!(back.at.to_rfc3339(), "2026-02-28T23:59:59.123456789-09:30");
}

#[test]
fn what_would_not_come_back_is_refused() {
    for odd in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let must = Fact::PrintedSizeTyped {
            di: di("x"),
            diameter: None,
            length: Length::from_mm(odd),
            agrees: true,
        };
        assert!(entry(must).body().is_err());
        let optional = Fact::BoxPutBack {
            item: 1,
            label: BoxRead { price: Some(odd), ..BoxRead::default() },
            finding: Finding::NotSaid,
        };
        assert!(entry(optional).body().is_err(), "{odd} would come back as nothing");
    }
}

#[test]
fn a_body_that_is_no_entry_is_refused() {
    let body = entry(Fact::CaseBegun).body().unwrap();
    assert!(Entry::from_body(&body.replace("case-begun", "case-bogun")).is_err());
    assert!(Entry::from_body(&body.replace("ACDEF", "AC0EF")).is_err());
    let told = Entry::from_body(&body[1..]).unwrap_err().to_string();
    assert!(told.starts_with("not an entry of this journal: ") && told.len() > 35, "{told}");
    assert!(Entry::from_body("").is_err());
}

/// Expected values by Python's hashlib: `tests/reference/chain.py`.
#[test]
fn the_chain_is_sha_256_of_the_previous_hash_and_the_body() {
    let first = hash(&GENESIS, "abc");
    assert_eq!(hex::encode(first), "365aa7d8f7f9402c4b9434502b4cc89ddb09fe50d7cd95b493b834c62d5a5370");
    let second = hash(&first, "{\"seq\":2,\"why\":\"wire „Fjord“ ⌀ 0.014\"}");
    assert_eq!(hex::encode(second), "7a3dea966b174f72d2bad4237179f05b840150095f1ad547166a800d3cc0819c");
}

proptest! {
    #[test]
    fn any_finite_number_and_any_text_survive(bits in any::<u64>(), text in ".*") {
        let odd = f64::from_bits(bits);
        prop_assume!(odd.is_finite());
        let inflation = Inflation {
            at_atm: Pressure::from_atm(odd), seconds: None, chart_mm: Some(mm(odd)), rated_burst_atm: None, lesion: None,
        };
        let label = BoxRead { name: text.clone(), price: Some(odd), ..BoxRead::default() };
        let facts = [
            Fact::Inflated { item: 1, inflation },
            Fact::BoxPutBack { item: 1, label, finding: text.into() },
        ];
        for fact in facts {
            let entry = entry(fact);
            let body = entry.body().unwrap();
            prop_assert_eq!(Entry::from_body(&body).unwrap(), entry);
        }
    }
}
