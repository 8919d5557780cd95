//! Verdicts against `tests/reference/verdicts.tsv`, made by `verdicts.py` beside it, which spells the rules out anew
//! and tries every value that a missing fact may have.

use super::facts::{Facts, Frame, Point};
use super::steady_tests::product;
use crate::lesion::{Measurements, Reading, check};
use crate::measure::{Law, Method, Rule};
use crate::policy::Policy;
use crate::units::{Diameter, Length, TOLERANCE};

#[test]
fn verdicts_are_those_of_the_rules_spelt_out() {
    let policy = Policy::default();
    let mut rows = 0;
    for line in include_str!("../../tests/reference/verdicts.tsv").lines().skip(1) {
        let field: Vec<&str> = line.split('\t').collect();
        let number = |i: usize| field[i].parse::<f64>().ok();
        let reading = |i: usize| number(i).map(|mm| Reading::One(Diameter::from_mm(mm)));
        let rule = Rule::from_name(field[0]).expect(line);
        let measurements = Measurements {
            method: Some(Method::Oct),
            rule: Some(rule),
            distal_lumen: reading(1),
            proximal_lumen: reading(2),
            distal_eem: reading(3),
            proximal_eem: reading(4),
            branch_lumen: reading(5),
            length: Some(Length::from_mm(20.0)),
            ..Measurements::default()
        };
        let policy = Policy { branch_law: Law::from_name(field[6]).expect(line), ..policy.clone() };
        let lesion = check(&measurements, &policy, &[]).expect(line);
        let labels: Vec<f64> = field[7].split(',').map(|l| l.parse().expect("a label")).collect();
        let product = product(&labels, number(9), number(10));
        let index = labels.iter().position(|l| Some(*l) == number(8)).expect("the diameter is a label");
        let frame = Frame { rule, window: policy.window, tolerance: TOLERANCE };
        let found = Facts::of(&product, index).class(&frame, Point::measured(&lesion));
        assert_eq!(found.name(), field[11], "{line}");
        rows += 1;
    }
    assert_eq!(rows, 3000);
}
