//! The best chains of one stretch: fewest devices, then fewest overlaps on a side branch, then steady before not, then
//! least total length, then least sum of |D - aim|.

use super::along::{SLACK, Ticks};
use super::chain::Chain;
use super::parts::Parts;
use super::search::{Found, Search};
use super::table::{Fitting, NONE, ON_BRANCH, Table, Wanted};
use crate::units::TOLERANCE;

/// A chain, and whether it is proved to be the best.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Solved {
    pub found: Found,
    pub proved: bool,
}

/// What a search is given.
#[derive(Clone, Copy)]
pub(super) struct Ask<'p, 'a> {
    pub parts: &'p Parts<'a>,
    pub chain: &'p Chain,
    /// Pieces by item.
    pub left: &'p [u32],
    pub max_devices: usize,
    pub mix: bool,
    /// One piece more than there is may be used.
    pub extra: bool,
}

impl Ask<'_, '_> {
    /// The sets of products that may be mixed: each alone, or all.
    fn products(&self) -> Vec<Option<u32>> {
        if self.mix { vec![None] } else { self.parts.products().into_iter().map(Some).collect() }
    }

    fn wanted(&self, devices: usize, product: Option<u32>, done: Option<Ticks>) -> Wanted {
        Wanted { devices, product, done, all_sizes: self.extra }
    }

    /// A limit below the need is met by nothing.
    fn hopeless(&self) -> bool {
        self.chain.room.is_some_and(|room| room < self.chain.need - SLACK)
    }

    /// The best chain of every product, those of equal worth, best first; and up to `most` in all that take other
    /// boxes.
    pub fn best(&self, most: usize) -> Vec<Solved> {
        self.best_of(&self.products(), most)
    }

    /// The same of these products alone.
    pub fn best_of(&self, products: &[Option<u32>], most: usize) -> Vec<Solved> {
        if self.hopeless() {
            return Vec::new();
        }
        let mut best: Vec<Solved> = Vec::new();
        let mut proved = true;
        for product in products.iter().copied() {
            let mut fitting = Fitting::default();
            for n in 1..=self.max_devices {
                let first = best.first().map(|solved| &solved.found);
                if first.is_some_and(|first| n > first.devices.len()) {
                    break;
                }
                let wanted = self.wanted(n, product, Some(self.chain.done_at()));
                let table = Table::new(self.parts, self.chain, &mut fitting, wanted);
                let bar = first.filter(|first| first.devices.len() == n).map(|first| self.worth(first));
                let mut search = Search::new(&table, self.left, self.extra);
                let hit = self.best_end(&table, &mut search, n, bar);
                proved &= search.proved;
                let Some((found, state)) = hit else { continue };
                if bar.is_none_or(|bar| self.worth(&found) < bar) {
                    best.clear();
                }
                let others = super::ties::others(&table, self.left, n, state, &found, self.extra, most);
                best.push(Solved { found, proved: true });
                best.extend(others.into_iter().map(|found| Solved { found, proved: true }));
                break;
            }
        }
        best.sort_by_key(|solved| solved.found.cost);
        best.truncate(most);
        let least = best.first().map_or(0, |solved| solved.found.cost);
        for solved in &mut best {
            solved.proved = proved && solved.found.cost == least;
        }
        best
    }

    /// What is compared between chains of as many devices, before the sum of |D - aim|.
    fn worth(&self, found: &Found) -> Worth {
        (found.on_branch(), self.chain.is_unsteady(found.place), found.place)
    }

    /// The best chain of `n` devices over all places where one may end, and its state; none unless it is at least as
    /// good as the bar.
    fn best_end(
        &self,
        table: &Table,
        search: &mut Search,
        n: usize,
        bar: Option<Worth>,
    ) -> Option<(Found, usize)> {
        let places = table.layers[n].places.iter().copied().enumerate();
        // By what the table needs at the least for a chain that ends there, which the shelf may not have.
        let mut ends: Vec<(Worth, Ticks, usize)> = places
            .filter_map(|(state, place)| {
                let least = table.ends(n, state)?;
                Some(((least / ON_BRANCH, self.chain.is_unsteady(place), place), least, state))
            })
            .collect();
        ends.sort_unstable();
        let mut best: Option<(Found, usize)> = None;
        let mut bar = bar;
        for (worth, least, state) in ends {
            let (_, unsteady, place) = worth;
            // No end after this one can be better.
            if bar.is_some_and(|bar| worth > bar) {
                break;
            }
            // So many overlaps on a branch at the most are still better than the bar, or, beside another product's, as
            // good as it.
            let fewer = match bar {
                None => NONE / ON_BRANCH,
                Some((most, ..)) => {
                    let better = (unsteady, place) < bar.map_or((true, NONE), |bar| (bar.1, bar.2));
                    let equal = best.is_none() && bar.is_some_and(|bar| (unsteady, place) == (bar.1, bar.2));
                    most + Ticks::from(better || equal)
                }
            };
            if least >= fewer * ON_BRANCH {
                continue;
            }
            if let Some(found) = search.best(n, state, fewer * ON_BRANCH) {
                bar = Some(self.worth(&found));
                best = Some((found, state));
            }
        }
        best
    }

    /// Of the chains of `n` devices that hold everything but the need and are short of it by at most so much, the one
    /// that covers most; then as for a plan.
    pub fn nearest_short(&self, n: usize, short: Ticks) -> Option<Found> {
        let done = self.chain.done_at() - short;
        let mut best: Option<Found> = None;
        for product in self.products() {
            let wanted = self.wanted(n, product, Some(done));
            let table = Table::new(self.parts, self.chain, &mut Fitting::default(), wanted);
            let mut search = Search::new(&table, self.left, self.extra);
            let mut ends: Vec<(Ticks, usize)> = table.layers[n].places.iter().copied().zip(0..).collect();
            ends.retain(|(place, state)| *place >= done && table.ends(n, *state).is_some());
            ends.sort_unstable_by(|a, b| b.cmp(a));
            for (place, state) in ends {
                let bar = best.as_ref().map_or((Ticks::MIN, NONE), |best| (best.place, best.cost));
                if place < bar.0 {
                    break;
                }
                let cap = if place == bar.0 { bar.1 } else { NONE };
                if let Some(found) = search.best(n, state, cap) {
                    best = Some(found);
                    break;
                }
            }
        }
        best
    }

    /// The most that a chain covers which holds everything but the need, in ticks.
    pub fn longest(&self) -> Option<Ticks> {
        let mut longest: Option<Ticks> = None;
        for product in self.products() {
            let wanted = self.wanted(self.max_devices, product, None);
            let table = Table::new(self.parts, self.chain, &mut Fitting::default(), wanted);
            let mut search = Search::new(&table, self.left, self.extra);
            let mut ends = Vec::new();
            for n in 1..=self.max_devices {
                let layer = table.layers[n].places.iter().copied().enumerate();
                let held = layer.filter(|(state, place)| {
                    *place <= self.chain.farthest(n) && table.ends(n, *state).is_some()
                });
                ends.extend(held.map(|(state, place)| (self.chain.covered(place), n, state)));
            }
            ends.sort_unstable_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
            let hit = ends
                .into_iter()
                .take_while(|(covered, ..)| longest.is_none_or(|longest| *covered > longest))
                .find(|(_, n, state)| search.best(*n, *state, NONE).is_some());
            longest = hit.map(|(covered, ..)| covered).or(longest);
        }
        longest
    }
}

/// Overlaps on a side branch, whether the cover is unsteady, and where the chain ends: of as many devices, that is as
/// the total length.
type Worth = (Ticks, bool, Ticks);

/// The tolerance of verdicts, as a frame has it.
pub(super) const FRAME_TOLERANCE: f64 = TOLERANCE;
