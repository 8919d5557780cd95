//! The best plans for one lesion.

use super::along::{Along, Ticks, mm, ticks};
use super::chain::Chain;
use super::parts::Parts;
use super::solve::{Ask, FRAME_TOLERANCE, Solved};
use super::{Device, MOST_DEVICES, Options, PLANS, Plan, Spanned, placed};
use crate::catalogue::{Catalogue, Piece};
use crate::fit::facts::Frame;
use crate::lesion::Lesion;
use crate::measure::Kind;
use crate::policy::Policy;
use crate::units::{Length, at_least};
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
    let chain = whole(lesion, policy, &options.avoid);
    let ask = Ask {
        parts: &parts,
        chain: &chain,
        left: &left,
        max_devices: most_devices(policy, options),
        mix: policy.span.mix_products,
        extra: false,
    };
    if !options.placed.is_empty() {
        let open = placed::stretches(&chain, &options.placed);
        let mut cautions = lesion.cautions.clone();
        cautions.extend(placed::cautions(&open));
        return Spanned {
            length_min_mm: lesion.target.length_min.mm(),
            longest_mm: None,
            plans: placed::plans(ask, &open, &options.placed),
            one_more: None,
            cautions,
        };
    }
    let plans: Vec<Plan> = ask.best(PLANS).iter().map(|solved| as_plan(&parts, &chain, solved)).collect();
    let none = plans.is_empty();
    let longest = if none { ask.longest().map(mm) } else { None };
    let one_more = (none && parts.stocked)
        .then(|| Ask { extra: true, ..ask }.best(1).first().and_then(|solved| solved.found.extra))
        .flatten()
        .map(|item| parts.device(item));
    Spanned {
        length_min_mm: lesion.target.length_min.mm(),
        longest_mm: longest,
        plans,
        one_more,
        cautions: lesion.cautions.clone(),
    }
}

pub(super) fn most_devices(policy: &Policy, options: &Options) -> usize {
    options.max_devices.unwrap_or(policy.span.max_devices).clamp(1, MOST_DEVICES)
}

/// The whole lesion, with nothing in it yet.
pub(super) fn whole(lesion: &Lesion, policy: &Policy, avoid: &[[Length; 2]]) -> Chain {
    Chain {
        along: Along::new(lesion),
        frame: Frame { rule: lesion.target.rule, window: policy.window, tolerance: FRAME_TOLERANCE },
        planned: ticks(policy.overlap.planned.mm()),
        most: ticks(policy.overlap.most.mm()),
        origin: 0,
        mirrored: false,
        neighbour_overlaps: -1,
        need: ticks(lesion.target.length_min.mm()),
        room: lesion.target.limit.map(|limit| ticks(limit.mm())),
        largest_step: policy.span.largest_step.mm(),
        neighbours: [None, None],
        avoid: avoid.iter().map(|ends| ends.map(|end| ticks(end.mm()))).collect(),
    }
}

pub(super) fn as_plan<'a>(parts: &Parts<'a>, chain: &Chain, solved: &Solved) -> Plan<'a> {
    let found = &solved.found;
    let n = found.devices.len();
    let overlap = chain.overlap(n, found.place);
    let devices: Vec<Device> = found.devices.iter().map(|(item, _)| parts.device(*item)).collect();
    let total: Ticks = found.devices.iter().map(|(item, _)| parts.items[*item as usize].length).sum();
    let stretch = ticks(overlap) - chain.planned;
    let begins = found.devices.iter().enumerate().map(|(i, (_, place))| mm(place - i as Ticks * stretch));
    let verdicts = found.devices.iter().map(|(item, place)| chain.verdict_at(parts, *item, *place)).collect();
    Plan {
        devices,
        verdicts,
        overlaps_mm: vec![overlap; n - 1],
        covered_mm: mm(chain.covered(found.place)),
        metal_mm: mm(total),
        covers_at_largest_overlap: at_least(mm(total - chain.most * (n as Ticks - 1)), mm(chain.need))
            || n == 1,
        optimal: solved.proved,
        begins_mm: begins.collect(),
    }
}
