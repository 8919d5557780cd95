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
use std::time::Duration;
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

/// A plain copy and sort of these results.
fn floor(results: &[JudgedSize]) -> Duration {
    timed(31, || {
        let mut sizes = results.to_vec();
        sizes.sort_unstable_by(|a, b| {
            b.steadiness.unwrap_or(-1.0).total_cmp(&a.steadiness.unwrap_or(-1.0)).then(a.place.cmp(&b.place))
        });
        black_box(sizes);
    })
}

/// Judges the catalogue by one rule, and prints the time beside that of a plain copy and sort of what came of it.
fn measured(catalogue: &Catalogue, rule: Rule, what: &str) {
    let (policy, lesion) = (Policy::default(), lesion(rule));
    let today = NaiveDate::from_ymd_opt(2026, 1, 1).expect("a day");
    let judged = || judge(catalogue, &[Kind::DrugElutingStent], &lesion, &policy, None, today).sizes;
    let time = timed(31, || black_box(judged()));
    let results = judged();
    let floor = floor(&results);
    println!(
        "{rule:>20}: {:8.3} ms for {:>7} boxes{what}, copy and sort {:8.3} ms, ratio {:.2}",
        time.as_secs_f64() * 1e3,
        results.len(),
        floor.as_secs_f64() * 1e3,
        time.as_secs_f64() / floor.as_secs_f64()
    );
}

fn main() {
    let catalogue = catalogue();
    for rule in [Rule::DistalEem, Rule::SmallerEem, Rule::DistalLumen, Rule::ReferenceDiameter] {
        measured(&catalogue, rule, "");
    }
    // Quadrature has no promise; a room's own three hundred diameters are what it has to be quick for.
    let mut room = catalogue;
    room.products.truncate(30);
    measured(&room, Rule::MeanLumen, "");
    for platform in room.products.iter_mut().flat_map(|product| &mut product.diameters) {
        platform.chart = None;
    }
    for rule in [Rule::DistalEem, Rule::SmallerEem, Rule::DistalLumen] {
        measured(&room, rule, " without charts");
    }
}
