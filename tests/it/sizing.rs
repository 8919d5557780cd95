//! Every row of `tests/data/sizing_cases.tsv` that serves `lesion` or `fit`, run on the product's own code.

use boxcall::catalogue::{Catalogue, Platform, Product};
use boxcall::fit::{Judgement, Verdict, judge};
use boxcall::lesion::{Lesion, Measurements, Reading, arithmetic, check};
use boxcall::measure::{Kind, Method, Rule, Site};
use boxcall::policy::Policy;
use boxcall::units::{Area, Diameter, Length};
use chrono::NaiveDate;

const TABLE: &str = include_str!("../data/sizing_cases.tsv");

struct Row<'a> {
    id: &'a str,
    serves: &'a str,
    question: &'a str,
    inputs: &'a str,
    expected: &'a str,
    tolerance: &'a str,
    source: &'a str,
}

fn rows() -> Vec<Row<'static>> {
    let row = |line: &'static str| {
        let field: Vec<&str> = line.split('\t').collect();
        assert_eq!(field.len(), 8, "{line}");
        let [id, serves, question, inputs, expected, tolerance, source] = field[..7] else { unreachable!() };
        Row { id, serves, question, inputs, expected, tolerance, source }
    };
    TABLE.lines().skip(1).map(row).collect()
}

impl Row<'_> {
    fn input(&self, name: &str) -> &str {
        let mut pairs = self.inputs.split(';').filter_map(|pair| pair.trim().split_once('='));
        pairs.find(|(key, _)| *key == name).unwrap_or_else(|| panic!("{}: no {name}", self.id)).1
    }

    fn number(&self, name: &str) -> f64 {
        self.input(name).parse().unwrap_or_else(|_| panic!("{}: {name}", self.id))
    }

    /// `2.00,2.25` or `every 0.25 from 2.00 to 5.00`.
    fn numbers(&self, name: &str) -> Vec<f64> {
        let text = self.input(name);
        if text.starts_with("every 0.25") {
            return (8..=20).map(|quarters| f64::from(quarters) * 0.25).collect();
        }
        text.split(',').map(|number| number.parse().expect(self.id)).collect()
    }

    fn same(&self, found: f64) {
        let expected: f64 = self.expected.parse().expect(self.id);
        let tolerance: f64 = self.tolerance.parse().unwrap_or(1e-9);
        assert!((found - expected).abs() <= tolerance, "{}", self.told(found));
    }

    fn same_words(&self, found: &str) {
        assert_eq!(found, self.expected, "{}", self.told(found));
    }

    fn told(&self, found: impl std::fmt::Display) -> String {
        format!("{}: {}: found {found}, expected {} ({})", self.id, self.question, self.expected, self.source)
    }
}

/// One invented product with these labelled diameters and lengths.
fn catalogue(diameters: &[f64], lengths: &[f64], limit: Option<f64>) -> Catalogue {
    let platform = |d: &f64| Platform::invented(*d, lengths, |l| format!("TN{d}-{l}")).with_limit(limit);
    let product = Product::invented("tarn", diameters.iter().map(platform).collect());
    Catalogue { products: vec![product], guides: vec![] }
}

fn one(mm: f64) -> Option<Reading> {
    Some(Reading::One(Diameter::from_mm(mm)))
}

fn measured(method: Method, rule: Rule, length: f64) -> Measurements {
    Measurements {
        method: Some(method),
        rule: Some(rule),
        length: Some(Length::from_mm(length)),
        ..Measurements::default()
    }
}

fn fit(measurements: &Measurements, catalogue: &Catalogue, policy: &Policy) -> (Lesion, Judgement) {
    let lesion = check(measurements, policy, &[]).expect("measures that are believed");
    let today = NaiveDate::from_ymd_opt(2026, 1, 1).expect("a day");
    let judgement = judge(catalogue, &[Kind::DrugElutingStent], &lesion, policy, None, today);
    (lesion, judgement)
}

fn first(judgement: &Judgement) -> Option<(f64, f64)> {
    judgement.ranked().first().map(|size| (size.diameter.mm(), size.length.mm()))
}

/// Every labelled diameter that stands in the printed window.
fn in_window(lesion: &Lesion, judgement: &Judgement) -> Vec<f64> {
    let [low, high] = lesion.target.window.map(|d| d.mm());
    let mm = judgement.sizes.iter().map(|size| size.diameter.mm());
    let inside: Vec<f64> = mm.filter(|d| *d >= low - 1e-9 && *d <= high + 1e-9).collect();
    // Whatever lies in the window has to fit, whatever the row asks.
    for size in judgement.sizes.iter().filter(|size| inside.contains(&size.diameter.mm())) {
        assert_eq!(size.verdict, Verdict::Fits, "{size:?}");
    }
    inside
}

fn window_row(row: &Row, measurements: Measurements) {
    let catalogue = catalogue(&row.numbers("sizes"), &[100.0], Some(6.0));
    let (lesion, judgement) = fit(&measurements, &catalogue, &Policy::default());
    let found: Vec<String> = in_window(&lesion, &judgement).iter().map(|d| d.to_string()).collect();
    let expected: Vec<String> = match row.expected {
        "none" => vec![],
        list => list.split(',').map(|d| d.parse::<f64>().expect(row.id).to_string()).collect(),
    };
    assert_eq!(found, expected, "{}", row.told(found.join(",")));
}

fn eem_row(row: &Row) {
    let catalogue = catalogue(&row.numbers("sizes"), &[28.0], Some(6.0));
    let pairs = row.input("pairs");
    let parse = |text: &str| Some(Reading::parse(text).expect(row.id));
    let measurements = match pairs.split_once('|') {
        Some((proximal, distal)) => Measurements {
            proximal_eem: parse(proximal),
            distal_eem: parse(distal),
            ..measured(Method::Ivus, Rule::SmallerEem, 20.0)
        },
        None => Measurements { distal_eem: parse(pairs), ..measured(Method::Ivus, Rule::DistalEem, 20.0) },
    };
    let (_, judgement) = fit(&measurements, &catalogue, &Policy::default());
    row.same_words(&first(&judgement).map_or("none".into(), |(d, _)| d.to_string()));
}

/// The least length that fits an EEM of 3.00, where the policy's margin is this.
fn least_length(row: &Row, length: f64, margin: f64, limit: Option<f64>, site: Option<Site>) {
    let catalogue = catalogue(&[3.0], &row.numbers("lengths"), Some(6.0));
    let mut policy = Policy::default();
    policy.margin.ivus = Length::from_mm(margin);
    let measurements = Measurements {
        distal_eem: one(3.0),
        limit: limit.map(Length::from_mm),
        sites: site.into_iter().collect(),
        ..measured(Method::Ivus, Rule::DistalEem, length)
    };
    let (_, judgement) = fit(&measurements, &catalogue, &policy);
    row.same_words(&first(&judgement).map_or("none".into(), |(_, l)| l.to_string()));
}

/// Steadiness of one labelled diameter for an EEM read as `x`, with these neighbours.
fn steadiness(x: f64, sd: f64, labels: &[f64], of: f64) -> f64 {
    let mut policy = Policy::default();
    policy.error.ivus.diameter = Diameter::from_mm(sd);
    let measurements = Measurements { distal_eem: one(x), ..measured(Method::Ivus, Rule::DistalEem, 20.0) };
    let (_, judgement) = fit(&measurements, &catalogue(labels, &[100.0], Some(6.0)), &policy);
    let size = judgement.sizes.iter().find(|size| size.diameter.mm() == of).expect("the size");
    size.steadiness.expect("a verdict that is known")
}

#[test]
fn rows_that_serve_fit() {
    let mut ran = 0;
    for row in rows().iter().filter(|row| row.serves == "fit") {
        ran += 1;
        match row.id {
            "LUM-07" => window_row(
                row,
                Measurements {
                    distal_eem: one(row.number("eel")),
                    ..measured(Method::Oct, Rule::DistalEem, 20.0)
                },
            ),
            "LUM-10" => {
                let measurements = Measurements {
                    distal_eem: one(row.number("eel")),
                    distal_lumen: one(row.number("lumen")),
                    ..measured(Method::Oct, Rule::DistalEem, 20.0)
                };
                let lesion = check(&measurements, &Policy::default(), &[]).expect("measures");
                let [eem, lumen] = [lesion.distal_eem, lesion.distal_lumen].map(|d| d.expect("given").mm());
                row.same(eem / lumen);
            }
            id if id.starts_with("EEM-") => eem_row(row),
            id if id.starts_with("LUM-") => window_row(
                row,
                Measurements {
                    distal_lumen: one(row.number("distal_lumen")),
                    ..measured(Method::Oct, Rule::DistalLumen, 20.0)
                },
            ),
            id if id.starts_with("ANG-") => window_row(
                row,
                Measurements {
                    distal_lumen: one(row.number("rvd")),
                    ..measured(Method::Qca, Rule::ReferenceDiameter, 20.0)
                },
            ),
            "LEN-01" | "LEN-03" | "LEN-09" => least_length(row, row.number("need"), 0.0, None, None),
            "LEN-06" => least_length(row, row.number("lesion"), row.number("margin"), None, None),
            "LEN-07" => least_length(row, row.number("need"), 0.0, None, Some(Site::Ostial)),
            "LEN-10" | "LEN-12" | "LEN-13" => {
                let lesion = row.number("lesion");
                least_length(row, lesion, 2.0, Some(lesion + 8.0), None);
            }
            "PRB-01" | "PRB-04" => {
                let (x, sd) = (row.number("x"), row.number("sd"));
                // The bin of 3.00 alone lies between its label and the next one, 0.25 above.
                let bin = row.input("bin").trim_matches(['[', ')']);
                let [low, high] =
                    [0, 1].map(|i| bin.split(',').nth(i).expect("two ends").parse().expect("mm"));
                row.same(steadiness(x, sd, &[low, high], low));
            }
            "PRB-03" => row.same(steadiness(row.number("x"), row.number("sd"), &[3.0, 3.25], 3.0)),
            "PRB-09" | "PRB-10" => {
                let mut policy = Policy::default();
                policy.error.qca.length = Length::from_mm(row.number("sd"));
                policy.error.qca.diameter = Diameter::from_mm(1e-6);
                policy.margin.qca = Length::from_mm(0.0);
                let measurements = Measurements {
                    distal_lumen: one(2.9),
                    ..measured(Method::Qca, Rule::ReferenceDiameter, row.number("need"))
                };
                let catalogue = catalogue(&[3.0], &[row.number("length")], Some(6.0));
                let (_, judgement) = fit(&measurements, &catalogue, &policy);
                row.same(judgement.sizes[0].steadiness.expect("known"));
            }
            "PRB-15" => {
                row.same(arithmetic::diameter_error(row.number("da"), Diameter::from_mm(row.number("d"))))
            }
            "TAP-03" | "TAP-04" => {
                let limit = row.input("limit").parse().ok();
                let measurements = Measurements {
                    distal_eem: one(3.0),
                    proximal_lumen: one(row.number("prox")),
                    ..measured(Method::Ivus, Rule::DistalEem, 20.0)
                };
                let catalogue = catalogue(&[3.0], &[28.0], limit);
                let (_, judgement) = fit(&measurements, &catalogue, &Policy::default());
                let found = match judgement.sizes[0].verdict {
                    Verdict::Unknown => "unknown",
                    verdict if verdict.is_fit() => "yes",
                    _ => "no",
                };
                row.same_words(found);
            }
            "TAP-06" => {
                let at = boxcall::lesion::arithmetic::taper(
                    Diameter::from_mm(row.number("prox")),
                    Diameter::from_mm(row.number("dist")),
                    Length::from_mm(row.number("length")),
                    Length::from_mm(row.number("at")),
                );
                row.same(at.mm());
            }
            id => panic!("{id} serves fit and has no test"),
        }
    }
    assert_eq!(ran, 32, "rows that serve fit");
}

#[test]
fn rows_that_serve_lesion() {
    let mut ran = 0;
    let range = |[low, high]: [f64; 2]| format!("{low:.2}..{high:.2}");
    for row in rows().iter().filter(|row| row.serves == "lesion") {
        ran += 1;
        match row.id {
            "LEN-04" => {
                let projected = Length::from_mm(row.number("projected"));
                let found = arithmetic::true_length(projected, row.number("angle_deg"));
                row.same(found.expect("an angle below 90").mm());
            }
            "ARE-01" => row.same(Area::of_circle(Diameter::from_mm(row.number("d"))).mm2()),
            "ARE-06" | "ARE-07" => {
                let [a, b] = ["a", "b"].map(|name| Diameter::from_mm(row.number(name)));
                let ellipse = Area::of_ellipse(a, b);
                row.same(if row.id == "ARE-06" {
                    ellipse.mm2()
                } else {
                    Reading::Area(ellipse).diameter().mm()
                });
            }
            "ARE-09" => row.same(arithmetic::area_stenosis(row.number("ds"))),
            "ARE-10" => row.same(arithmetic::plaque_burden(
                Area::from_mm2(row.number("eem")),
                Area::from_mm2(row.number("lumen")),
            )),
            id if id.starts_with("CAL-") => {
                let length = Length::from_mm(row.number("length"));
                let score = arithmetic::calcium_score(row.number("arc"), row.number("thickness"), length);
                row.same_words(&score.to_string());
            }
            "DOD-09" => {
                let measurements = Measurements {
                    distal_lumen: one(row.number("x")),
                    ..measured(Method::Qca, Rule::ReferenceDiameter, 20.0)
                };
                let bad = check(&measurements, &Policy::default(), &[]).expect_err("ten times too large");
                assert!(bad[0].message.contains("37") && bad[0].field == "distal-lumen", "{bad:?}");
                row.same_words("implausible");
            }
            "DOD-12" => row.same(arithmetic::z_score(row.number("x"), row.number("mean"), row.number("sd"))),
            "DOD-13" => {
                let bands: Vec<[f64; 2]> = row
                    .inputs
                    .split(';')
                    .map(|series| {
                        let (mean, sd) = series.trim().split_once("+/-").expect("mean+/-sd");
                        arithmetic::normal_band(mean.parse().expect("mean"), sd.parse().expect("sd"))
                    })
                    .collect();
                row.same_words(&range(arithmetic::hull(&bands).expect("three series")));
            }
            id if id.starts_with("DOD-") => {
                row.same_words(&range(arithmetic::normal_band(row.number("mean"), row.number("sd"))))
            }
            id => panic!("{id} serves lesion and has no test"),
        }
    }
    assert_eq!(ran, 17, "rows that serve lesion");
}

/// Spelt out, so that a row can't be forgotten: whoever builds the part takes its rows off this list.
#[test]
fn rows_that_nobody_serves_yet() {
    let waiting: Vec<&str> = rows()
        .iter()
        .filter(|row| {
            !["fit", "lesion", "units", "inflate", "branch", "guide", "expansion", "span", "paper only"]
                .contains(&row.serves)
        })
        .map(|row| row.id)
        .collect();
    let none: [&str; 0] = [];
    assert_eq!(waiting, none);
}
