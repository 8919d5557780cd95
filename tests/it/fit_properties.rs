//! What must hold of every judgement, whatever was measured and whatever the shelf's files say.

use boxcall::catalogue::{Catalogue, Guide, Platform, Product};
use boxcall::fit::{Verdict, explain, judge};
use boxcall::lesion::{Measurements, Reading, check};
use boxcall::measure::{Kind, Method, Rule, Site};
use boxcall::policy::Policy;
use boxcall::units::{Diameter, French, Inches, Length, Pressure};
use chrono::NaiveDate;
use proptest::prelude::*;

/// Hundredths, so that values fall on labels and edges often.
fn mm(range: std::ops::Range<u32>) -> impl Strategy<Value = f64> {
    range.prop_map(|hundredths| f64::from(hundredths) / 100.0)
}

fn reading(range: std::ops::Range<u32>) -> impl Strategy<Value = Option<Reading>> {
    prop_oneof![
        3 => mm(range.clone()).prop_map(|d| Some(Reading::One(Diameter::from_mm(d)))),
        1 => Just(None),
        1 => (mm(range.clone()), mm(range))
            .prop_map(|(a, b)| Some(Reading::Two(Diameter::from_mm(a), Diameter::from_mm(b)))),
    ]
}

prop_compose! {
    fn measurements()(
        method in prop::sample::select(Method::ALL),
        rule in prop::option::of(prop::sample::select(Rule::ALL)),
        distal_lumen in reading(150..350),
        proximal_lumen in reading(150..350),
        distal_eem in reading(300..450),
        proximal_eem in reading(300..450),
        length in 4u32..40,
        limit in prop::option::of(10u32..60),
        ostial in any::<bool>(),
        guide in any::<bool>(),
    ) -> Measurements {
        Measurements {
            branch_lumen: None,
            branch_at: None,
            further_branches_at: Vec::new(),
            method: Some(method),
            rule,
            distal_lumen,
            proximal_lumen,
            distal_eem: distal_eem.filter(|_| method.shows_eem()),
            proximal_eem: proximal_eem.filter(|_| method.shows_eem()),
            length: Some(Length::from_mm(f64::from(length))),
            limit: limit.map(|l| Length::from_mm(f64::from(l))),
            guide: guide.then_some(French::new(6.0)),
            segment: None,
            dominance: None,
            sites: if ostial { vec![Site::Ostial] } else { vec![] },
        }
    }
}

/// Labels in quarters from 2.00; growth and room above are hundredths, none where the fact is missing.
fn platform() -> impl Strategy<Value = (u32, Option<u32>, Option<u32>)> {
    (8u32..20, prop::option::of(1u32..40), prop::option::of(0u32..150))
}

fn product(number: usize, sizes: &[(u32, Option<u32>, Option<u32>)], guide: Option<f64>) -> Product {
    let mut sizes = sizes.to_vec();
    sizes.sort_unstable_by_key(|size| size.0);
    sizes.dedup_by_key(|size| size.0);
    let platform = |(quarters, growth, room): &(u32, Option<u32>, Option<u32>)| {
        let d = f64::from(*quarters) / 4.0;
        let burst = growth.map(|g| d + f64::from(g) / 100.0);
        Platform::invented(d, &[12.0, 18.0, 28.0, 38.0], |l| format!("R{d}-{l}"))
            .with_pressures(10.0, 16.0)
            .with_limit(room.map(|r| burst.unwrap_or(d) + f64::from(r) / 100.0))
            .with_chart_to(burst)
    };
    Product {
        name: "Fell".into(),
        guide_min_id: guide.map(Inches::new),
        ..Product::invented(format!("fell-{number}"), sizes.iter().map(platform).collect())
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]
    #[test]
    fn every_judgement_holds_together(
        measurements in measurements(),
        families in prop::collection::vec((prop::collection::vec(platform(), 1..7), prop::option::of(prop::sample::select(&[0.056, 0.080][..]))), 1..4),
    ) {
        let policy = Policy::default();
        let guides = vec![Guide { french: French::new(6.0), inner: Inches::new(0.071) }];
        let products = families.iter().enumerate().map(|(i, (sizes, guide))| product(i, sizes, *guide)).collect();
        let catalogue = Catalogue { products, guides: guides.clone(), ..Catalogue::default() };
        let Ok(lesion) = check(&measurements, &policy, &guides) else { return Ok(()) };
        let today = NaiveDate::from_ymd_opt(2026, 1, 1).unwrap();
        let judgement = judge(&catalogue, &[Kind::DrugElutingStent], &lesion, &policy, None, today);

        let boxes = catalogue.products.iter().flat_map(|p| &p.diameters).map(|d| d.boxes.len()).sum::<usize>();
        prop_assert_eq!(judgement.sizes.len(), boxes);
        prop_assert!(judgement.sizes.windows(2).all(|pair| pair[0].place < pair[1].place));

        let mut ranks: Vec<u32> = judgement.sizes.iter().filter_map(|s| s.rank).collect();
        ranks.sort_unstable();
        prop_assert_eq!(ranks, (1..=judgement.ranked().len() as u32).collect::<Vec<_>>());

        for size in &judgement.sizes {
            prop_assert_eq!(size.rank.is_some(), size.verdict.is_fit());
            prop_assert_eq!(size.post_dilate().is_some(), size.verdict.is_fit());
            prop_assert_eq!(size.steadiness.is_none(), size.verdict == Verdict::Unknown);
            if let Some(steadiness) = size.steadiness {
                prop_assert!((0.0..=1.0).contains(&steadiness), "{}", steadiness);
            }
            let reasons = size.reasons(&catalogue, &lesion, &policy);
            let failed = |code: &str| reasons.iter().any(|r| r.code.name() == code && r.holds == Some(false));
            if size.verdict == Verdict::Unknown {
                prop_assert!(reasons.iter().any(|r| r.code.name().starts_with("fact.") && r.holds.is_none()));
            }
            if matches!(size.verdict, Verdict::No | Verdict::Undersized) {
                prop_assert!(reasons.iter().any(|r| r.holds == Some(false)), "{:?}", reasons);
            }
            if size.verdict.is_fit() {
                for code in ["length.covers", "length.within-limit", "limit.reaches-target", "limit.reaches-window"] {
                    prop_assert!(!failed(code), "{:?}", reasons);
                }
                let on_chart = size.platform(&catalogue).chart.is_some();
                prop_assert_eq!(size.deploy.is_some(), on_chart);
                let rated = size.platform(&catalogue).rated_burst().map(Pressure::atm);
                prop_assert!(size.deploy.is_none_or(|p| rated.is_some_and(|rated| p.atm() <= rated + 1e-9)));
            }
            let lines: Vec<String> = reasons.iter().map(|reason| reason.in_words()).collect();
            let whole = lines.iter().all(|line| !line.is_empty() && !line.contains(['?', '{', '}']));
            prop_assert!(whole, "{:?}", lines);
            let headline = size.headline(&judgement, &catalogue, &lesion, &policy);
            let gives_a_reason = headline.starts_with(&format!("{}: ", size.verdict));
            prop_assert!(gives_a_reason != size.verdict.is_fit(), "{headline}");
        }
        // A line that says no stands above a verdict that is no fit, and above no other.
        for size in judgement.sizes.iter().take(1).chain(judgement.ranked().into_iter().take(1)) {
            let text = explain(size, &judgement, &catalogue, &lesion, &policy);
            let says_no = text.lines().any(|line| line.starts_with("no: ") || line.starts_with("not known: "));
            prop_assert_eq!(says_no, !size.verdict.is_fit(), "{}", text);
        }
    }
}

proptest! {
    /// The middle of the window of the rule on the EEM is (D, D + 0.25) cut in half: there a wider error can only
    /// carry more of the probability out of it.
    #[test]
    fn a_larger_error_never_steadies_the_middle_of_a_window(quarter in 9u32..18, small in 1u32..30, more in 1u32..40) {
        let diameter = f64::from(quarter) * 0.25;
        let catalogue = Catalogue { products: vec![product(0, &[(quarter, None, None), (quarter + 1, None, None)], None)], ..Catalogue::default() };
        let measured = Measurements {
            method: Some(Method::Oct),
            distal_eem: Some(Reading::One(Diameter::from_mm(diameter + 0.125))),
            length: Some(Length::from_mm(8.0)),
            ..Measurements::default()
        };
        let steadiness = |hundredths: u32| {
            let mut policy = Policy::default();
            policy.error.oct.diameter = Diameter::from_mm(f64::from(hundredths) / 100.0);
            let lesion = check(&measured, &policy, &[]).expect("believed");
            let today = NaiveDate::from_ymd_opt(2026, 1, 1).unwrap();
            let judgement = judge(&catalogue, &[Kind::DrugElutingStent], &lesion, &policy, None, today);
            let here = |s: &&boxcall::fit::JudgedSize| (s.diameter.mm() - diameter).abs() < 1e-9;
            judgement.sizes.iter().filter(here).filter_map(|s| s.steadiness).fold(0.0, f64::max)
        };
        prop_assert!(steadiness(small) > 0.1, "the size is there and mostly holds");
        prop_assert!(steadiness(small + more) <= steadiness(small) + 1e-12);
    }

    /// Whatever is typed for a diameter is read as one of the three forms or refused; what is read shows again.
    #[test]
    fn whatever_is_typed_is_read_or_refused(text in "\\PC{0,14}|[0-9.,x×mM2 +-]{0,10}|(NaN|inf|1e308|-1|6F|0\\.12in)") {
        if let Ok(reading) = Reading::parse(&text) {
            prop_assert!(reading.diameter().mm().is_finite() || reading.diameter().mm().is_nan(), "{text:?}");
            prop_assert_eq!(Reading::parse(&reading.to_string()), Ok(reading));
        }
    }
}
