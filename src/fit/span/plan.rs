//! The best plans for one lesion.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "overlaps of a handful of devices"
)]

use super::along::{Along, Ticks, mm, ticks};
use super::chain::Chain;
use super::parts::Parts;
use super::search::Found;
use super::solve::{Ask, FRAME_TOLERANCE, Solved};
use super::{Device, MOST_DEVICES, OneFewer, Options, PLANS, Plan, Spanned, placed};
use crate::catalogue::{Catalogue, Piece};
use crate::fit::cover::Cover;
use crate::fit::facts::Frame;
use crate::fit::judge::above;
use crate::lesion::Lesion;
use crate::measure::{Border, Caution, CautionCode, Kind};
use crate::policy::Policy;
use crate::units::{Diameter, Length, at_least};
use chrono::NaiveDate;

/// The best sets of devices of these kinds that span the lesion. `stock` is the pieces on the shelf, of which those
/// in date `today` count; without it every size may be used any number of times. No guide changes a plan.
///
/// With devices in already, a plan is what is put beside them; then the lesion's limit is not looked at, `longest_mm`
/// and `one_more` are none, and nothing left to span is a plan of no device.
pub fn plan<'a>(
    catalogue: &'a Catalogue,
    kinds: &[Kind],
    lesion: &Lesion,
    policy: &Policy,
    stock: Option<&[Piece]>,
    today: NaiveDate,
    options: &Options,
) -> Spanned<'a> {
    let parts = Parts::new(catalogue, kinds, stock, today);
    let left: Vec<u32> = parts.items.iter().map(|item| item.pieces).collect();
    let chain = whole(lesion, policy, options);
    let ask = Ask {
        parts: &parts,
        chain: &chain,
        left: &left,
        max_devices: most_devices(policy, options),
        mix: policy.span.mix_products,
        extra: false,
    };
    let mut spanned = Spanned {
        length_min_mm: lesion.target.length_min.mm(),
        longest_mm: None,
        plans: Vec::new(),
        one_fewer: None,
        one_more: None,
        cautions: Vec::new(),
    };
    if !options.placed.is_empty() {
        let open = placed::stretches(&chain, &options.placed);
        spanned.plans = placed::plans(ask, &open, &options.placed);
        spanned.cautions = cautions(lesion, &spanned.plans);
        spanned.cautions.extend(placed::cautions(&open));
        if spanned.plans.is_empty() {
            let every = Parts::new(catalogue, kinds, None, today);
            spanned.cautions.extend(placed::why_none(ask, &every, &open));
        }
        return spanned;
    }
    let best = ask.best(PLANS);
    if best.is_empty() {
        spanned.longest_mm = ask.longest().map(mm);
        if parts.stocked {
            let more = Ask { extra: true, ..ask }.best(1);
            let item = more.first().and_then(|solved| solved.found.extra);
            spanned.one_more = item.map(|item| parts.device(item));
        }
    }
    spanned.one_fewer = best.first().and_then(|solved| one_fewer(ask, solved.found.devices.len()));
    spanned.plans = best.iter().map(|solved| as_plan(&parts, &chain, solved)).collect();
    spanned.cautions = cautions(lesion, &spanned.plans);
    spanned
}

/// The lesion's cautions, and that a device of the best plan is large for the lumen where it begins.
fn cautions(lesion: &Lesion, plans: &[Plan]) -> Vec<Caution> {
    let devices = plans.iter().take(1).flat_map(|plan| &plan.devices);
    let large = devices.into_iter().find_map(|device| {
        lesion.distal_lumen?;
        let lumen = lesion.vessel.begins(Border::Lumen, device.lies?.at_mm)?;
        above(Diameter::from_mm(device.diameter_mm), Diameter::from_mm(lumen))
    });
    let (gravest, rest): (Vec<&Caution>, Vec<&Caution>) =
        lesion.cautions.iter().partition(|caution| caution.code == CautionCode::LandingZonePlaqueBurden);
    gravest.into_iter().chain(&large).chain(rest).cloned().collect()
}

/// The set of one device fewer than `n` that covers most, if it is short by at most twice the standard error of length.
fn one_fewer<'a>(ask: Ask<'_, 'a>, n: usize) -> Option<OneFewer<'a>> {
    let (chain, parts) = (ask.chain, ask.parts);
    let fewer = n.checked_sub(1).filter(|fewer| *fewer > 0)?;
    let found = ask.nearest_short(fewer, ticks(2.0 * chain.cover.error))?;
    let covered = chain.covered(found.place);
    Some(OneFewer {
        devices: devices(parts, chain, &found),
        overlaps_mm: vec![chain.overlap(fewer, found.place); fewer - 1],
        covered_mm: mm(covered),
        short_mm: mm(chain.need - covered),
        chance: chain.cover.chance(mm(covered)),
    })
}

pub(super) fn most_devices(policy: &Policy, options: &Options) -> usize {
    options.max_devices.unwrap_or(policy.span.max_devices).clamp(1, MOST_DEVICES)
}

/// The whole lesion, with nothing in it yet.
pub(super) fn whole(lesion: &Lesion, policy: &Policy, options: &Options) -> Chain {
    let along = |length: Length| ticks(length.mm());
    Chain {
        along: Along::new(lesion),
        frame: Frame { rule: lesion.target.rule, window: policy.window, tolerance: FRAME_TOLERANCE },
        planned: along(policy.overlap.planned),
        most: along(policy.overlap.most),
        origin: 0,
        mirrored: false,
        neighbour_overlaps: -1,
        need: along(lesion.target.length_min),
        room: options.most.map(along),
        largest_step: policy.span.largest_step.map_or(f64::INFINITY, |step| step.mm()),
        neighbours: [None, None],
        limit: lesion.target.limit.map(along),
        branches: lesion.branches.at.iter().copied().map(along).collect(),
        near_branch: along(policy.error.of(lesion.method).length),
        cover: Cover::of(lesion, policy),
        avoid: options.avoid.iter().map(|ends| ends.map(along)).collect(),
    }
}

/// The devices of a chain, in its order.
fn devices<'a>(parts: &Parts<'a>, chain: &Chain, found: &Found) -> Vec<Device<'a>> {
    let devices = found.devices.iter();
    let device = |item, place| Device { lies: Some(chain.lies_as(parts, item, place)), ..parts.device(item) };
    devices.map(|(item, place)| device(*item, *place)).collect()
}

pub(super) fn as_plan<'a>(parts: &Parts<'a>, chain: &Chain, solved: &Solved) -> Plan<'a> {
    let found = &solved.found;
    let n = found.devices.len();
    let overlap = chain.overlap(n, found.place);
    let total: Ticks = found.devices.iter().map(|(item, _)| parts.items[*item as usize].length).sum();
    let stretch = ticks(overlap) - chain.planned;
    let begins = found.devices.iter().enumerate().map(|(i, (_, place))| mm(place - i as Ticks * stretch));
    Plan {
        devices: devices(parts, chain, found),
        overlaps_mm: vec![overlap; n - 1],
        overlaps_on_branch: found.on_branch() as usize,
        covered_mm: mm(chain.covered(found.place)),
        metal_mm: mm(total),
        covers_at_largest_overlap: at_least(mm(total - chain.most * (n as Ticks - 1)), mm(chain.need))
            || n == 1,
        optimal: solved.proved,
        begins_mm: begins.collect(),
    }
}
