//! Shelves for the checks on spans: invented products, and the pieces of them that lie there.

use boxcall::catalogue::{Catalogue, Owner, Pack, Piece, Platform, Product};
use boxcall::lesion::{Lesion, Measurements, Reading, check};
use boxcall::measure::{Method, Rule};
use boxcall::policy::Policy;
use boxcall::udi::{DeviceId, mod10_check};
use boxcall::units::{Diameter, Length};
use chrono::NaiveDate;

/// One labelled diameter: its expansion limit and its diameter at rated burst, where they are known; lengths, each
/// with the pieces that lie there.
#[derive(Debug, Clone)]
pub struct Sizes {
    pub diameter: f64,
    pub limit: Option<f64>,
    pub burst: Option<f64>,
    pub lengths: Vec<(f64, u32)>,
}

pub fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 1, 1).expect("a day")
}

/// An identifier of the range that GS1 keeps for examples.
fn identifier(number: usize) -> DeviceId {
    let digits = format!("0952{number:09}");
    let check = mod10_check(&digits).expect("digits");
    DeviceId::parse(&format!("{digits}{check}")).expect("an identifier")
}

/// Products `p0`, `p1`, … of these sizes, and their pieces.
pub fn shelf(products: &[Vec<Sizes>]) -> (Catalogue, Vec<Piece>) {
    let (mut number, mut pieces) = (0, Vec::new());
    let mut platform = |product: usize, sizes: &Sizes| {
        let boxes = sizes.lengths.iter().map(|(length, count)| {
            number += 1;
            let di = identifier(number);
            if *count > 0 {
                pieces.push(Piece {
                    di: di.clone(),
                    lot: "L1".into(),
                    serial: None,
                    use_by: None,
                    shelf: "A".into(),
                    count: *count,
                    owner: Owner::Own,
                });
            }
            let reference = format!("P{product}-{}-{length}", sizes.diameter);
            Pack { length: Length::from_mm(*length), reference, di: vec![di] }
        });
        let made = Platform::invented(sizes.diameter, &[], |_| String::new())
            .with_pressures(10.0, 16.0)
            .with_limit(sizes.limit)
            .with_chart_to(sizes.burst);
        Platform { boxes: boxes.collect(), ..made }
    };
    let product = |(index, sizes): (usize, &Vec<Sizes>)| Product {
        name: format!("Fell {index}"),
        ..Product::invented(format!("p{index}"), sizes.iter().map(|sizes| platform(index, sizes)).collect())
    };
    let products = products.iter().enumerate().map(product).collect();
    (Catalogue { products, ..Catalogue::default() }, pieces)
}

/// The protocol without margins, so that the length typed is the length needed; believes lengths up to 300 mm.
pub fn policy(planned: f64, least: f64, most: f64) -> Policy {
    let mut policy = Policy::default();
    let mm = Length::from_mm;
    policy.believed.length_mm = [1.0, 300.0];
    policy.margin.ivus = mm(0.0);
    policy.margin.qca = mm(0.0);
    (policy.overlap.planned, policy.overlap.least, policy.overlap.most) = (mm(planned), mm(least), mm(most));
    policy
}

/// A lesion by one border: EEM by IVUS, else the lumen by QCA where the rule reads a reference diameter, else by
/// IVUS.
#[allow(dead_code, reason = "the benchmark asks for the branched one only")]
pub fn lesion(
    rule: Rule,
    ends: [Option<f64>; 2],
    length: f64,
    limit: Option<f64>,
    policy: &Policy,
) -> Lesion {
    branched(rule, ends, length, limit, (None, None), policy)
}

/// The same with a side branch: its lumen, and where it leaves from the distal end.
pub fn branched(
    rule: Rule,
    [distal, proximal]: [Option<f64>; 2],
    length: f64,
    limit: Option<f64>,
    (branch_lumen, branch_at): (Option<f64>, Option<f64>),
    policy: &Policy,
) -> Lesion {
    let one = |mm: f64| Reading::One(Diameter::from_mm(mm));
    let [distal, proximal] = [distal.map(one), proximal.map(one)];
    let (eem, method) = match rule {
        Rule::DistalEem | Rule::SmallerEem => (true, Method::Ivus),
        Rule::DistalLumen | Rule::MeanLumen => (false, Method::Ivus),
        Rule::ReferenceDiameter => (false, Method::Qca),
    };
    let measurements = Measurements {
        method: Some(method),
        rule: Some(rule),
        distal_eem: distal.filter(|_| eem),
        proximal_eem: proximal.filter(|_| eem),
        distal_lumen: distal.filter(|_| !eem),
        proximal_lumen: proximal.filter(|_| !eem),
        length: Some(Length::from_mm(length)),
        limit: limit.map(Length::from_mm),
        branch_lumen: branch_lumen.map(one),
        branch_at: branch_at.map(Length::from_mm),
        ..Measurements::default()
    };
    check(&measurements, policy, &[]).expect("measures that are believed")
}

/// One line of `tests/reference/span_instances.tsv`.
pub struct Instance {
    pub line: &'static str,
    pub max_devices: usize,
    pub stocked: bool,
    pub catalogue: Catalogue,
    pub pieces: Vec<Piece>,
    pub policy: Policy,
    pub lesion: Lesion,
    /// The longest that a set may cover.
    pub most: Option<Length>,
    /// Devices, overlaps on the side branch, total length, sum of |D - aim|.
    pub expected: Option<(usize, usize, f64, f64)>,
}

pub fn instances() -> impl Iterator<Item = Instance> {
    include_str!("../reference/span_instances.tsv").lines().skip(1).map(instance)
}

fn instance(line: &'static str) -> Instance {
    let cells = <[&str; 16]>::try_from(line.split('\t').collect::<Vec<_>>()).expect("sixteen cells");
    let [
        rule,
        distal,
        proximal,
        need,
        most,
        limit,
        branch_at,
        branch_lumen,
        max_devices,
        stocked,
        products,
        ..,
    ] = cells;
    let [.., devices, on_branch, total, off, _ms] = cells;
    let number = |cell: &str| cell.parse::<f64>().expect("a number");
    let given = |cell: &str| (cell != "-").then(|| number(cell));
    let sizes = |text: &str| {
        let [diameter, limit, burst, lengths] =
            <[&str; 4]>::try_from(text.split(':').collect::<Vec<_>>()).expect("four parts");
        let lengths = lengths.split(',').map(|pair| pair.split_once('*').expect("length*count"));
        Sizes {
            diameter: number(diameter),
            limit: given(limit),
            burst: given(burst),
            lengths: lengths.map(|(l, count)| (number(l), count.parse().expect("a count"))).collect(),
        }
    };
    let products: Vec<Vec<Sizes>> =
        products.split('|').map(|product| product.split('/').map(sizes).collect()).collect();
    let (catalogue, pieces) = shelf(&products);
    let policy = policy(3.0, 2.0, 5.0);
    let ends = [given(distal), given(proximal)];
    let branch = (given(branch_lumen), given(branch_at));
    Instance {
        line,
        max_devices: max_devices.parse().expect("a number"),
        stocked: stocked == "1",
        catalogue,
        pieces,
        lesion: branched(rule.parse().expect("a rule"), ends, number(need), given(limit), branch, &policy),
        most: given(most).map(Length::from_mm),
        policy,
        expected: given(devices)
            .map(|n| (n as usize, number(on_branch) as usize, number(total), number(off))),
    }
}
