//! Verdict, steadiness and rank of 100,000 boxes, next to a plain copy and sort of as many results.
//!
//! `cargo bench --bench fit`. The promise is 5 ms on one core, for rules in closed form, reasons on demand.

mod timing;

use boxcall::catalogue::{Catalogue, Platform, Product};
use boxcall::fit::{JudgedSize, judge};
use boxcall::lesion::{Lesion, Measurements, Reading, check};
use boxcall::measure::{Kind, Method, Rule};
use boxcall::policy::Policy;
use boxcall::units::{Diameter, Length};
use chrono::NaiveDate;
use std::hint::black_box;
use timing::timed;

const PRODUCTS: usize = 1_000;
const DIAMETERS: [f64; 10] = [2.0, 2.25, 2.5, 2.75, 3.0, 3.25, 3.5, 4.0, 4.5, 5.0];
const LENGTHS: [f64; 10] = [7.0, 11.0, 16.0, 20.0, 25.0, 29.0, 34.0, 39.0, 46.0, 51.0];

/// Every product with limits and charts of its own, so that nothing is answered from the product before.
fn catalogue() -> Catalogue {
    let product = |number: usize| {
        let own = number as f64 * 1e-4;
        let platform = |d: &f64| {
            Platform::invented(*d, &LENGTHS, |l| format!("P{number}-{d}-{l}"))
                .with_limit(Some(d * 1.25 + own))
                .with_chart_to(Some(d * 1.08 + own))
        };
        Product::invented(format!("p{number:04}"), DIAMETERS.iter().map(platform).collect())
    };
    Catalogue { products: (0..PRODUCTS).map(product).collect(), ..Catalogue::default() }
}

fn lesion(rule: Rule) -> Lesion {
    let one = |mm: f64| Some(Reading::One(Diameter::from_mm(mm)));
    let measurements = Measurements {
        method: Some(Method::Ivus),
        rule: Some(rule),
        distal_lumen: one(2.8),
        proximal_lumen: one(3.1),
        distal_eem: one(3.3),
        proximal_eem: one(3.7),
        length: Some(Length::from_mm(25.0)),
        ..Measurements::default()
    };
    check(&measurements, &Policy::default(), &[]).expect("believable measures")
}

fn main() {
    let catalogue = catalogue();
    let policy = Policy::default();
    let today = NaiveDate::from_ymd_opt(2026, 1, 1).expect("a day");
    let kinds = [Kind::DrugElutingStent];
    let mut results: Vec<JudgedSize> = Vec::new();
    for rule in [Rule::DistalEem, Rule::SmallerEem, Rule::DistalLumen, Rule::ReferenceDiameter] {
        let lesion = lesion(rule);
        let time = timed(31, || {
            black_box(judge(&catalogue, &kinds, &lesion, &policy, None, today));
        });
        println!("{rule:>20}: {:8.3} ms", time.as_secs_f64() * 1e3);
        results = judge(&catalogue, &kinds, &lesion, &policy, None, today).sizes;
    }
    // Quadrature has no promise; a room's own three hundred diameters are what it has to be quick for.
    let mut room = catalogue.clone();
    room.products.truncate(30);
    let mean = lesion(Rule::MeanLumen);
    let time = timed(31, || {
        black_box(judge(&room, &kinds, &mean, &policy, None, today));
    });
    println!("{:>20}: {:8.3} ms for 3,000 boxes", "mean-lumen", time.as_secs_f64() * 1e3);
    for platform in room.products.iter_mut().flat_map(|product| &mut product.diameters) {
        platform.chart = None;
    }
    for rule in [Rule::DistalEem, Rule::SmallerEem, Rule::DistalLumen] {
        let lesion = lesion(rule);
        let time = timed(31, || {
            black_box(judge(&room, &kinds, &lesion, &policy, None, today));
        });
        println!("{rule:>20}: {:8.3} ms for 3,000 boxes without charts", time.as_secs_f64() * 1e3);
    }
    let copy = timed(31, || {
        black_box(results.clone());
    });
    let sort = timed(31, || {
        let mut sizes = results.clone();
        sizes.sort_unstable_by(|a, b| {
            b.steadiness.unwrap_or(-1.0).total_cmp(&a.steadiness.unwrap_or(-1.0)).then(a.place.cmp(&b.place))
        });
        black_box(sizes);
    });
    println!("{:>20}: {:8.3} ms", "copy alone", copy.as_secs_f64() * 1e3);
    println!("{:>20}: {:8.3} ms", "copy and sort", sort.as_secs_f64() * 1e3);
    let bytes = results.len() * std::mem::size_of_val(&results[0]);
    println!("{} boxes, {:.1} MB of results", results.len(), bytes as f64 / 1e6);
}
