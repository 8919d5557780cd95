//! The best chains of one stretch: fewest devices, then least total length, then least sum of |D - aim|.

use super::along::Ticks;
use super::chain::Chain;
use super::parts::Parts;
use super::search::{Found, Search};
use super::table::{Fitting, Table, Wanted};
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

    fn wanted(&self, devices: usize, product: Option<u32>) -> Wanted {
        Wanted { devices, product, done: true, all_sizes: self.extra }
    }

    /// A limit below the need is met by nothing.
    fn hopeless(&self) -> bool {
        self.chain.room.is_some_and(|room| room < self.chain.need - super::along::SLACK)
    }

    /// The best chain of every product, those equal in devices and total length, best first; and up to `most` in
    /// all that take other boxes.
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
                let bar = best.first().map(|solved| (solved.found.devices.len(), solved.found.place));
                if bar.is_some_and(|(devices, _)| n > devices) {
                    break;
                }
                let table = Table::new(self.parts, self.chain, &mut fitting, self.wanted(n, product));
                let mut search = Search::new(&table, self.left, self.extra);
                let mut ends: Vec<(Ticks, usize)> = table.layers[n]
                    .places
                    .iter()
                    .copied()
                    .zip(0..)
                    .filter(|(_, s)| table.ends(n, *s))
                    .collect();
                ends.sort_unstable();
                let at = ends.into_iter().find_map(|(place, state)| {
                    if bar.is_some_and(|bar| (n, place) > bar) {
                        return None;
                    }
                    search.best(n, state).map(|found| (found, state))
                });
                proved &= search.proved;
                let Some((found, state)) = at else { continue };
                if bar.is_none_or(|bar| (n, found.place) < bar) {
                    best.clear();
                }
                let others = super::ties::others(&table, self.left, n, state, &found, self.extra, most);
                best.push(Solved { found, proved: true });
                best.extend(others.into_iter().map(|found| Solved { found, proved: true }));
                break;
            }
        }
        best.sort_by_key(|solved| solved.found.off);
        best.truncate(most);
        let least = best.first().map_or(0, |solved| solved.found.off);
        for solved in &mut best {
            solved.proved = proved && solved.found.off == least;
        }
        best
    }

    /// The most that a chain covers which holds everything but the need, in ticks.
    pub fn longest(&self) -> Option<Ticks> {
        let mut longest: Option<Ticks> = None;
        for product in self.products() {
            let wanted = Wanted { done: false, ..self.wanted(self.max_devices, product) };
            let table = Table::new(self.parts, self.chain, &mut Fitting::default(), wanted);
            let mut search = Search::new(&table, self.left, self.extra);
            let mut ends = Vec::new();
            for n in 1..=self.max_devices {
                let layer = table.layers[n].places.iter().copied().enumerate();
                let held =
                    layer.filter(|(state, place)| *place <= self.chain.farthest(n) && table.ends(n, *state));
                ends.extend(held.map(|(state, place)| (self.chain.covered(place), n, state)));
            }
            ends.sort_unstable_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
            let hit = ends
                .into_iter()
                .take_while(|(covered, ..)| longest.is_none_or(|longest| *covered > longest))
                .find(|(_, n, state)| search.best(*n, *state).is_some());
            longest = hit.map(|(covered, ..)| covered).or(longest);
        }
        longest
    }
}

/// The tolerance of verdicts, as a frame has it.
pub(super) const FRAME_TOLERANCE: f64 = TOLERANCE;
