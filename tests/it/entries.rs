//! A journal written by hand: facts in, entries out, and a small invented catalogue.

use boxcall::case::Totals;
use boxcall::catalogue::{Catalogue, Guide, Owner, Pack, Piece, Platform, Product, Sundry};
use boxcall::journal::{
    BoxRead, CaseCode, Certainty, Entry, Fact, Fate, Finding, Inflation, Overlap, Readiness, Unused, Wanted,
};
use boxcall::label::{Arrival, Label, Raw, System};
use boxcall::lesion::Measurements;
use boxcall::measure::Kind;
use boxcall::udi::DeviceId;
use boxcall::units::{Diameter, French, Inches, Length, Pressure};
use chrono::{DateTime, FixedOffset, NaiveDate, TimeDelta};
use proptest::prelude::*;

pub const CODE: &str = "ACD34";

/// Invented identifiers with the GS1 prefix for examples; check digits by @gs1-check-digit.
pub const FELL_30029: &str = "09521001300292";
pub const FELL_30039: &str = "09521001300391";
pub const FELL_27529: &str = "09521001275293";
pub const SKERRY_30029: &str = "09521002300291";
pub const BECK_35012: &str = "09521003350127";
pub const OXBOW_35021: &str = "09521008350214";
pub const WIRE: &str = "09521005000198";
pub const STRANGER: &str = "09529999999993";

pub fn di(text: &str) -> DeviceId {
    serde_json::from_value(serde_json::json!(text)).unwrap()
}

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub fn today() -> NaiveDate {
    day("2026-11-25")
}

pub fn code(text: &str) -> CaseCode {
    CaseCode::parse(text).unwrap()
}

pub fn size(diameter: f64, length: f64) -> (Option<Diameter>, Option<Length>) {
    (Some(Diameter::from_mm(diameter)), Some(Length::from_mm(length)))
}

/// Entries in the order in which they are pushed, a minute apart.
#[derive(Default)]
pub struct Journal {
    pub entries: Vec<Entry>,
}

impl Journal {
    pub fn case() -> Journal {
        let mut journal = Journal::default();
        journal.push(Fact::CaseBegun);
        journal
    }

    pub fn at(seq: u64) -> DateTime<FixedOffset> {
        let start = DateTime::parse_from_rfc3339("2026-11-25T13:00:00+01:00").unwrap();
        start + TimeDelta::minutes(seq as i64)
    }

    pub fn push(&mut self, fact: Fact) -> u64 {
        self.push_to(Some(CODE), fact)
    }

    pub fn push_to(&mut self, case: Option<&str>, fact: Fact) -> u64 {
        let seq = self.entries.len() as u64 + 1;
        let command = format!("command-{seq}");
        self.entries.push(Entry { seq, at: Self::at(seq), command, case: case.map(code), fact });
        seq
    }

    pub fn call(&mut self, call: u32, wanted: Wanted) -> u64 {
        self.push(Fact::Called {
            call,
            lesion: Some(1),
            wanted,
            readiness: Readiness::Asked,
            verdict: None,
            why: None,
        })
    }

    pub fn at_hand(&mut self, item: u32, call: Option<u32>, label: BoxRead) -> u64 {
        self.push(Fact::BoxAtHand { item, call, label, finding: "same".into(), reason: None })
    }

    pub fn open(&mut self, item: u32, call: Option<u32>, label: BoxRead) -> u64 {
        self.push(Fact::BoxOpened {
            item,
            call,
            lesion: None,
            label,
            finding: "same".into(),
            reason: None,
            minutes_ago: None,
        })
    }

    pub fn put_back(&mut self, item: u32, label: BoxRead) -> u64 {
        self.push(Fact::BoxPutBack { item, label, finding: "different".into() })
    }

    pub fn fate(&mut self, item: u32, fate: Fate) -> u64 {
        self.push(Fact::FateGiven { item, fate, lesion: None })
    }

    pub fn strike(&mut self, entry: u64) -> u64 {
        self.push(Fact::StruckOut { entry, why: "slip of the finger".into() })
    }

    pub fn fold(&self) -> boxcall::case::Case {
        boxcall::case::Case::fold(&self.entries).unwrap()
    }
}

/// Every fate that an opened box may have, and none yet, added up.
pub fn counted(totals: &Totals) -> u32 {
    let Totals { implanted, used, lost, not_found, unsettled, .. } = totals;
    implanted + used + totals.unused_in_all() + lost + not_found + unsettled
}

pub fn wanted(product: Option<&str>, diameter: f64, length: f64) -> Wanted {
    let (diameter, length) = size(diameter, length);
    Wanted { product: product.map(String::from), diameter, length, ..Wanted::default() }
}

/// A box of Fell, drug-eluting, at 900.
pub fn fell(identifier: &str, diameter: f64, length: f64, lot: &str) -> BoxRead {
    let (diameter, length) = size(diameter, length);
    BoxRead {
        product: Some("fell".into()),
        name: "Fell".into(),
        kind: Some(Kind::DrugElutingStent),
        diameter,
        length,
        di: Some(di(identifier)),
        lot: Some(lot.into()),
        use_by: Some(day("2027-12-31")),
        price: Some(900.0),
        ..BoxRead::default()
    }
}

pub fn beck() -> BoxRead {
    let (diameter, length) = size(3.5, 12.0);
    BoxRead {
        product: Some("beck".into()),
        name: "Beck".into(),
        kind: Some(Kind::NonCompliantBalloon),
        diameter,
        length,
        di: Some(di(BECK_35012)),
        lot: Some("B1".into()),
        price: Some(150.5),
        ..BoxRead::default()
    }
}

pub fn piece(identifier: &str, lot: &str, use_by: &str, shelf: &str, count: u32) -> Piece {
    Piece {
        di: di(identifier),
        lot: lot.into(),
        serial: None,
        use_by: Some(day(use_by)),
        shelf: shelf.into(),
        count,
        owner: Owner::Own,
    }
}

fn platform(diameter: f64, boxes: &[(f64, &str, &str)]) -> Platform {
    let pack = |(length, reference, identifier): &(f64, &str, &str)| Pack {
        length: Length::from_mm(*length),
        reference: reference.to_string(),
        di: vec![di(identifier)],
    };
    Platform {
        boxes: boxes.iter().map(pack).collect(),
        ..Platform::invented(diameter, &[], |_| String::new())
    }
}

fn product(name: &str, kind: Kind, verified: bool, diameters: Vec<Platform>) -> Product {
    Product {
        name: name.into(),
        kind,
        price: Some(900.0),
        verified,
        ..Product::invented(name.to_lowercase(), diameters)
    }
}

/// Fell (drug-eluting), Skerry (the same, nobody has checked its file), Beck (balloon), Oxbow (covered), a wire.
pub fn catalogue() -> Catalogue {
    let beck = platform(3.5, &[(12.0, "BK35012", BECK_35012)]);
    let oxbow = platform(3.5, &[(21.0, "OX35021", OXBOW_35021)]);
    let skerry = platform(3.0, &[(29.0, "SK30029", SKERRY_30029)]);
    let mut oxbow = product("Oxbow", Kind::CoveredStent, true, vec![oxbow]);
    oxbow.guide_min_id = Some(Inches::new(0.078));
    let fell = vec![
        platform(2.75, &[(29.0, "FL27529", FELL_27529)]),
        platform(3.0, &[(29.0, "FL30029", FELL_30029), (39.0, "FL30039", FELL_30039)]),
    ];
    let mut wire = product("Footpath wire", Kind::Other, true, Vec::new());
    wire.id = "footpath".into();
    wire.sundries = vec![Sundry { length: None, reference: "FP190".into(), di: vec![di(WIRE)] }];
    Catalogue {
        products: vec![
            product("Beck", Kind::NonCompliantBalloon, true, vec![beck]),
            oxbow,
            product("Skerry", Kind::DrugElutingStent, false, vec![skerry]),
            wire,
            product("Fell", Kind::DrugElutingStent, true, fell),
        ],
        guides: vec![
            Guide { french: French::new(6.0), inner: Inches::new(0.071) },
            Guide { french: French::new(7.0), inner: Inches::new(0.081) },
        ],
        ..Catalogue::default()
    }
}

/// A label as the reader hands it over; what is not given is not on it.
pub fn label(identifier: Option<&str>, lot: Option<&str>, use_by: Option<&str>) -> Label {
    Label {
        di: identifier.map(di),
        lot: lot.map(String::from),
        use_by: use_by.map(day),
        ..Label::blank(System::Gs1)
    }
}

pub fn raw() -> Raw {
    Raw { hex: "5d6432".into(), arrival: Arrival::Scanned }
}

fn any_fate() -> impl Strategy<Value = Fate> {
    prop_oneof![
        Just(Fate::Implanted),
        Just(Fate::Used),
        Just(Fate::LostInPatient),
        Just(Fate::NotFound),
        prop::sample::select(Unused::ALL).prop_map(|why| Fate::OpenedNotUsed { why }),
    ]
}

/// Any fact of a case, about few boxes and calls, so that they meet.
pub fn any_fact() -> impl Strategy<Value = Fact> {
    let number = 0u32..5;
    let call = prop::option::of(0u32..5);
    let boxes = prop::sample::select(vec![
        BoxRead::default(),
        fell(FELL_30029, 3.0, 29.0, "L1"),
        beck(),
        BoxRead { price: None, serial: Some("S1".into()), ..fell(FELL_30029, 3.0, 29.0, "L1") },
    ]);
    let finding = Just(Finding::from("same"));
    prop_oneof![
        Just(Fact::CaseBegun),
        number.clone().prop_map(|item| Fact::BalloonUp { item }),
        (number.clone(), any::<u32>()).prop_map(|(item, seconds)| Fact::BalloonDown { item, seconds }),
        (number.clone(), prop::option::of(1u8..3)).prop_map(|(item, lesion)| Fact::Inflated {
            item,
            inflation: Inflation {
                at_atm: Pressure::from_atm(11.3),
                seconds: None,
                chart_mm: None,
                rated_burst_atm: None,
                lesion,
            },
        }),
        (0u8..3).prop_map(|lesion| Fact::LesionMeasured { lesion, measured: Measurements::default() }),
        (number.clone(), prop::option::of(0u8..3)).prop_map(|(call, lesion)| Fact::Called {
            call,
            lesion,
            wanted: wanted(None, 3.0, 29.0),
            readiness: Readiness::Asked,
            verdict: None,
            why: None,
        }),
        number.clone().prop_map(|call| Fact::CallCancelled { call }),
        number.clone().prop_map(|call| Fact::ReadinessChanged { call, readiness: Readiness::HaveReady }),
        (number.clone(), call.clone(), boxes.clone(), finding.clone()).prop_map(
            |(item, call, label, finding)| Fact::BoxAtHand { item, call, label, finding, reason: None }
        ),
        (number.clone(), call, boxes.clone(), finding.clone(), prop::option::of(any::<u32>())).prop_map(
            |(item, call, label, finding, minutes_ago)| Fact::BoxOpened {
                item,
                call,
                lesion: None,
                label,
                finding,
                reason: None,
                minutes_ago,
            }
        ),
        (number.clone(), boxes, finding).prop_map(|(item, label, finding)| Fact::BoxPutBack {
            item,
            label,
            finding
        }),
        (number.clone(), any_fate()).prop_map(|(item, fate)| Fact::FateGiven { item, fate, lesion: None }),
        number.clone().prop_map(|item| Fact::BackOnTable { item }),
        (number.clone(), number.clone(), 0u32..9, any::<bool>()).prop_map(|(distal, proximal, mm, gap)| {
            let (mm, how) = (Length::from_mm(f64::from(mm)), Certainty::Estimated);
            Fact::OverlapPlaced { overlap: Overlap { lesion: 1, distal, proximal, mm, gap, how } }
        }),
        (number, 0u8..3, prop::option::of(0u32..5)).prop_map(|(item, lesion, call)| Fact::UsedAgain {
            item,
            lesion,
            call
        }),
        (0u64..40).prop_map(|entry| Fact::StruckOut { entry, why: "slip".into() }),
        (0u32..3).prop_map(|unsettled| Fact::SignedOff { unsettled, why: None }),
    ]
}
