//! Every place that a chain can reach, and the least cost on the way there: overlaps on a side
//! branch, then the sum of |D - aim|, whatever the stock.
//!
//! Dynamic programming over (devices used, place, last diameter): the verdict on a device depends on where it begins
//! and on itself alone, so nothing else of the devices before it matters. Stock apart, the table is exact; with
//! stock it is a lower bound, because every chain of the shelf is a chain of the table.

use super::along::Ticks;
use super::chain::Chain;
use super::parts::Parts;
use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// No chain.
pub(super) const NONE: Ticks = Ticks::MAX / 4;

/// What an overlap on a side branch costs: more than any sum of |D - aim| comes to, so that the one is least first.
pub(super) const ON_BRANCH: Ticks = 1 << 40;

/// Places are few and well spread once multiplied; the general hasher would cost more than the rest.
#[derive(Default)]
pub(super) struct Spread(u64);

impl Hasher for Spread {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.write_u64(u64::from(*byte));
        }
    }

    fn write_u64(&mut self, value: u64) {
        let mixed = (self.0 ^ value).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        self.0 = mixed ^ (mixed >> 29);
    }

    fn write_i64(&mut self, value: i64) {
        self.write_u64(value as u64);
    }
}

pub(super) type Places<T> = HashMap<Ticks, T, BuildHasherDefault<Spread>>;

/// One device put after a chain.
#[derive(Debug, Clone, Copy)]
pub(super) struct Edge {
    /// The state of the layer before.
    pub from: u32,
    pub item: u32,
    /// |D - aim|, and [`ON_BRANCH`] for each side branch on which the overlap before it lies.
    pub cost: Ticks,
}

/// All chains of so many devices.
#[derive(Debug, Default)]
pub(super) struct Layer {
    index: Places<u32>,
    pub places: Vec<Ticks>,
    /// By state and class of the last device: the least cost.
    least: Vec<Ticks>,
    /// By state and class of the next device: the same over the classes that it may follow.
    before: Vec<Ticks>,
    pub edges: Vec<Vec<Edge>>,
}

/// What is asked of a table.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted {
    pub devices: usize,
    /// One product; none: all of them.
    pub product: Option<u32>,
    /// Only chains that come to this place at least; none: every one that holds.
    pub done: Option<Ticks>,
    /// Sizes that have run out too.
    pub all_sizes: bool,
}

pub(super) struct Table<'p, 'a> {
    pub parts: &'p Parts<'a>,
    pub chain: &'p Chain,
    pub layers: Vec<Layer>,
    /// By class and class: whether the second may follow the first.
    follows: Vec<bool>,
    pub may_end: Vec<bool>,
}

/// The items that fit at a place, with |D - aim|; worked out once for all layers.
#[derive(Default)]
pub(super) struct Fitting(Places<Vec<(u32, Ticks)>>);

impl Fitting {
    fn at<'f>(
        &'f mut self,
        place: Ticks,
        parts: &Parts,
        chain: &Chain,
        product: Option<u32>,
    ) -> &'f [(u32, Ticks)] {
        self.0.entry(place).or_insert_with(|| {
            let mut fitting = Vec::new();
            let families = parts.families.iter();
            for family in families.filter(|family| product.is_none_or(|only| family.product == only)) {
                // Mirrored, the place is where a device ends, so each of its lengths begins elsewhere.
                if !chain.mirrored && !chain.may_fit(&family.facts, chain.interval(place, 0)[0]) {
                    continue;
                }
                let mut last = None;
                for index in family.items.clone().filter(|index| chain.allows(parts.items[*index].length)) {
                    let [begins, ends] = chain.interval(place, parts.items[index].length);
                    let at = [begins, chain.along.clamped(ends)];
                    let off = match last {
                        Some((before, off)) if before == at => off,
                        _ => chain.judged(&family.facts, at),
                    };
                    last = Some((at, off));
                    fitting.extend(off.map(|off| (index as u32, off)));
                }
            }
            fitting
        })
    }
}

/// The most that so many pieces of the shelf come to, by number of pieces.
fn longest(parts: &Parts, chain: &Chain, wanted: Wanted) -> Vec<Ticks> {
    let mut lengths: Vec<Ticks> = Vec::new();
    let items = parts.items.iter().filter(|item| wanted.product.is_none_or(|only| item.product == only));
    for item in items.filter(|item| chain.allows(item.length)) {
        let pieces = if wanted.all_sizes { wanted.devices } else { item.pieces as usize };
        lengths.extend(std::iter::repeat_n(item.length, pieces.min(wanted.devices)));
    }
    lengths.sort_unstable_by(|a, b| b.cmp(a));
    let sums = lengths.iter().scan(0, |sum, length| {
        *sum += length;
        Some(*sum)
    });
    std::iter::once(0).chain(sums).take(wanted.devices + 1).collect()
}

impl<'p, 'a> Table<'p, 'a> {
    pub fn new(parts: &'p Parts<'a>, chain: &'p Chain, fitting: &mut Fitting, wanted: Wanted) -> Self {
        let classes = parts.classes.len();
        let pairs = parts.classes.iter().flat_map(|a| parts.classes.iter().map(|b| chain.follows(*a, *b)));
        let mut table = Table {
            parts,
            chain,
            layers: Vec::with_capacity(wanted.devices + 1),
            follows: pairs.collect(),
            may_end: parts.classes.iter().map(|d| chain.may_end(*d)).collect(),
        };
        let n = wanted.devices;
        let longest = longest(parts, chain, wanted);
        let reach = |pieces: usize| longest.get(pieces).map(|sum| sum - pieces as Ticks * chain.planned);
        let far_enough = |k: usize, place: Ticks| {
            wanted.done.is_none_or(|done| reach(n - k).is_some_and(|rest| place + rest >= done))
        };
        let stops = chain.stops_when_done(parts);
        // With a limit the overlaps move with the length; then only the search knows where they lie.
        let avoids = chain.room.is_none();
        let joined = i64::from(chain.neighbours[0].is_some());
        let begins = parts.classes.iter().map(|d| if chain.may_begin(*d) { 0 } else { NONE });
        let mut first = Layer { before: begins.collect(), ..Layer::default() };
        first.index.insert(0, 0);
        first.places.push(0);
        first.edges.push(Vec::new());
        table.layers.push(first);
        for k in 1..=n {
            let mut next = Layer::default();
            let last = &table.layers[k - 1];
            for (state, place) in last.places.iter().copied().enumerate() {
                let done = k > 1 && stops && place >= chain.done_at();
                if done || (avoids && k > 1 && chain.avoided(place, k as i64 - 1 + joined, 0)) {
                    continue;
                }
                let on_branch = if k > 1 { ON_BRANCH * chain.on_branches(place) } else { 0 };
                for &(index, off) in fitting.at(place, parts, chain, wanted.product) {
                    let item = &parts.items[index as usize];
                    let sum = last.before[state * classes + item.class];
                    if sum >= NONE || (item.pieces == 0 && !wanted.all_sizes) {
                        continue;
                    }
                    let to = place + item.length - chain.planned;
                    if !far_enough(k, to) || (k == n && wanted.done.is_some() && to > chain.farthest(n)) {
                        continue;
                    }
                    next.put(
                        to,
                        item.class,
                        classes,
                        sum + off + on_branch,
                        Edge { from: state as u32, item: index, cost: off + on_branch },
                    );
                }
            }
            table.close(&mut next);
            table.layers.push(next);
        }
        table
    }

    pub fn follows(&self, first: usize, second: usize) -> bool {
        self.follows[first * self.parts.classes.len() + second]
    }

    fn close(&self, layer: &mut Layer) {
        let classes = self.parts.classes.len();
        layer.before = vec![NONE; layer.least.len()];
        for state in 0..layer.places.len() {
            let row = state * classes;
            for first in (0..classes).filter(|class| layer.least[row + class] < NONE) {
                for second in (0..classes).filter(|second| self.follows(first, *second)) {
                    let least = layer.least[row + first];
                    layer.before[row + second] = layer.before[row + second].min(least);
                }
            }
        }
    }

    /// The least cost of the chains that end in this state and that a device of this class may follow.
    pub fn before(&self, k: usize, state: u32, class: usize) -> Ticks {
        self.layers[k].before[state as usize * self.parts.classes.len() + class]
    }

    /// The least cost of the chains that end in this state and may be the whole one; none where there is none.
    pub fn ends(&self, k: usize, state: usize) -> Option<Ticks> {
        let classes = self.parts.classes.len();
        let least = |class| self.layers[k].least[state * classes + class];
        (0..classes).filter(|class| self.may_end[*class]).map(least).min().filter(|least| *least < NONE)
    }
}

impl Layer {
    fn put(&mut self, place: Ticks, class: usize, classes: usize, sum: Ticks, edge: Edge) {
        let fresh = self.places.len() as u32;
        let state = *self.index.entry(place).or_insert(fresh);
        if state == fresh {
            self.places.push(place);
            self.least.resize(self.least.len() + classes, NONE);
            self.edges.push(Vec::new());
        }
        let least = &mut self.least[state as usize * classes + class];
        *least = (*least).min(sum);
        self.edges[state as usize].push(edge);
    }
}
