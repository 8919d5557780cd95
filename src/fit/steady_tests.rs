//! Steadiness against `tests/reference/steadiness.tsv`, made by `steadiness.py` beside it: a verdict spelt out
//! anew, and a nested adaptive integral.

use super::facts::{Facts, Frame, Point};
use super::steady::Steady;
use crate::catalogue::{Platform, Product};
use crate::lesion::{Measurements, Reading, check};
use crate::measure::{Law, Method, Rule};
use crate::policy::{PerMethod, Policy, StandardError};
use crate::units::{Diameter, Length};

pub(super) fn product(labels: &[f64], limit: Option<f64>, burst: Option<f64>) -> Product {
    let platform =
        |d: &f64| Platform::invented(*d, &[100.0], |_| "T".into()).with_limit(limit).with_chart_to(burst);
    Product::invented("fell", labels.iter().map(platform).collect())
}

#[test]
fn steadiness_is_the_brute_force_probability() {
    let table = include_str!("../../tests/reference/steadiness.tsv");
    let mut rows = 0;
    for line in table.lines().skip(1) {
        let field: Vec<&str> = line.split('\t').collect();
        let number = |i: usize| field[i].parse::<f64>().ok();
        let labels: Vec<f64> = field[2].split(',').map(|l| l.parse().expect("a label")).collect();
        let reading = |i: usize| number(i).map(|mm| Reading::One(Diameter::from_mm(mm)));
        let sd = number(6).expect("a standard error");
        let one = StandardError { diameter: Diameter::from_mm(sd), length: Length::from_mm(1.0) };
        let policy = Policy {
            error: PerMethod { angiography: one, qca: one, ivus: one, oct: one },
            branch_law: Law::from_name(field[12]).expect(line),
            ..Policy::default()
        };
        let measurements = Measurements {
            method: Some(Method::Ivus),
            rule: Rule::from_name(field[1]),
            distal_lumen: reading(7),
            proximal_lumen: reading(8),
            distal_eem: reading(9),
            proximal_eem: reading(10),
            branch_lumen: reading(11),
            length: Some(Length::from_mm(20.0)),
            ..Measurements::default()
        };
        let lesion = check(&measurements, &policy, &[]).expect(line);
        let product = product(&labels, number(4), number(5));
        let index = labels.iter().position(|l| Some(*l) == number(3)).expect("the diameter is a label");
        let facts = Facts::of(&product, index);
        let expected = number(13).expect("a probability");
        let found = Steady::new(&lesion, &policy).by_diameter(&facts);
        assert!((found - expected).abs() < 1e-9, "{line}\nfound {found:.12}");
        rows += 1;
    }
    assert!(rows >= 40, "{rows} rows");
}

/// An exact measure has nothing to be unsteady about: the limit of a shrinking error is the verdict itself.
#[test]
fn a_tiny_error_gives_the_verdict() {
    let tiny = StandardError { diameter: Diameter::from_mm(1e-5), length: Length::from_mm(1e-6) };
    let policy = Policy {
        error: PerMethod { angiography: tiny, qca: tiny, ivus: tiny, oct: tiny },
        ..Policy::default()
    };
    let labels = [2.25, 2.5, 2.75, 3.0, 3.5, 4.0];
    let one = |mm: f64| Some(Reading::One(Diameter::from_mm(mm)));
    for rule in Rule::ALL.iter().copied() {
        for (limit, burst) in [(Some(4.2), Some(4.15)), (Some(4.2), None), (None, Some(4.15)), (None, None)] {
            // Not on any label's edge, so that a tiny error moves nothing across one.
            for distal in [2.31, 2.62, 2.88, 3.07, 3.21, 3.83] {
                for proximal in [2.57, 2.93, 3.33, 4.01] {
                    let measurements = Measurements {
                        method: Some(Method::Oct),
                        rule: Some(rule),
                        distal_lumen: one(distal - 0.0637),
                        proximal_lumen: one(proximal - 0.0591),
                        distal_eem: one(distal),
                        proximal_eem: one(proximal),
                        length: Some(Length::from_mm(20.0)),
                        ..Measurements::default()
                    };
                    let lesion = check(&measurements, &policy, &[]).expect("measures");
                    let product = product(&labels, limit, burst);
                    let frame = Frame { rule, window: policy.window, tolerance: 0.0 };
                    for (index, label) in labels.iter().enumerate() {
                        let facts = Facts::of(&product, index);
                        let fits = facts.class(&frame, Point::measured(&lesion)).is_fit();
                        let found = Steady::new(&lesion, &policy).by_diameter(&facts);
                        let expected = f64::from(u8::from(fits));
                        assert!(
                            (found - expected).abs() < 1e-9,
                            "{rule} {distal} {proximal} {limit:?} {burst:?} {label}: {found}"
                        );
                    }
                }
            }
        }
    }
}
