//! Several lesions out of one shelf.

use super::along::mm;
use super::chain::Chain;
use super::parts::Parts;
use super::plan::{as_plan, most_devices, whole};
use super::share::{Cost, Sharing};
use super::solve::{Ask, Solved};
use super::{Options, Plan};
use crate::catalogue::{Catalogue, Piece};
use crate::lesion::Lesion;
use crate::measure::Kind;
use crate::policy::Policy;
use chrono::NaiveDate;
use serde::Serialize;

/// The object of `span --lesions FILE --json`. Nothing rounded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Together<'a> {
    /// In the order of the file.
    pub lesions: Vec<OfLesion<'a>>,
    /// In all; none where the shelf does not span every lesion.
    pub devices: Option<usize>,
    /// What is covered beyond the need, in all, in mm.
    pub excess_mm: Option<f64>,
    /// Proved: no other choice takes fewer devices, or as many and less excess.
    pub optimal: bool,
}

/// One lesion's share of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OfLesion<'a> {
    /// As the file of lesions has it.
    pub id: String,
    /// One plan, or none where the shelf does not span every lesion. It is `optimal` where the lesion could not have
    /// a better one with the whole shelf for itself.
    pub plans: Vec<Plan<'a>>,
}

/// Spans every lesion out of one shelf: fewest devices in all, then least excess in all. `max_devices` counts for
/// each lesion.
pub fn together<'a>(
    catalogue: &'a Catalogue,
    kinds: &[Kind],
    lesions: &[(String, Lesion)],
    policy: &Policy,
    stock: Option<&[Piece]>,
    today: NaiveDate,
    max_devices: Option<usize>,
) -> Together<'a> {
    let parts = Parts::new(catalogue, kinds, stock, today);
    let left: Vec<u32> = parts.items.iter().map(|item| item.pieces).collect();
    let chains: Vec<Chain> =
        lesions.iter().map(|(_, lesion)| whole(lesion, policy, &Options::default())).collect();
    let max_devices = most_devices(policy, &Options { max_devices, ..Options::default() });
    let ask = |chain| Ask {
        parts: &parts,
        chain,
        left: &left,
        max_devices,
        mix: policy.span.mix_products,
        extra: false,
    };
    let sharing = chains.first().and_then(|first| Sharing::new(ask(first), &chains, None, Cost::Excess));
    let solved = sharing.map(|sharing| sharing.solve(max_devices * chains.len()));
    let Some((Some(shared), proved)) = solved else {
        let none = |(id, _): &(String, Lesion)| OfLesion { id: id.clone(), plans: Vec::new() };
        let lesions = lesions.iter().map(none).collect();
        return Together { lesions, devices: None, excess_mm: None, optimal: false };
    };
    let of_lesions = lesions.iter().zip(&chains).zip(shared.founds).map(|(((id, _), chain), found)| {
        let alone = ask(chain).best(1);
        let as_good = |alone: &Solved| {
            let other = &alone.found;
            alone.proved
                && (other.devices.len(), other.place, other.cost)
                    == (found.devices.len(), found.place, found.cost)
        };
        let best = alone.first().is_some_and(as_good);
        OfLesion { id: id.clone(), plans: vec![as_plan(&parts, chain, &Solved { found, proved: best })] }
    });
    Together {
        lesions: of_lesions.collect(),
        devices: Some(shared.devices),
        excess_mm: Some(mm(shared.cost)),
        optimal: proved,
    }
}
