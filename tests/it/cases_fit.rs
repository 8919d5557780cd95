//! `tests/cases/*.toml`: measurements in, verdicts out, the source inside each file.

use boxcall::catalogue::{Catalogue, Guide, Platform, Product};
use boxcall::fit::judge;
use boxcall::lesion::{Measurements, Reading, check};
use boxcall::measure::{Kind, Method, Rule, Site};
use boxcall::policy::Policy;
use boxcall::units::{French, Inches, Length};
use chrono::NaiveDate;
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Scenario {
    source: String,
    method: Method,
    rule: Option<Rule>,
    distal_lumen: Option<String>,
    proximal_lumen: Option<String>,
    distal_eem: Option<String>,
    proximal_eem: Option<String>,
    length: f64,
    limit: Option<f64>,
    segment: Option<String>,
    #[serde(default)]
    sites: Vec<Site>,
    guide_bore_in: Option<f64>,
    product: Vec<Family>,
    expected: Expected,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Family {
    id: String,
    guide_min_id_in: Option<f64>,
    diameters: Vec<Size>,
    lengths: Vec<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Size {
    mm: f64,
    limit: Option<f64>,
    burst: Option<f64>,
}

#[derive(Deserialize)]
struct Expected {
    window: [f64; 2],
    cautions: Vec<String>,
    /// `3.00x29`, or `fell 3.00x29` where there are several products.
    #[serde(flatten)]
    sizes: BTreeMap<String, Wanted>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Wanted {
    verdict: String,
    rank: Option<u32>,
    deploy: Option<f64>,
    guide: Option<bool>,
    /// A condition that has to be told as not holding.
    why: Option<String>,
    /// A fact that has to be told as missing.
    lacks: Option<String>,
}

fn product(family: &Family) -> Product {
    let platform = |size: &Size| {
        Platform::invented(size.mm, &family.lengths, |l| format!("R{}-{l}", size.mm))
            .with_limit(size.limit)
            .with_chart_to(size.burst)
    };
    Product {
        guide_min_id: family.guide_min_id_in.map(Inches::new),
        ..Product::invented(family.id.clone(), family.diameters.iter().map(platform).collect())
    }
}

fn run(name: &str, text: &str) {
    let scenario: Scenario = toml::from_str(text).unwrap_or_else(|error| panic!("{name}: {error}"));
    let name = &format!("{name} [{}]", crate::sources::words(&scenario.source));
    let french = French::new(6.0);
    let guides: Vec<Guide> =
        scenario.guide_bore_in.map(|bore| Guide { french, inner: Inches::new(bore) }).into_iter().collect();
    let reading = |text: &Option<String>| text.as_ref().map(|text| Reading::parse(text).expect(name));
    let measurements = Measurements {
        branch_lumen: None,
        branch_at: None,
        further_branches_at: Vec::new(),
        method: Some(scenario.method),
        rule: scenario.rule,
        distal_lumen: reading(&scenario.distal_lumen),
        proximal_lumen: reading(&scenario.proximal_lumen),
        distal_eem: reading(&scenario.distal_eem),
        proximal_eem: reading(&scenario.proximal_eem),
        length: Some(Length::from_mm(scenario.length)),
        limit: scenario.limit.map(Length::from_mm),
        guide: scenario.guide_bore_in.map(|_| french),
        segment: scenario.segment.clone(),
        dominance: None,
        sites: scenario.sites.clone(),
    };
    let policy = Policy::default();
    let lesion = check(&measurements, &policy, &guides).unwrap_or_else(|bad| panic!("{name}: {bad:?}"));
    let catalogue = Catalogue {
        products: scenario.product.iter().map(product).collect(),
        guides,
        ..Catalogue::default()
    };
    let today = NaiveDate::from_ymd_opt(2026, 1, 1).expect("a day");
    let judgement = judge(&catalogue, &[Kind::DrugElutingStent], &lesion, &policy, None, today);

    for (found, expected) in lesion.target.window.iter().zip(scenario.expected.window) {
        assert!((found.mm() - expected).abs() < 1e-9, "{name}: window {:?}", lesion.target.window);
    }
    let told: Vec<&str> =
        lesion.cautions.iter().chain(&judgement.cautions).map(|caution| caution.code.name()).collect();
    let mut expected: Vec<&str> = scenario.expected.cautions.iter().map(String::as_str).collect();
    if lesion.target.proximal_target.is_none() {
        expected.push("reach.not-judged");
    }
    assert_eq!(told, expected, "{name}: cautions");

    for (key, wanted) in &scenario.expected.sizes {
        let (id, size) = key.split_once(' ').unwrap_or((&scenario.product[0].id, key));
        let found = judgement
            .sizes
            .iter()
            .find(|s| s.product(&catalogue).id == id && format!("{}x{}", s.diameter, s.length) == size)
            .unwrap_or_else(|| panic!("{name}: no {key}"));
        assert_eq!(found.verdict.name(), wanted.verdict, "{name}: {key}");
        assert_eq!(found.rank, wanted.rank, "{name}: {key}: rank");
        assert_eq!(found.guide_ok, wanted.guide, "{name}: {key}: guide");
        match (found.deploy.map(|p| p.atm()), wanted.deploy) {
            (Some(found), Some(wanted)) => {
                assert!((found - wanted).abs() < 1e-9, "{name}: {key}: {found} atm");
            }
            (found, wanted) => assert_eq!(found, wanted, "{name}: {key}: pressure"),
        }
        let reasons = found.reasons(&catalogue, &lesion, &policy);
        if let Some(code) = &wanted.why {
            let told = reasons.iter().any(|r| r.code.name() == code && r.holds == Some(false));
            assert!(told, "{name}: {key}: {code} is not told: {reasons:?}");
        }
        if let Some(code) = &wanted.lacks {
            let told = reasons.iter().any(|r| r.code.name() == code && r.holds.is_none());
            assert!(told, "{name}: {key}: {code} is not told: {reasons:?}");
        }
        assert!(reasons.iter().all(|r| !r.in_words().is_empty()));
    }
}

#[test]
fn scenarios() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/cases");
    let mut ran = 0;
    for entry in std::fs::read_dir(folder).expect("tests/cases") {
        let path = entry.expect("an entry").path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            run(&path.display().to_string(), &std::fs::read_to_string(&path).expect("a scenario"));
            ran += 1;
        }
    }
    assert!(ran >= 5, "{ran} scenarios");
}
