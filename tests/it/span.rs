//! Spans against the rows of `tests/data/sizing_cases.tsv` that serve `span`.

use crate::cases::{Row, rows};
use crate::span_shelf::{Sizes, lesion, policy, shelf, today};
use boxcall::catalogue::{Catalogue, Piece};
use boxcall::fit::span::{Options, Plan, plan, together};
use boxcall::lesion::Lesion;
use boxcall::measure::{Kind, Rule};
use boxcall::policy::Policy;
use boxcall::units::Length;

const STENTS: [Kind; 1] = [Kind::DrugElutingStent];

/// One diameter in these lengths, so many pieces of each.
pub fn lengths(lengths: &[f64], counts: impl Fn(usize) -> u32) -> (Catalogue, Vec<Piece>) {
    let lengths = lengths.iter().enumerate().map(|(i, length)| (*length, counts(i))).collect();
    shelf(&[vec![Sizes { diameter: 3.0, limit: Some(4.0), burst: Some(3.2), lengths }]])
}

fn level(need: f64, policy: &Policy) -> Lesion {
    lesion(Rule::DistalEem, [Some(3.0), None], need, None, policy)
}

/// `38+28`, longest first.
fn set(plan: &Plan) -> String {
    let mut lengths: Vec<f64> = plan.devices.iter().map(|device| device.length_mm).collect();
    lengths.sort_by(|a, b| b.total_cmp(a));
    lengths.iter().map(f64::to_string).collect::<Vec<_>>().join("+")
}

/// `steady` is the chance from which on a length counts as sure to cover. At 0.5 a cover of exactly the need does.
fn policy_of(row: &Row, overlap: f64) -> Policy {
    let mut policy = policy(overlap, overlap, overlap);
    policy.rank.steady_at_least = row.number("steady").expect("a chance");
    policy
}

fn cover_row(row: &Row) {
    let overlap = row.numbers("overlap")[0];
    let policy = policy_of(row, overlap);
    let stock = row.input("stock").map(|_| row.numbers("stock"));
    let (catalogue, pieces) =
        lengths(&row.numbers("lengths"), |i| stock.as_ref().map_or(0, |stock| stock[i] as u32));
    let options = Options { max_devices: Some(row.numbers("nmax")[0] as usize), ..Options::default() };
    let lesion = level(row.numbers("need")[0], &policy);
    let pieces = stock.as_ref().map(|_| pieces.as_slice());
    let found = plan(&catalogue, &STENTS, &lesion, &policy, pieces, today(), &options);
    let told = || format!("{}: {} ({}): {found:?}", row.id, row.expected, row.source);
    if row.expected == "infeasible" {
        assert!(!found.is_spanned(), "{}", told());
        return;
    }
    let [n, cover, sets] =
        <[&str; 3]>::try_from(row.expected.split("; ").collect::<Vec<_>>()).expect(&row.id);
    let best = found.plans.first().unwrap_or_else(|| panic!("{}", told()));
    assert_eq!(format!("n={}", best.devices.len()), n, "{}", told());
    assert_eq!(format!("cover={}", best.covered_mm), cover, "{}", told());
    assert!(best.optimal, "{}", told());
    let mut sets: Vec<&str> = sets.trim_start_matches("sets=").split(" | ").collect();
    let mut given: Vec<String> = found.plans.iter().map(set).collect();
    sets.sort_unstable();
    given.sort_unstable();
    assert_eq!(given, sets, "{}", told());
}

/// One piece of each length, with what the row says of overlaps.
fn overlap_row(row: &Row) {
    let given = row.numbers("lengths");
    let (catalogue, pieces) = lengths(&given, |_| 1);
    let spanned = |planned: f64, most: f64, need: f64, cover: Option<f64>| -> Option<(f64, Vec<f64>)> {
        let policy = policy(planned, planned, most);
        let lesion = level(need, &policy);
        let options = Options { most: cover.map(Length::from_mm), ..Options::default() };
        let found = plan(&catalogue, &STENTS, &lesion, &policy, Some(&pieces), today(), &options);
        let best = found.plans.into_iter().next()?;
        assert_eq!(best.devices.len(), given.len(), "{}: every piece is needed", row.id);
        Some((best.covered_mm, best.overlaps_mm))
    };
    let told = format!("{}: {} ({})", row.id, row.expected, row.source);
    match row.id.as_str() {
        "OVL-01" => {
            let cover: f64 = row.expected.parse().expect(&told);
            assert_eq!(spanned(3.0, 3.0, cover, None).expect(&told).0, cover, "{told}");
            assert_eq!(spanned(3.0, 3.0, cover + 0.01, None), None, "{told}");
        }
        "OVL-03" => {
            let (least, most) = row.expected.split_once("..").expect(&told);
            let [least, most]: [f64; 2] = [least, most].map(|mm| mm.parse().expect(&told));
            assert_eq!(spanned(2.0, 5.0, most, None).expect(&told).0, most, "{told}");
            assert_eq!(spanned(2.0, 5.0, most + 0.01, None), None, "{told}");
            let (covered, overlaps) = spanned(2.0, 5.0, least, Some(least)).expect(&told);
            assert_eq!((covered, overlaps), (least, vec![5.0, 5.0]), "{told}");
        }
        "OVL-04" => {
            let need = row.numbers("need")[0];
            let left: f64 = row.expected.parse().expect(&told);
            let (covered, overlaps) = spanned(3.0, left, need, Some(need)).expect(&told);
            assert_eq!((covered, overlaps), (need, vec![left]), "{told}");
            assert_eq!(spanned(3.0, left - 0.01, need, Some(need)), None, "{told}");
        }
        id => panic!("{id} has no test"),
    }
}

#[test]
fn rows_that_serve_span() {
    let mut ran = 0;
    for row in rows("span").iter().filter(|row| row.id != "COV-14") {
        ran += 1;
        if row.id.starts_with("COV-") { cover_row(row) } else { overlap_row(row) }
    }
    assert_eq!(ran, 12, "and COV-14 below");
}

#[test]
fn several_lesions_share_one_shelf() {
    let row = &rows("span").into_iter().find(|row| row.id == "COV-14").expect("the row");
    let overlap = row.numbers("overlap")[0];
    let policy = policy_of(row, overlap);
    let stock = row.numbers("stock");
    let (catalogue, pieces) = lengths(&row.numbers("lengths"), |i| stock[i] as u32);
    let needs = row.numbers("needs").into_iter();
    let lesions: Vec<(String, Lesion)> = needs.map(|need| (need.to_string(), level(need, &policy))).collect();
    let most = row.input("nmax").and_then(|text| text.split(' ').next()).map(|n| n.parse().expect(&row.id));
    let found = together(&catalogue, &STENTS, &lesions, &policy, Some(&pieces), today(), most);
    let (devices, excess) = (found.devices.expect("spanned"), found.excess_mm.expect("spanned"));
    let given = format!("devices={devices}; excess_mm={excess}");
    assert_eq!(given, row.expected, "{} ({}): {found:?}", row.id, row.source);
    assert!(found.optimal);
}
