//! The chain itself, out of today's shelf: branch and bound from the last device back to the first.
//!
//! The bound is the table's: what is spent so far plus the least that any chain of the table needs for the rest.
//! Where no stock limit binds the bound is met at once and the first chain found is the best. Where one binds, a
//! part of the search that has been gone through is remembered with what it is known not to beat: its outcome
//! depends on the pieces used of the diameter in hand alone, since diameters only ever fall on the way back.

use super::along::Ticks;
use super::table::{Edge, NONE, ON_BRANCH, Table};
use std::collections::HashMap;

/// Steps after which the search gives up its proof, never its honesty: what it has found is then not `optimal`.
const STEPS: u64 = 4_000_000;

/// A chain that holds.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Found {
    /// In the chain's order: the item, and the place where it is put.
    pub devices: Vec<(u32, Ticks)>,
    /// Where it ends.
    pub place: Ticks,
    /// Overlaps on a side branch and the sum of |D - aim|, as the table counts them.
    pub cost: Ticks,
    /// The size of which one more piece is used than there is.
    pub extra: Option<u32>,
}

impl Found {
    /// Overlaps of the chain on a side branch, each branch counted.
    pub fn on_branch(&self) -> Ticks {
        self.cost / ON_BRANCH
    }
}

/// What the rest of a search depends on: devices to put, state, the class behind them, whether one piece more may still
/// be used, and the pieces left of what can run out.
type Rest = (u8, u32, Option<usize>, bool, Vec<u32>);

pub(super) struct Search<'t, 'p, 'a> {
    table: &'t Table<'p, 'a>,
    /// Pieces left, by item.
    left: Vec<u32>,
    /// Some size has fewer pieces than a chain may use.
    limited: bool,
    /// Whether one piece more than there is may be used once.
    extra: bool,
    extra_item: Option<u32>,
    /// By what is left to choose: no chain takes less than this.
    known: HashMap<Rest, Ticks>,
    /// How much longer than planned the overlaps are.
    stretch: Ticks,
    path: Vec<(u32, Ticks)>,
    best: Option<Found>,
    /// Only what costs less is looked for.
    cap: Ticks,
    place: Ticks,
    steps: u64,
    /// No step was left out.
    pub proved: bool,
}

impl<'t, 'p, 'a> Search<'t, 'p, 'a> {
    /// `left`: pieces by item.
    pub fn new(table: &'t Table<'p, 'a>, left: &[u32], extra: bool) -> Self {
        let most = table.layers.len() as u32;
        let limited = table.layers.iter().flat_map(|layer| layer.edges.iter().flatten());
        let limited = limited.map(|edge| left[edge.item as usize]).any(|pieces| pieces < most);
        Search {
            table,
            left: left.to_vec(),
            limited,
            extra,
            extra_item: None,
            known: HashMap::new(),
            stretch: 0,
            path: Vec::new(),
            best: None,
            cap: NONE,
            place: 0,
            steps: 0,
            proved: true,
        }
    }

    /// The chain of `n` devices that ends in this state at the least cost, below the cap, if the shelf has one.
    pub fn best(&mut self, n: usize, state: usize, cap: Ticks) -> Option<Found> {
        self.best = None;
        self.cap = cap;
        self.place_at(n, self.table.layers[n].places[state]);
        self.go(n, state as u32, None, 0);
        self.best.take()
    }

    /// Where the chain will end: the overlaps depend on it where there is a limit.
    pub(super) fn place_at(&mut self, n: usize, place: Ticks) {
        self.place = place;
        let chain = self.table.chain;
        let stretch = super::along::ticks(chain.overlap(n, self.place)) - chain.planned;
        if stretch != self.stretch && !chain.avoid.is_empty() {
            self.known.clear();
        }
        self.stretch = stretch;
    }

    fn beat(&self) -> Ticks {
        self.best.as_ref().map_or(self.cap, |best| best.cost)
    }

    /// What may be put last in a chain of `k` devices that ends in this state, with the bound of the whole; best
    /// first.
    pub(super) fn choices(
        &self,
        k: usize,
        state: u32,
        next: Option<usize>,
        spent: Ticks,
    ) -> Vec<(Ticks, Edge)> {
        let table = self.table;
        let layer = &table.layers[k];
        let chain = table.chain;
        let joined = i64::from(chain.neighbours[0].is_some());
        if next.is_some() && chain.avoided(layer.places[state as usize], k as i64 + joined, self.stretch) {
            return Vec::new();
        }
        let beat = self.beat();
        let mut choices: Vec<(Ticks, Edge)> = Vec::new();
        for edge in &layer.edges[state as usize] {
            let class = table.parts.items[edge.item as usize].class;
            let follows = next.map_or(table.may_end[class], |next| table.follows(class, next));
            if !follows || (self.left[edge.item as usize] == 0 && !self.extra) {
                continue;
            }
            let rest = table.before(k - 1, edge.from, class);
            if rest < NONE && spent + edge.cost + rest < beat {
                choices.push((spent + edge.cost + rest, *edge));
            }
        }
        choices.sort_by_key(|(bound, edge)| (*bound, std::cmp::Reverse(edge.item)));
        choices
    }

    fn go(&mut self, k: usize, state: u32, next: Option<usize>, spent: Ticks) {
        if k == 0 {
            let mut devices = self.path.clone();
            devices.reverse();
            self.best = Some(Found { devices, place: self.place, cost: spent, extra: self.extra_item });
            return;
        }
        let key = (self.limited && k > 1).then(|| self.key(k, state, next));
        if let Some(known) = key.as_ref().and_then(|key| self.known.get(key))
            && self.beat().saturating_sub(spent) <= *known
        {
            return;
        }
        for (bound, edge) in self.choices(k, state, next, spent) {
            self.steps += 1;
            if self.steps > STEPS {
                self.proved = false;
                return;
            }
            if bound >= self.beat() {
                break;
            }
            let item = edge.item as usize;
            let over = self.left[item] == 0;
            if over {
                (self.extra, self.extra_item) = (false, Some(edge.item));
            } else if self.left[item] != super::parts::ANY {
                self.left[item] -= 1;
            }
            self.path.push((edge.item, self.table.layers[k - 1].places[edge.from as usize]));
            let class = self.table.parts.items[item].class;
            self.go(k - 1, edge.from, Some(class), spent + edge.cost);
            self.path.pop();
            if over {
                (self.extra, self.extra_item) = (true, None);
            } else if self.left[item] != super::parts::ANY {
                self.left[item] += 1;
            }
        }
        if let Some(key) = key.filter(|_| self.steps <= STEPS) {
            let known = self.beat();
            self.known.insert(key, if known >= NONE { NONE } else { known - spent });
        }
    }

    /// What the rest of the search depends on: of the sizes used in the diameter in hand, those that can run out.
    fn key(&self, k: usize, state: u32, next: Option<usize>) -> Rest {
        let items = &self.table.parts.items;
        let mut used: Vec<u32> = self
            .path
            .iter()
            .filter(|(item, _)| {
                Some(items[*item as usize].class) == next && self.left[*item as usize] < k as u32
            })
            .map(|(item, _)| item * 16 + self.left[*item as usize])
            .collect();
        used.sort_unstable();
        used.dedup();
        (k as u8, state, next, self.extra, used)
    }
}
