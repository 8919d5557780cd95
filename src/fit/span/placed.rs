//! Devices that are in already: what is left to span before, between and after them.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "overlaps of a handful of devices"
)]

use super::along::{SLACK, Ticks, mm, ticks};
use super::chain::Chain;
use super::parts::Parts;
use super::search::Found;
use super::share::{Cost, Sharing};
use super::solve::Ask;
use super::{Device, PLANS, Placed, Plan};
use crate::measure::{Caution, CautionCode};
use crate::units::at_least;

/// The stretches that are open, distal first. `whole` is the lesion as if nothing were in.
pub(super) fn stretches(whole: &Chain, placed: &[Placed]) -> Vec<Chain> {
    let mut placed = placed.to_vec();
    placed.sort_by(|a, b| a.at.mm().total_cmp(&b.at.mm()));
    let mut open = Vec::new();
    // The proximal end of what is in so far, and the device that ends there.
    let mut so_far: Option<(Ticks, f64)> = None;
    for device in &placed {
        let begins = ticks(device.at.mm());
        let ends = begins + ticks(device.length.mm());
        let d = device.diameter.mm();
        let gap = begins - so_far.map_or(0, |(end, _)| end);
        let free = Chain { room: None, need: gap, ..whole.clone() };
        if gap > SLACK {
            open.push(match so_far {
                None => Chain {
                    origin: begins + whole.planned,
                    mirrored: true,
                    neighbour_overlaps: 0,
                    neighbours: [Some(d), None],
                    ..free
                },
                // Both ends are fixed: what is too long goes into the overlaps.
                Some((end, before)) => Chain {
                    origin: end - whole.planned,
                    neighbour_overlaps: 1,
                    room: Some(gap),
                    neighbours: [Some(before), Some(d)],
                    ..free
                },
            });
        }
        if so_far.is_none_or(|(end, _)| ends > end) {
            so_far = Some((ends, d));
        }
    }
    if let Some((end, before)) = so_far
        && whole.need - end > SLACK
    {
        open.push(Chain {
            origin: end - whole.planned,
            neighbour_overlaps: 0,
            room: None,
            need: whole.need - end,
            neighbours: [Some(before), None],
            ..whole.clone()
        });
    }
    open
}

/// The best plans for these stretches. More than one stretch: one plan, `optimal` only where every stretch has the
/// best chain that it could have with the whole shelf for itself, which then nothing beats.
pub(super) fn plans<'a>(ask: Ask<'_, 'a>, open: &[Chain], placed: &[Placed]) -> Vec<Plan<'a>> {
    let whole = |founds: &[Found], proved| assemble(ask.parts, open, founds, placed, proved);
    match open {
        [] => vec![whole(&[], true)],
        [chain] => {
            let best = Ask { chain, ..ask }.best(PLANS);
            best.iter().map(|solved| whole(std::slice::from_ref(&solved.found), solved.proved)).collect()
        }
        _ => several(ask, open).map(|(founds, proved)| whole(&founds, proved)).into_iter().collect(),
    }
}

/// What one product can do.
struct OfProduct {
    /// Devices, total length, cost.
    key: (usize, Ticks, Ticks),
    founds: Vec<Found>,
    /// Nothing beats it within the product.
    exact: bool,
}

fn several(ask: Ask, open: &[Chain]) -> Option<(Vec<Found>, bool)> {
    let products: Vec<Option<u32>> =
        if ask.mix { vec![None] } else { ask.parts.products().into_iter().map(Some).collect() };
    let mut proved = true;
    let mut all = Vec::new();
    for product in products {
        let Some(sharing) = Sharing::new(ask, open, product, Cost::Length) else { continue };
        let (shared, sure) = sharing.solve(ask.max_devices);
        proved &= sure;
        let Some(shared) = shared else { continue };
        let cost = shared.founds.iter().map(|found| found.cost).sum();
        let exact = as_alone(ask, open, product, &shared.founds);
        all.push(OfProduct { key: (shared.devices, shared.cost, cost), founds: shared.founds, exact });
    }
    let best = all.iter().min_by_key(|of| of.key)?;
    // As good in devices and length: then the sum of |D - aim| decides, and has to be the least of each.
    let rivals = all.iter().filter(|of| (of.key.0, of.key.1) == (best.key.0, best.key.1));
    let proved = proved && rivals.into_iter().all(|of| of.exact);
    Some((best.founds.clone(), proved))
}

/// Whether every stretch has what it would have with the whole shelf for itself.
fn as_alone(ask: Ask, open: &[Chain], product: Option<u32>, founds: &[Found]) -> bool {
    founds.iter().zip(open).all(|(found, chain)| {
        let alone = Ask { chain, ..ask }.best_of(&[product], 1);
        let same = |other: &Found| {
            (other.devices.len(), other.place, other.cost) == (found.devices.len(), found.place, found.cost)
        };
        alone.first().is_some_and(|alone| alone.proved && same(&alone.found))
    })
}

fn assemble<'a>(
    parts: &Parts<'a>,
    open: &[Chain],
    founds: &[Found],
    placed: &[Placed],
    proved: bool,
) -> Plan<'a> {
    let mut devices: Vec<(f64, Device)> = Vec::new();
    let on_branch: Ticks =
        open.iter().zip(founds).map(|(chain, found)| found.on_branch() + chain.joined_on_branches()).sum();
    let mut holds = true;
    for (chain, found) in open.iter().zip(founds) {
        let n = found.devices.len();
        let stretch = ticks(chain.overlap(n, found.place)) - chain.planned;
        let mut total = 0;
        for (i, (item, place)) in found.devices.iter().enumerate() {
            let length = parts.items[*item as usize].length;
            let begins = chain.interval(*place, length)[0] - (i as Ticks + 1) * stretch;
            let lies = Some(chain.lies_as(parts, *item, *place));
            devices.push((mm(begins), Device { lies, ..parts.device(*item) }));
            total += length;
        }
        let overlaps = n as Ticks + chain.neighbour_overlaps;
        holds &= at_least(mm(total - chain.most * overlaps), mm(chain.need));
    }
    devices.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Everything that is there, by its two ends.
    let mut all: Vec<(f64, f64)> = placed.iter().map(|p| (p.at.mm(), p.at.mm() + p.length.mm())).collect();
    all.extend(devices.iter().map(|(begins, device)| (*begins, begins + device.length_mm)));
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let ends =
        |f: fn(f64, f64) -> f64, from: f64, by: fn(&(f64, f64)) -> f64| all.iter().map(by).fold(from, f);
    let covered = ends(f64::max, f64::NEG_INFINITY, |e| e.1) - ends(f64::min, f64::INFINITY, |e| e.0);
    let cleaned = |overlap: f64| mm(ticks(overlap));
    Plan {
        overlaps_mm: all.windows(2).map(|pair| cleaned(pair[0].1 - pair[1].0)).collect(),
        overlaps_on_branch: on_branch as usize,
        covered_mm: cleaned(covered),
        metal_mm: devices.iter().map(|(_, device)| device.length_mm).sum(),
        covers_at_largest_overlap: holds,
        optimal: proved,
        begins_mm: devices.iter().map(|(begins, _)| *begins).collect(),
        devices: devices.into_iter().map(|(_, device)| device).collect(),
    }
}

/// A device that is in fixes where it is joined: an overlap there can be reported, not avoided.
pub(super) fn cautions(open: &[Chain]) -> Vec<Caution> {
    let joined = open.iter().filter(|chain| {
        let first = chain.avoided(0, 0, 0);
        let [_, end] = [chain.origin + chain.planned, chain.origin + chain.planned + chain.need];
        let last = chain.neighbours[1].is_some()
            && chain.avoid.iter().any(|[a, b]| end < b - SLACK && end + chain.planned > a + SLACK);
        first || last
    });
    let message =
        "A device that is in already ends on a stretch to be avoided: the overlap with it lies there.";
    joined.take(1).map(|_| Caution::new(CautionCode::SpanJoinedOnAvoided, message)).collect()
}

/// Where nothing spans what is left: for each product, the first condition without which it would. `every` is what
/// the catalogue has, whatever is on the shelf.
pub(super) fn why_none(ask: Ask, every: &Parts, open: &[Chain]) -> Vec<Caution> {
    let products = ask.parts.products().into_iter();
    let why = |product: u32| {
        let name = &ask.parts.catalogue.products[product as usize].id;
        let fails = open.iter().find_map(|chain| fails(Ask { chain, ..ask }, every, product));
        // Each stretch alone could be spanned: what is wanting is pieces, or devices, for all of them.
        let fails =
            fails.unwrap_or("too few pieces on the shelf, or too few devices allowed, for all that is left");
        Caution::new(CautionCode::SpanPlacedLeavesNothing, format!("{name}: {fails}."))
    };
    products.map(why).collect()
}

/// The first condition that keeps this product from spanning a stretch; none where nothing does.
fn fails(ask: Ask, every: &Parts, product: u32) -> Option<&'static str> {
    let spans = |ask: Ask| !ask.best_of(&[Some(product)], 1).is_empty();
    if spans(ask) {
        return None;
    }
    let left: Vec<u32> = every.items.iter().map(|item| item.pieces).collect();
    let unlimited = Ask { parts: every, left: &left, ..ask };
    if spans(unlimited) {
        return Some("too few pieces on the shelf");
    }
    let chain = Chain { limit: None, ..ask.chain.clone() };
    if spans(Ask { chain: &chain, ..unlimited }) {
        return Some("no device within the longest that is wanted");
    }
    let chain = Chain { neighbours: [None, None], ..chain };
    if spans(Ask { chain: &chain, ..unlimited }) {
        return Some(
            "its diameters do not follow those that are in: the proximal of two is not smaller, nor larger by more than the policy's step",
        );
    }
    let chain = Chain { avoid: Vec::new(), ..chain };
    if spans(Ask { chain: &chain, ..unlimited }) {
        return Some("an overlap would be where none may be");
    }
    let chain = Chain { room: None, ..chain };
    if spans(Ask { chain: &chain, ..unlimited }) {
        return Some("none is short enough: the overlaps would be larger than the policy allows");
    }
    let unlimited = Ask { chain: &chain, max_devices: super::MOST_DEVICES, ..unlimited };
    if spans(unlimited) {
        return Some("more devices would be needed than are allowed");
    }
    Some("no device of it fits what is left of the vessel")
}
