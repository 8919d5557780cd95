//! What other programs read of a judgement, and what the screens say of one size.

use boxcall::catalogue::{Catalogue, Guide, Platform, Product};
use boxcall::fit::{Judgement, Place, judge, kinds};
use boxcall::lesion::{Lesion, Measurements, Reading, check};
use boxcall::measure::{Kind, Method};
use boxcall::policy::Policy;
use boxcall::units::{Diameter, French, Inches, Length};
use chrono::NaiveDate;
use serde_json::json;

fn catalogue() -> Catalogue {
    let platform = |(d, burst): (f64, f64)| {
        Platform::invented(d, &[20.0, 29.0], |l| format!("FL{d:.2}-{l}"))
            .with_limit(Some(4.0))
            .with_chart_to(Some(burst))
    };
    let product = |kind, id: &str| Product {
        kind,
        guide_min_id: Some(Inches::new(0.056)),
        ..Product::invented(id, [(2.5, 2.7), (2.75, 2.95), (3.0, 3.22)].map(platform).to_vec())
    };
    let products = vec![product(Kind::NonCompliantBalloon, "beck"), product(Kind::DrugElutingStent, "fell")];
    let guides = vec![Guide { french: French::new(6.0), inner: Inches::new(0.071) }];
    Catalogue { products, guides, ..Catalogue::default() }
}

fn judged(catalogue: &Catalogue, distal_eem: f64, length: f64) -> (Lesion, Judgement) {
    let one = |mm: f64| Some(Reading::One(Diameter::from_mm(mm)));
    let measurements = Measurements {
        method: Some(Method::Ivus),
        distal_eem: one(distal_eem),
        proximal_eem: one(3.5),
        length: Some(Length::from_mm(length)),
        guide: Some(French::new(6.0)),
        ..Measurements::default()
    };
    let policy = Policy::default();
    let lesion = check(&measurements, &policy, &catalogue.guides).expect("believed");
    let today = NaiveDate::from_ymd_opt(2026, 1, 1).expect("a day");
    let kinds = kinds(&[], &policy).expect("the policy's kinds");
    let judgement = judge(catalogue, &kinds, &lesion, &policy, Some(&[]), today);
    (lesion, judgement)
}

/// More lengths of one diameter than 16 bits count: each is judged and named as itself.
#[test]
fn no_box_is_named_by_another_however_many_there_are() {
    let lengths: Vec<f64> = (0..70_000).map(|step| 20.0 + f64::from(step) / 1000.0).collect();
    let platform = Platform::invented(3.0, &lengths, |length| format!("FL-{length:.3}"));
    let products = vec![Product::invented("fell", vec![platform])];
    let catalogue = Catalogue { products, ..catalogue() };
    let (_, judgement) = judged(&catalogue, 3.0, 29.0);
    assert_eq!(judgement.sizes.len(), lengths.len());
    for size in &judgement.sizes {
        assert_eq!(size.pack(&catalogue).reference, format!("FL-{:.3}", size.length.mm()));
    }
}

// The shape is the published one of `fit --json`; the values are worked out by hand. Distal EEM 3.0 is at the edge of
// 3.00 (one half) and the length at the edge of 29 (one half): 0.25.
#[test]
fn the_answer_is_the_published_object() {
    let catalogue = catalogue();
    let policy = Policy::default();
    let (lesion, judgement) = judged(&catalogue, 3.0, 29.0);
    let answer = serde_json::to_value(judgement.answer(&catalogue, &lesion, &policy)).expect("an object");
    let sizes = answer["sizes"].as_array().expect("a list");
    assert_eq!(sizes.len(), 6, "every box of the kinds judged and no others");
    let best = sizes.iter().find(|size| size["rank"] == 1).expect("one fits");
    let steadiness = best["steadiness"].as_f64().expect("a number");
    assert!((steadiness - 0.25).abs() < 1e-3, "{steadiness}");
    let mut best = best.clone();
    best.as_object_mut().expect("an object").remove("steadiness");
    let reasons = best.as_object_mut().expect("an object").remove("reasons").expect("reasons");
    let expected = json!({
        "product": "fell", "diameter_mm": 3.0, "length_mm": 29.0, "ref": "FL3.00-29",
        "verdict": "fits-after-post-dilatation", "rank": 1, "on_shelf": 0, "deploy_atm": 11.0, "post_dilate": true,
        "guide_ok": true, "behind": null
    });
    assert_eq!(best, expected);
    let codes: Vec<&str> =
        reasons.as_array().expect("a list").iter().filter_map(|reason| reason["code"].as_str()).collect();
    let expected = [
        "length.covers", "diameter.in-window", "limit.reaches-target", "limit.reaches-window",
        "balloon.reaches-target", "guide.takes-it",
    ];
    assert_eq!(codes, expected);
    assert_eq!(reasons[1]["bound"], json!([2.75, 3.0]));
    assert_eq!(reasons[1]["value"], json!(3.0));
    assert_eq!(reasons[4]["holds"], json!(false));
    assert_eq!(reasons[4]["bound"], json!(3.25));
    assert!(reasons.as_array().expect("a list").iter().all(|reason| reason["source"].is_string()));
    assert_eq!(answer["target"]["proximal_target_mm"], json!(3.25));
    assert_eq!(answer["cautions"], json!([]));
}

#[test]
fn a_size_says_why_in_plain_words() {
    let catalogue = catalogue();
    let policy = Policy::default();
    let (lesion, judgement) = judged(&catalogue, 3.0, 25.0);
    let words = |platform, pack| {
        let place = Place { product: 1, platform, pack };
        let size = judgement.sizes.iter().find(|size| size.place == place).expect("a size");
        let reasons = size.reasons(&catalogue, &lesion, &policy);
        let lines: Vec<String> = reasons.iter().map(|reason| reason.in_words()).collect();
        (size.headline(&judgement, &catalogue, &lesion, &policy), lines)
    };
    let (headline, lines) = words(0, 1);
    assert_eq!(headline, "undersized: below the window");
    assert!(lines.contains(&"2.50 lies below 2.75 to 3.00 by distal-EEM".to_string()), "{lines:?}");
    let (headline, lines) = words(2, 0);
    assert_eq!(headline, "no: too short");
    assert!(lines.contains(&"too short: 20 mm, and 25 mm are needed".to_string()), "{lines:?}");
    // The EEM is read at the very edge of 3.00: the true one lies below it every second time.
    let (headline, _) = words(2, 1);
    assert_eq!(headline, "fits after post-dilatation; 2.75 equally possible: measure the distal EEM again");
    // A need of 29 read for a length of 29 is as likely too long.
    let (lesion, judgement) = judged(&catalogue, 2.9, 29.0);
    let size = judgement.ranked()[0];
    let doubt = size.doubt(&judgement, &catalogue, &lesion, &policy);
    assert_eq!(doubt.as_deref(), Some("may be too short: measure the length again"));
}

#[test]
fn only_stents_are_judged() {
    let policy = Policy::default();
    assert_eq!(kinds(&[], &policy).expect("the policy's"), [Kind::DrugElutingStent]);
    for kind in Kind::ALL.iter().copied() {
        match kinds(&[kind], &policy) {
            Ok(kinds) => assert!(kind.is_stent() && kinds == [kind]),
            Err(bad) => {
                assert!(!kind.is_stent());
                assert!(bad[0].field == "kind" && bad[0].message.contains(kind.name()), "{bad:?}");
                assert!(bad[0].message.contains("drug-eluting stent"), "{bad:?}");
            }
        }
    }
}
