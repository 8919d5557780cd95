//! What the shelf serves.
//!
//! Outside: tests/reference/gaps.tsv, written by gaps.py (a Monte Carlo in numpy and mixed integer programs for HiGHS),
//! which shares nothing with the program; and the engine's own verdicts, box by box.

use boxcall::catalogue::{self, Catalogue, demo};
use boxcall::fit::judge;
use boxcall::journal::{CaseCode, Entry, Fact};
use boxcall::lesion::{Measurements, Reading, check};
use boxcall::measure::{Dominance, Kind, Method};
use boxcall::policy::Policy;
use boxcall::shelf::Shelf;
use boxcall::shelf::gaps::{Demand, LEAST_OWN, Lengths, Served, needed_lengths, served, sizes};
use boxcall::units::{Diameter, Length};
use chrono::NaiveDate;

const STENTS: [Kind; 1] = [Kind::DrugElutingStent];

fn demo_catalogue() -> Catalogue {
    let files: Vec<_> = demo::files().into_iter().map(|(name, text)| (name.into(), text.into())).collect();
    catalogue::read(&files).unwrap()
}

fn today() -> NaiveDate {
    "2026-11-25".parse().unwrap()
}

fn entry(seq: u64, case: Option<&str>, fact: Fact) -> Entry {
    Entry {
        seq,
        at: "2026-11-25T08:00:00+01:00".parse().unwrap(),
        command: format!("c{seq}"),
        case: case.map(|code| CaseCode::parse(code).unwrap()),
        fact,
    }
}

fn demand(side: &str, excess: &str) -> Demand {
    let side = Dominance::from_name(side).unwrap();
    Demand::new(side, Vec::new(), &Policy::default(), Length::from_mm(excess.parse().unwrap()))
}

fn of_demo(demand: &Demand, target: f64) -> Served {
    let catalogue = demo_catalogue();
    let stock = catalogue::stock::read("stock.csv", demo::stock(), &catalogue).unwrap();
    let loaded = entry(1, None, Fact::StockLoaded { from: "demo".into(), pieces: stock.pieces });
    let shelf = Shelf::fold_with(&catalogue, [&loaded]);
    served(&shelf, &catalogue, &STENTS, &Policy::default(), demand, target, today())
}

fn rows(what: &str) -> Vec<Vec<&'static str>> {
    let lines =
        include_str!("../reference/gaps.tsv").lines().map(|line| line.split('\t').collect::<Vec<_>>());
    lines.filter(|cells| cells[0] == what).collect()
}

#[test]
fn shares_agree_with_the_monte_carlo() {
    let rows = rows("share");
    assert!(rows.len() >= 18);
    for cells in rows {
        let found = of_demo(&demand(cells[1], cells[2]), 0.5);
        let share = match cells[3] {
            "all" => found.share,
            segment => found.vessels.iter().find(|one| one.vessel.segment == segment).unwrap().share,
        };
        let (mean, error): (f64, f64) = (cells[4].parse().unwrap(), cells[5].parse().unwrap());
        assert!((share - mean).abs() < 4.5 * error, "{cells:?}: {share}");
    }
}

#[test]
fn the_smallest_shelf_is_as_small_as_the_solver_finds() {
    let rows = rows("smallest");
    assert!(rows.len() >= 6);
    for cells in rows {
        let number = |at: usize| cells[at].parse::<f64>().unwrap();
        let found = of_demo(&demand(cells[1], cells[2]), number(3));
        let boxes = number(6) as usize;
        assert!((found.possible - number(4)).abs() < 1e-8, "{cells:?}: {}", found.possible);
        assert!((found.smallest.target - number(5)).abs() < 1e-8, "{cells:?}");
        assert!(found.smallest.share >= found.smallest.target - 1e-9);
        let Served { smallest, .. } = &found;
        assert_eq!((smallest.sizes.len(), smallest.at_least), (boxes, boxes), "{cells:?}");
        assert!(smallest.is_proved());
    }
}

/// A piece of the size told is laid on the shelf, and the share rises by what was told.
#[test]
fn one_more_box_adds_what_is_told() {
    let catalogue = demo_catalogue();
    let demand = demand("right", "8");
    let before = of_demo(&demand, 0.5);
    assert_eq!(before.gains.len(), 10);
    assert!(before.gains.windows(2).all(|pair| pair[0].gain >= pair[1].gain));
    for gain in &before.gains {
        let mut stock = catalogue::stock::read("stock.csv", demo::stock(), &catalogue).unwrap();
        let packs = catalogue.products.iter().flat_map(|p| &p.diameters).flat_map(|d| &d.boxes);
        let pack = packs.into_iter().find(|pack| pack.reference == gain.size.reference).unwrap();
        let mut piece = stock.pieces[0].clone();
        (piece.di, piece.count, piece.use_by) = (pack.di[0].clone(), 1, None);
        stock.pieces.push(piece);
        let loaded = entry(1, None, Fact::StockLoaded { from: "demo".into(), pieces: stock.pieces });
        let shelf = Shelf::fold_with(&catalogue, [&loaded]);
        let after = served(&shelf, &catalogue, &STENTS, &Policy::default(), &demand, 0.5, today());
        assert!((after.share - before.share - gain.gain).abs() < 1e-9, "{}", gain.size.reference);
    }
}

/// The rectangle of a box is what the engine says of it, lumen by lumen.
#[test]
fn a_box_serves_the_lumens_that_the_engine_lets_it() {
    let (catalogue, policy) = (demo_catalogue(), Policy::default());
    let sizes = sizes(&catalogue, &STENTS, &policy, &demand("right", "8"));
    let mut seen = 0;
    for step in 0..400 {
        // Never on an edge of a window.
        let lumen = 1.5 + 0.01 * f64::from(step) + 0.00317;
        let measured = Measurements {
            method: Some(Method::Angiography),
            distal_lumen: Some(Reading::One(Diameter::from_mm(lumen))),
            length: Some(Length::from_mm(2.0)),
            ..Measurements::default()
        };
        let lesion = check(&measured, &policy, &[]).unwrap();
        let judged = judge(&catalogue, &STENTS, &lesion, &policy, None, today());
        // 2 mm and the margins of 3 mm need 8.
        for size in sizes.iter().filter(|size| size.length.mm() >= 8.0) {
            let one = judged.sizes.iter().find(|one| {
                one.product(&catalogue).id == size.product
                    && one.diameter == size.diameter
                    && one.length == size.length
            });
            let one = one.unwrap();
            let inside = size.reach.lumen[0] <= lumen && lumen <= size.reach.lumen[1];
            assert_eq!(inside, one.verdict.is_fit(), "{} {} at {lumen}", size.product, size.diameter);
            seen += usize::from(inside);
        }
    }
    assert!(seen > 5_000);
}

#[test]
fn a_room_with_enough_cases_counts_its_own_lengths() {
    let policy = Policy::default();
    let codes = ["AAAAA", "CCCCC", "DDDDD", "EEEEE"];
    let measured = |mm: Option<f64>, method| Measurements {
        method: Some(method),
        length: mm.map(Length::from_mm),
        ..Measurements::default()
    };
    let mut entries = Vec::new();
    for seq in 0..32_u64 {
        let fact = Fact::LesionMeasured {
            lesion: (seq / 4) as u8 + 1,
            measured: measured(Some(10.0 + seq as f64), if seq % 2 == 0 { Method::Qca } else { Method::Oct }),
        };
        entries.push(entry(seq + 1, Some(codes[seq as usize % 4]), fact));
    }
    // The first lesion is measured again, the second one's length is taken back.
    let again = Fact::LesionMeasured { lesion: 1, measured: measured(Some(50.0), Method::Oct) };
    entries.push(entry(33, Some(codes[0]), again));
    let back = Fact::LesionMeasured { lesion: 1, measured: measured(None, Method::Oct) };
    entries.push(entry(34, Some(codes[1]), back));
    let own = needed_lengths(&entries, &policy);
    assert_eq!(own.len(), 31);
    assert!(
        own.contains(&50.0) && !own.contains(&16.0) && own.contains(&(12.0 + 6.0)) && own.contains(&13.0)
    );
    let of = |own: Vec<f64>| Demand::new(Dominance::Right, own, &policy, Demand::EXCESS).lengths;
    assert!(matches!(of(own.clone()), Lengths::Own(_)));
    assert!((of(own.clone()).at_most(49.0) - 30.0 / 31.0).abs() < 1e-12);
    assert!(matches!(of(own[..LEAST_OWN - 1].to_vec()), Lengths::LogNormal { .. }));
}
