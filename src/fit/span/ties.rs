//! Other plans as good in devices and total length, that take other boxes from the shelf.

use super::along::Ticks;
use super::search::{Found, Search};
use super::table::Table;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashSet};

/// How many steps are worth other plans: they are offered, not promised.
const STEPS: usize = 3_000;

/// A part of a chain, from its last device back.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Part {
    bound: Ticks,
    /// Devices still to be chosen: few first, so that ties are finished before others are begun.
    k: usize,
    spent: Ticks,
    state: u32,
    next: Option<usize>,
    path: Vec<(u32, Ticks)>,
    extra: Option<u32>,
}

fn boxes(devices: &[(u32, Ticks)]) -> Vec<u32> {
    let mut boxes: Vec<u32> = devices.iter().map(|(item, _)| *item).collect();
    boxes.sort_unstable();
    boxes
}

/// Up to `most` less one more chains that end where `best` ends, by rising cost, each of other boxes.
pub(super) fn others(
    table: &Table,
    left: &[u32],
    n: usize,
    state: usize,
    best: &Found,
    extra: bool,
    most: usize,
) -> Vec<Found> {
    let mut found: Vec<Found> = Vec::new();
    if most < 2 {
        return found;
    }
    let mut search = Search::new(table, left, extra);
    search.place_at(n, best.place);
    let mut seen = HashSet::from([boxes(&best.devices)]);
    let start = Part { bound: 0, k: n, spent: 0, state: state as u32, next: None, path: vec![], extra: None };
    let mut heap = BinaryHeap::from([Reverse(start)]);
    for _ in 0..STEPS {
        let Some(Reverse(part)) = heap.pop() else { break };
        if part.k == 0 {
            if seen.insert(boxes(&part.path)) {
                let devices = part.path.into_iter().rev().collect();
                found.push(Found { devices, place: best.place, cost: part.spent, extra: part.extra });
            }
            if found.len() + 1 == most {
                break;
            }
            continue;
        }
        let layer = &table.layers[part.k - 1];
        for (bound, edge) in search.choices(part.k, part.state, part.next, part.spent) {
            let used = part.path.iter().filter(|(item, _)| *item == edge.item).count() as u32;
            let over = used >= left[edge.item as usize];
            if over && (!extra || part.extra.is_some()) {
                continue;
            }
            let mut path = part.path.clone();
            path.push((edge.item, layer.places[edge.from as usize]));
            heap.push(Reverse(Part {
                bound,
                k: part.k - 1,
                spent: part.spent + edge.cost,
                state: edge.from,
                next: Some(table.parts.items[edge.item as usize].class),
                path,
                extra: if over { Some(edge.item) } else { part.extra },
            }));
        }
    }
    found
}
