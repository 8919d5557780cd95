//! Several stretches out of one shelf: fewest devices in all, then least cost in all.
//!
//! Each stretch has its levels (devices, cost) from its table, and each level its sets of boxes. The number of
//! devices in all grows until the shelf gives a set for every stretch; within it, branch and bound over the
//! stretches. What the stretches need at the least, each alone, bounds the rest.

use super::along::Ticks;
use super::chain::Chain;
use super::parts::Parts;
use super::search::{Found, Search};
use super::solve::Ask;
use super::table::{Fitting, NONE, Table, Wanted};
use std::collections::{HashMap, HashSet};
use std::rc::Rc;

/// Steps after which a list of sets, and the whole search, give up their proof.
const STEPS_OF_A_LEVEL: usize = 20_000;
const STEPS: usize = 1_000_000;

/// What costs, where the number of devices is the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cost {
    /// What is covered beyond the need.
    Excess,
    /// The total length of the devices.
    Length,
}

/// One chain for each stretch.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shared {
    pub founds: Vec<Found>,
    pub devices: usize,
    pub cost: Ticks,
}

/// Ends of chains that cost the same; by product's table and state.
struct Level {
    cost: Ticks,
    table: usize,
    state: usize,
    sets: Option<Rc<Vec<Found>>>,
}

struct Stretch<'p, 'a> {
    chain: &'p Chain,
    fewest: usize,
    most: usize,
    tables: Vec<Table<'p, 'a>>,
    /// By devices beyond the fewest, by rising cost.
    levels: Vec<Vec<Level>>,
}

pub(super) struct Sharing<'p, 'a> {
    parts: &'p Parts<'a>,
    cost: Cost,
    products: Vec<Option<u32>>,
    stretches: Vec<Stretch<'p, 'a>>,
    left: Vec<u32>,
    /// By item: fewer pieces than all stretches together may use.
    scarce: Vec<bool>,
    picks: Vec<Found>,
    best: Option<(Ticks, Vec<Found>)>,
    known: HashMap<(usize, usize, Vec<u32>), Ticks>,
    steps: usize,
    proved: bool,
}

impl<'p, 'a> Sharing<'p, 'a> {
    /// None where some stretch has no chain even with the whole shelf for itself. `product`: that one alone; none:
    /// as the policy mixes them.
    pub fn new(ask: Ask<'p, 'a>, chains: &'p [Chain], product: Option<u32>, cost: Cost) -> Option<Self> {
        let products = match (ask.mix, product) {
            (_, Some(product)) => vec![Some(product)],
            (true, None) => vec![None],
            (false, None) => ask.parts.products().into_iter().map(Some).collect(),
        };
        let mut stretches = Vec::with_capacity(chains.len());
        let mut proved = true;
        for chain in chains {
            let alone = Ask { chain, ..ask }.best_of(&products, 1);
            let alone = alone.first()?;
            proved &= alone.proved;
            stretches.push(Stretch {
                chain,
                fewest: alone.found.devices.len(),
                most: ask.max_devices,
                tables: Vec::new(),
                levels: Vec::new(),
            });
        }
        let all = (ask.max_devices * chains.len()) as u32;
        Some(Sharing {
            parts: ask.parts,
            cost,
            products,
            stretches,
            left: ask.left.to_vec(),
            scarce: ask.left.iter().map(|pieces| *pieces < all).collect(),
            picks: Vec::new(),
            best: None,
            known: HashMap::new(),
            steps: 0,
            proved,
        })
    }

    /// The best, with at most so many devices in all, and whether that (or that there is none) is proved.
    pub fn solve(mut self, most_in_all: usize) -> (Option<Shared>, bool) {
        let fewest: usize = self.stretches.iter().map(|stretch| stretch.fewest).sum();
        let spare: usize = self.stretches.iter().map(|stretch| stretch.most - stretch.fewest).sum();
        for more in 0..=spare {
            if fewest + more > most_in_all {
                break;
            }
            for index in 0..self.stretches.len() {
                self.deepen(index, more);
            }
            self.known.clear();
            let rest = self.rest(more);
            self.go(0, more, 0, &rest);
            if let Some((cost, founds)) = self.best.take() {
                return (Some(Shared { founds, devices: fewest + more, cost }), self.proved);
            }
        }
        (None, self.proved)
    }

    fn deepen(&mut self, index: usize, more: usize) {
        let stretch = &mut self.stretches[index];
        let n = stretch.fewest + more;
        if n > stretch.most {
            return;
        }
        let chain = stretch.chain;
        let mut levels = Vec::new();
        for product in self.products.iter().copied() {
            let wanted = Wanted { devices: n, product, done: Some(chain.done_at()), all_sizes: false };
            let table = Table::new(self.parts, chain, &mut Fitting::default(), wanted);
            let ends = table.layers[n]
                .places
                .iter()
                .enumerate()
                .filter(|(state, _)| table.ends(n, *state).is_some());
            levels.extend(ends.map(|(state, place)| {
                let cost = match self.cost {
                    Cost::Excess => chain.covered(*place) - chain.need,
                    Cost::Length => place + chain.planned * n as Ticks,
                };
                Level { cost, table: stretch.tables.len(), state, sets: None }
            }));
            stretch.tables.push(table);
        }
        levels.sort_by_key(|level| level.cost);
        stretch.levels.push(levels);
    }

    /// By stretch and devices to spare: what the stretches from here on cost at the least.
    fn rest(&self, more: usize) -> Vec<Vec<Ticks>> {
        let mut rest = vec![vec![NONE; more + 1]; self.stretches.len() + 1];
        rest[self.stretches.len()][0] = 0;
        for index in (0..self.stretches.len()).rev() {
            for spare in 0..=more {
                let levels = self.stretches[index].levels.iter().enumerate().take(spare + 1);
                let costs = levels.filter_map(|(used, levels)| {
                    let later = rest[index + 1][spare - used];
                    levels.first().filter(|_| later < NONE).map(|level| level.cost + later)
                });
                rest[index][spare] = costs.min().unwrap_or(NONE);
            }
        }
        rest
    }

    fn beat(&self) -> Ticks {
        self.best.as_ref().map_or(NONE, |(cost, _)| *cost)
    }

    fn go(&mut self, index: usize, spare: usize, spent: Ticks, rest: &[Vec<Ticks>]) {
        if spent + rest[index][spare] >= self.beat() || rest[index][spare] >= NONE {
            return;
        }
        if index == self.stretches.len() {
            self.best = Some((spent, self.picks.clone()));
            return;
        }
        let scarce = self.scarce.iter().zip(&self.left).filter(|(scarce, _)| **scarce);
        let key = (index, spare, scarce.map(|(_, left)| *left).collect::<Vec<u32>>());
        if self.known.get(&key).is_some_and(|known| self.beat().saturating_sub(spent) <= *known) {
            return;
        }
        for used in 0..=spare.min(self.stretches[index].levels.len().saturating_sub(1)) {
            let later = rest[index + 1][spare - used];
            for level in 0..self.stretches[index].levels[used].len() {
                let cost = self.stretches[index].levels[used][level].cost;
                if later >= NONE || spent + cost + later >= self.beat() {
                    break;
                }
                for found in self.sets(index, used, level).iter() {
                    self.steps += 1;
                    if self.steps > STEPS {
                        self.proved = false;
                        return;
                    }
                    if !self.take(found) {
                        continue;
                    }
                    self.picks.push(found.clone());
                    self.go(index + 1, spare - used, spent + cost, rest);
                    self.picks.pop();
                    self.give_back(&found.devices);
                }
            }
        }
        if self.steps <= STEPS {
            let beat = self.beat();
            self.known.insert(key, if beat >= NONE { NONE } else { beat - spent });
        }
    }

    /// Takes its scarce pieces from the shelf, all or none.
    fn take(&mut self, found: &Found) -> bool {
        for (taken, (item, _)) in found.devices.iter().enumerate() {
            let item = *item as usize;
            if !self.scarce[item] {
                continue;
            }
            if self.left[item] == 0 {
                self.give_back(&found.devices[..taken]);
                return false;
            }
            self.left[item] -= 1;
        }
        true
    }

    fn give_back(&mut self, devices: &[(u32, Ticks)]) {
        for (item, _) in devices.iter().filter(|(item, _)| self.scarce[*item as usize]) {
            self.left[*item as usize] += 1;
        }
    }

    /// Chains of one level, one for each set of scarce boxes.
    fn sets(&mut self, index: usize, used: usize, level: usize) -> Rc<Vec<Found>> {
        let stretch = &self.stretches[index];
        let at = &stretch.levels[used][level];
        if let Some(sets) = &at.sets {
            return sets.clone();
        }
        let table = &stretch.tables[at.table];
        let n = stretch.fewest + used;
        let full = self.parts.items.iter().map(|item| item.pieces).collect::<Vec<u32>>();
        let mut listing = Listing {
            table,
            search: Search::new(table, &full, false),
            scarce: &self.scarce,
            left: full,
            place: table.layers[n].places[at.state],
            path: Vec::new(),
            seen: HashSet::new(),
            founds: Vec::new(),
            steps: 0,
        };
        listing.search.place_at(n, listing.place);
        listing.go(n, at.state as u32, None, 0);
        let complete = listing.steps <= STEPS_OF_A_LEVEL;
        let sets = Rc::new(listing.founds);
        self.proved &= complete;
        self.stretches[index].levels[used][level].sets = Some(sets.clone());
        sets
    }
}

struct Listing<'l, 'p, 'a> {
    table: &'l Table<'p, 'a>,
    search: Search<'l, 'p, 'a>,
    scarce: &'l [bool],
    left: Vec<u32>,
    place: Ticks,
    path: Vec<(u32, Ticks)>,
    seen: HashSet<Vec<u32>>,
    founds: Vec<Found>,
    steps: usize,
}

impl Listing<'_, '_, '_> {
    fn go(&mut self, k: usize, state: u32, next: Option<usize>, spent: Ticks) {
        if k == 0 {
            let scarce = self.path.iter().map(|(item, _)| *item).filter(|item| self.scarce[*item as usize]);
            let mut scarce: Vec<u32> = scarce.collect();
            scarce.sort_unstable();
            if self.seen.insert(scarce) {
                let devices = self.path.iter().rev().copied().collect();
                self.founds.push(Found { devices, place: self.place, cost: spent, extra: None });
            }
            return;
        }
        for (_, edge) in self.search.choices(k, state, next, spent) {
            self.steps += 1;
            if self.steps > STEPS_OF_A_LEVEL {
                return;
            }
            let item = edge.item as usize;
            if self.left[item] == 0 {
                continue;
            }
            let limited = self.scarce[item];
            self.left[item] -= u32::from(limited);
            self.path.push((edge.item, self.table.layers[k - 1].places[edge.from as usize]));
            self.go(k - 1, edge.from, Some(self.table.parts.items[item].class), spent + edge.cost);
            self.path.pop();
            self.left[item] += u32::from(limited);
        }
    }
}
