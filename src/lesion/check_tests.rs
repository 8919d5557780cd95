//! What is refused, and what is worked out from what is believed. Bounds: design choices of the policy; rules and
//! margins as `sizing_cases.tsv` sources them.

use super::{BadInput, Lesion, Measurements, Reading, check};
use crate::catalogue::Guide;
use crate::measure::{CautionCode, Dominance, Method, Rule, Site};
use crate::policy::Policy;
use crate::units::{Area, Diameter, French, Inches, Length};

fn one(mm: f64) -> Option<Reading> {
    Some(Reading::One(Diameter::from_mm(mm)))
}

fn ivus() -> Measurements {
    Measurements {
        method: Some(Method::Ivus),
        distal_eem: one(3.0),
        length: Some(Length::from_mm(28.0)),
        ..Measurements::default()
    }
}

fn qca() -> Measurements {
    Measurements {
        method: Some(Method::Qca),
        distal_lumen: one(3.0),
        length: Some(Length::from_mm(20.0)),
        ..Measurements::default()
    }
}

fn good(m: Measurements) -> Lesion {
    check(&m, &Policy::default(), &[]).expect("believed")
}

fn bad(m: Measurements) -> Vec<BadInput> {
    check(&m, &Policy::default(), &[]).expect_err("refused")
}

#[track_caller]
fn refused(m: Measurements, field: &str, says: &[&str]) {
    let bad = bad(m);
    assert_eq!(bad.len(), 1, "{bad:?}");
    assert_eq!(bad[0].field, field);
    for words in says {
        assert!(bad[0].message.contains(words), "{:?} lacks {words:?}", bad[0].message);
    }
}

#[test]
fn a_diameter_whose_method_is_not_said_is_refused() {
    refused(
        Measurements { method: None, ..ivus() },
        "method",
        &["distal-eem 3.0", "ivus", "oct", "qca", "angiography"],
    );
    let neither = bad(Measurements { method: None, length: None, ..ivus() });
    assert_eq!(neither[1].message, "length is not given: type it, 1 to 150 mm");
}

#[test]
fn numbers_outside_what_is_believed_are_refused_with_the_range() {
    refused(Measurements { distal_eem: one(30.0), ..ivus() }, "distal-eem", &["30.0", "1 to 8 mm"]);
    refused(Measurements { distal_eem: one(f64::NAN), ..ivus() }, "distal-eem", &["NaN", "1 to 8 mm"]);
    let two = Some(Reading::Two(Diameter::from_mm(3.0), Diameter::from_mm(0.3)));
    refused(Measurements { distal_eem: two, ..ivus() }, "distal-eem", &["3.0x0.3", "1 to 8 mm"]);
    let area = Some(Reading::Area(Area::from_mm2(71.0)));
    refused(Measurements { distal_eem: area, ..ivus() }, "distal-eem", &["71.0mm2", "0.5 to 60 mm2"]);
    let length = Some(Length::from_mm(151.0));
    refused(Measurements { length, ..ivus() }, "length", &["151", "1 to 150 mm"]);
    refused(Measurements { length: None, ..ivus() }, "length", &["landing zone to landing zone"]);
    refused(Measurements { length: None, ..qca() }, "length", &["lesion length"]);
    for limit in [0.5, 150.5] {
        let limit = Some(Length::from_mm(limit));
        refused(Measurements { limit, ..ivus() }, "limit", &["1 to 150 mm"]);
    }
    // The edges themselves are believed, binary fractions allowed for.
    for mm in [1.0, 8.0, 8.0 + 1e-10] {
        good(Measurements { distal_eem: one(mm), limit: Some(Length::from_mm(150.0)), ..ivus() });
    }
}

#[test]
fn every_fault_is_told_at_once() {
    let m = Measurements {
        proximal_lumen: one(0.2),
        distal_eem: one(99.0),
        length: Some(Length::from_mm(0.0)),
        segment: Some("17".into()),
        guide: Some(French::new(6.0)),
        ..ivus()
    };
    let fields: Vec<String> = bad(m).into_iter().map(|bad| bad.field).collect();
    assert_eq!(fields, ["proximal-lumen", "distal-eem", "length", "segment", "guide"]);
}

#[test]
fn the_lumen_lies_inside_the_eem() {
    let m = || Measurements { distal_lumen: one(3.1), ..ivus() };
    refused(m(), "distal-lumen", &["3.1", "distal-eem 3.0"]);
    let proximal = Measurements { proximal_lumen: one(4.0), proximal_eem: one(3.9), ..ivus() };
    refused(proximal, "proximal-lumen", &["4.0", "proximal-eem 3.9"]);
    good(Measurements { distal_lumen: one(3.0), ..ivus() });
}

#[test]
fn an_angiogram_shows_no_eem() {
    for method in [Method::Qca, Method::Angiography] {
        let m = Measurements { method: Some(method), distal_eem: one(3.5), ..qca() };
        refused(m, "distal-eem", &["3.5", "no EEM"]);
    }
}

#[test]
fn a_guide_and_a_segment_have_to_be_known() {
    let guide = Guide { french: French::new(6.0), inner: Inches::new(0.071) };
    let m = |french| Measurements { guide: Some(French::new(french)), ..ivus() };
    let lesion = check(&m(6.0), &Policy::default(), &[guide]).expect("listed");
    assert_eq!(lesion.guide, Some(guide));
    let bad = check(&m(7.0), &Policy::default(), &[guide]).expect_err("not listed");
    assert!(bad[0].field == "guide" && bad[0].message.contains("7 Fr") && bad[0].message.contains("6 Fr"));
    // Names: @austen-1975 and @syntax.
    for name in ["1", "9a", "9A", "16c", " 12b "] {
        good(Measurements { segment: Some(name.into()), ..ivus() });
    }
    for name in ["0", "17", "9c", "", "LAD"] {
        refused(Measurements { segment: Some(name.into()), ..ivus() }, "segment", &["9a", "16c"]);
    }
}

#[test]
fn the_rule_is_the_one_asked_for_then_the_policys_then_the_distal_lumen() {
    assert_eq!(good(ivus()).target.rule, Rule::DistalEem);
    assert_eq!(good(qca()).target.rule, Rule::ReferenceDiameter);
    let only_lumen = || Measurements { distal_eem: None, distal_lumen: one(2.8), ..ivus() };
    assert_eq!(good(only_lumen()).target.rule, Rule::DistalLumen);
    let asked = Measurements { rule: Some(Rule::DistalLumen), distal_lumen: one(2.8), ..ivus() };
    assert_eq!(good(asked).target.rule, Rule::DistalLumen);
    // Asked for by name there is no falling back.
    let asked = Measurements { rule: Some(Rule::DistalEem), ..only_lumen() };
    refused(asked, "distal-eem", &["rule distal-eem needs distal-eem"]);
    let asked = Measurements { rule: Some(Rule::SmallerEem), ..ivus() };
    refused(asked, "proximal-eem", &["rule smaller-eem needs proximal-eem"]);
    let asked = Measurements { rule: Some(Rule::MeanLumen), ..only_lumen() };
    refused(asked, "proximal-lumen", &["rule mean-lumen needs proximal-lumen"]);
    // Nobody named the rule that is fallen back to: both ways out are reported.
    let says = ["rule distal-lumen needs distal-lumen", "rule distal-eem needs (distal-eem)"];
    refused(Measurements { distal_eem: None, ..ivus() }, "distal-lumen", &says);
    // An angiogram shows no EEM.
    let by_eem = bad(Measurements { rule: Some(Rule::SmallerEem), ..qca() });
    assert_eq!(by_eem.len(), 2, "{by_eem:?}");
    for bad in by_eem {
        assert!(bad.message.contains("QCA shows no EEM") && !bad.message.contains("measure it"), "{bad:?}");
    }
    // A policy's rule on both EEM gives way when one is missing.
    let mut policy = Policy::default();
    policy.rule.ivus = Rule::SmallerEem;
    let lumen_too = Measurements { distal_lumen: one(2.8), ..ivus() };
    let lesion = check(&lumen_too, &policy, &[]).expect("believed");
    assert_eq!(lesion.target.rule, Rule::DistalLumen);
}

#[test]
fn the_target_object_is_the_published_one() {
    let m = Measurements { distal_eem: one(3.0), proximal_eem: one(3.5), ..ivus() };
    let found = serde_json::to_value(&good(m).target).expect("an object");
    let expected = serde_json::json!({
        "rule": "distal-eem", "distal_mm": 3.0, "proximal_mm": 3.5, "window_mm": [2.75, 3.0], "aim_mm": 3.0,
        "proximal_target_mm": 3.25, "lesion_mm": 28.0, "margins_mm": [0.0, 0.0], "length_min_mm": 28.0,
        "length_max_mm": null
    });
    assert_eq!(found, expected);
    // An angiogram's distal margin, and the millimetre beyond the aorta's ostium in the place of the proximal one.
    let m = Measurements { sites: vec![Site::Ostial], limit: Some(Length::from_mm(38.0)), ..qca() };
    let found = serde_json::to_value(&good(m).target).expect("an object");
    let expected = serde_json::json!({
        "rule": "reference-diameter", "distal_mm": 3.0, "proximal_mm": null, "window_mm": [3.0, 3.0 * 1.1],
        "aim_mm": 3.0, "proximal_target_mm": null, "lesion_mm": 20.0, "margins_mm": [3.0, 1.0],
        "length_min_mm": 24.0, "length_max_mm": 38.0
    });
    assert_eq!(found, expected);
}

#[test]
fn windows_by_rule() {
    // Worked out by hand from the table of rules; the proximal measure closes the first, third and last.
    let m = |rule| Measurements {
        method: Some(Method::Oct),
        rule: Some(rule),
        distal_lumen: one(3.0),
        proximal_lumen: one(2.9),
        distal_eem: one(3.6),
        proximal_eem: one(3.5),
        ..ivus()
    };
    let cases = [
        (Rule::DistalEem, 3.6, [3.35, 3.5], 3.25),
        (Rule::SmallerEem, 3.5, [3.25, 3.5], 3.25),
        (Rule::DistalLumen, 3.0, [3.0, 3.15], 2.9),
        (Rule::MeanLumen, 2.95, [2.95, 3.2], 2.9),
        (Rule::ReferenceDiameter, 3.0, [3.0, 3.19], 2.9),
    ];
    for (rule, aim, window, proximal_target) in cases {
        let target = good(m(rule)).target;
        assert!((target.aim.mm() - aim).abs() < 1e-9, "{rule}: {:?}", target.aim);
        assert!((target.window[0].mm() - window[0]).abs() < 1e-9, "{rule}: {:?}", target.window);
        assert!((target.window[1].mm() - window[1]).abs() < 1e-9, "{rule}: {:?}", target.window);
        let found = target.proximal_target.expect("a proximal lumen").mm();
        assert!((found - proximal_target).abs() < 1e-9, "{rule}");
    }
    // A proximal EEM says nothing to a rule on the lumen.
    let lumen = Measurements { proximal_lumen: None, ..m(Rule::DistalLumen) };
    assert_eq!(good(lumen).target.proximal_target, None);
}

fn codes(m: Measurements) -> Vec<&'static str> {
    good(m).cautions.into_iter().map(|caution| caution.code.name()).collect()
}

#[test]
fn suspicious_but_possible_is_told_once() {
    let both =
        |distal, proximal| Measurements { distal_lumen: one(distal), proximal_lumen: one(proximal), ..qca() };
    assert_eq!(codes(both(3.0, 3.3)), Vec::<String>::new());
    assert_eq!(codes(both(3.0, 2.9)), ["proximal.smaller-lumen"]);
    // 1.3 and 1 mm themselves are not above.
    assert_eq!(codes(both(3.0, 3.9)), Vec::<String>::new());
    assert_eq!(codes(both(4.0, 5.0)), Vec::<String>::new());
    let short = |m: Measurements| Measurements { length: Some(Length::from_mm(19.0)), ..m };
    assert_eq!(codes(both(2.0, 2.7)), Vec::<String>::new(), "along 20 mm it is in the reasons");
    assert_eq!(codes(short(both(2.0, 2.7))), ["taper.ratio-lumen"]);
    assert_eq!(codes(short(both(4.0, 5.1))), ["taper.difference-lumen"]);
    assert_eq!(codes(qca()), ["reach.not-judged"]);
    let sites = vec![Site::Graft, Site::Acute, Site::Graft];
    assert_eq!(codes(Measurements { sites, ..both(3.0, 3.3) }), ["site.graft", "site.acute"]);
    // EEM is told apart from the lumen.
    let eem = Measurements { distal_eem: one(3.0), proximal_eem: one(2.9), ..ivus() };
    assert_eq!(codes(eem), ["proximal.smaller-eem"]);
}

/// Plaque burden by hand: 1 - (2.6 / 3.9)^2 = 0.556 and 1 - (2.1 / 3.1)^2 = 0.541; the policy's limit is 0.5.
#[test]
fn an_end_that_is_no_landing_zone_is_told_before_all_else() {
    let both = Measurements {
        distal_lumen: one(2.1),
        proximal_lumen: one(2.6),
        distal_eem: one(3.1),
        proximal_eem: one(3.9),
        length: Some(Length::from_mm(4.0)),
        ..ivus()
    };
    let cautions = good(both.clone()).cautions;
    let told: Vec<CautionCode> = cautions.iter().map(|caution| caution.code).collect();
    let zone = CautionCode::LandingZonePlaqueBurden;
    assert_eq!(told, [zone, zone, CautionCode::LengthShort]);
    assert!(cautions[0].message.contains("distal end") && cautions[0].message.contains("0.54"));
    assert!(cautions[1].message.contains("proximal end") && cautions[1].message.contains("0.56"));
    // A burden of exactly the limit is none too many, and one border alone says nothing.
    let policy = Policy { plaque_burden: 1.0 - (2.1f64 / 3.1).powi(2), ..Policy::default() };
    let at_limit = Measurements { proximal_lumen: None, ..both };
    let lesion = check(&at_limit, &policy, &[]).expect("believed");
    assert!(lesion.cautions.iter().all(|caution| caution.code != zone));
}

#[test]
fn a_branchs_ostium_a_law_and_an_oval_are_told() {
    let ostial = |segment: &str| Measurements {
        sites: vec![Site::Ostial],
        segment: Some(segment.into()),
        proximal_lumen: one(3.2),
        ..qca()
    };
    let margins = |m| good(m).target.margins.map(|margin| margin.mm());
    assert_eq!((margins(ostial("6")), margins(ostial("1"))), ([3.0, 0.0], [3.0, 1.0]));
    assert_eq!(codes(ostial("6")), ["branch-ostium"]);
    assert_eq!(codes(ostial("5")), ["site.ostial", "site.left-main"]);
    let branch = Measurements { branch_lumen: one(2.4), ..qca() };
    let lesion = good(branch);
    // Huo-Kassab (@huo-2012) makes it of 3.0 and 2.4.
    let mother = (3.0f64.powf(7.0 / 3.0) + 2.4f64.powf(7.0 / 3.0)).powf(3.0 / 7.0);
    let target = lesion.target.proximal_target.expect("by law").mm();
    assert!((target - mother).abs() < 1e-12 && lesion.cautions[0].code == CautionCode::ProximalByLaw);
    let oval = Some(Reading::Two(Diameter::from_mm(2.0), Diameter::from_mm(3.1)));
    assert_eq!(
        codes(Measurements { distal_lumen: oval, proximal_lumen: one(3.0), ..qca() }),
        ["diameter.two-far-apart"]
    );
    for at in [0.0, 20.0, 25.0] {
        refused(
            Measurements { branch_at: Some(Length::from_mm(at)), ..qca() },
            "branch-at",
            &["below 20 mm"],
        );
    }
}

// Bands: @dodge-1992, mean ± 2 SD; left main: hull of three series.
#[test]
fn a_lumen_outside_the_band_of_its_segment_is_told() {
    let told = |segment: &str, dominance, lumen: f64| {
        let m = Measurements {
            segment: Some(segment.into()),
            dominance,
            distal_lumen: one(lumen),
            proximal_lumen: one(lumen),
            ..qca()
        };
        codes(m).contains(&"segment.lumen-outside-band")
    };
    let (right, left) = (Some(Dominance::Right), Some(Dominance::Left));
    let cases = [
        ("5", None, 1.9, 6.8),
        ("6", left, 2.9, 4.5),
        ("8", None, 1.1, 2.7),
        ("1", right, 2.7, 5.1),
        ("1", left, 1.8, 3.8),
        ("1", None, 1.8, 5.1),
        ("11", right, 2.4, 4.4),
        ("11", left, 3.0, 5.4),
        ("11", None, 2.4, 5.4),
    ];
    for (segment, dominance, least, most) in cases {
        for inside in [least - 1.0, least, most, most + 1.0].into_iter().filter(|mm| *mm > 1.0) {
            assert!(!told(segment, dominance, inside), "{segment} {dominance:?} {inside}");
        }
        for outside in [least - 1.01, most + 1.01].into_iter().filter(|mm| *mm > 1.0) {
            assert!(told(segment, dominance, outside), "{segment} {dominance:?} {outside}");
        }
    }
    assert!(!told("7", None, 7.9));
    // The ends of each band: left main 1.9 to 6.8, proximal RCA with the right dominant 2.7 to 5.1.
    assert_eq!(super::segment::band("5", None), Some([1.9, 6.8]));
    assert_eq!(super::segment::band("1", right), Some([2.7, 5.1]));
}
