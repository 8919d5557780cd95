//! The call: a size that was typed, the one under the cursor, or a neighbour of the last call.

use super::{Effects, Grid, State, sizes};
use crate::catalogue::Product;
use crate::fit;
use crate::journal::{Fact, Readiness, Wanted};
use crate::lesion::Measurements;
use crate::measure::Kind;
use crate::tui::keys::ACCEPT;
use crate::units::{self, Diameter, Length};

impl State {
    pub(super) fn call_here(&mut self, readiness: Readiness) -> Effects {
        if self.sizes.entry.is_empty() {
            return match self.sizes.size() {
                Some((diameter, length)) if self.sizes.cell().is_some_and(|cell| !cell.boxes.is_empty()) => {
                    let wanted = self.wanted_of_cell(diameter, length);
                    self.call(wanted, readiness)
                }
                Some((diameter, length)) => self.heed(format!("No product here has {diameter} × {length}")),
                None => {
                    let key = self.key(ACCEPT);
                    self.say(format!("Type a size (3 29) or set the cursor on one, then {key} calls it"))
                }
            };
        }
        let entry = self.sizes.entry.clone();
        match self.wanted_of_entry(&entry) {
            Ok(wanted) => {
                self.sizes.entry.clear();
                self.sizes.insisted = None;
                self.call(wanted, readiness)
            }
            Err(why) => {
                self.sizes.insisted = Some(entry);
                self.heed(why)
            }
        }
    }

    /// The product shown alone; else any product of the one kind that the cell holds.
    fn wanted_of_cell(&self, diameter: Diameter, length: Length) -> Wanted {
        let kinds: Vec<Kind> = self
            .sizes
            .cell()
            .map(|cell| cell.boxes.iter().map(|boxed| boxed.kind).collect())
            .unwrap_or_default();
        let one_kind = kinds.first().copied().filter(|first| kinds.iter().all(|kind| kind == first));
        Wanted {
            product: self.sizes.product.clone(),
            name: None,
            diameter: Some(diameter),
            length: Some(length),
            kind: one_kind,
            reference: None,
        }
    }

    /// What a typed size asks for, or why it does not say so for certain.
    fn wanted_of_entry(&self, entry: &str) -> Result<Wanted, String> {
        let (diameter, length) = units::size(entry)
            .ok_or_else(|| format!("{entry}: a size is a diameter and a length, as 3 29 or 3.0x29"))?;
        let believed = &self.world.policy.believed;
        let [thin, wide] = believed.diameter_mm;
        if !(thin..=wide).contains(&diameter.mm()) {
            return Err(format!(
                "Diameter {} mm is not believed ({thin} to {wide} mm): the diameter comes first, as 3 29",
                units::plain(diameter.mm())
            ));
        }
        let [short, long] = believed.length_mm;
        if !(short..=long).contains(&length.mm()) {
            return Err(format!("Length {length} mm is not believed ({short} to {long} mm)"));
        }
        let has = |product: &&Product| {
            product.platform(diameter).is_some_and(|platform| {
                platform.boxes.iter().any(|pack| units::same(pack.length.mm(), length.mm()))
            })
        };
        let wanted = Wanted { diameter: Some(diameter), length: Some(length), ..Wanted::default() };
        if let Some(id) = &self.sizes.product
            && self.world.catalogue.product(id).as_ref().is_some_and(has)
        {
            return Ok(Wanted { product: Some(id.clone()), ..wanted });
        }
        let mut kinds: Vec<Kind> = self.world.catalogue.products.iter().filter(has).map(|p| p.kind).collect();
        kinds.sort();
        kinds.dedup();
        let judged: Vec<Kind> =
            kinds.iter().copied().filter(|kind| self.world.policy.judged.contains(kind)).collect();
        match (judged.as_slice(), kinds.as_slice()) {
            ([kind], _) | ([], [kind]) => Ok(Wanted { kind: Some(*kind), ..wanted }),
            ([], []) if self.sizes.insisted.as_deref() == Some(entry) => Ok(wanted),
            ([], []) => Err(format!(
                "No product in the catalogue has {diameter} × {length}. {} again calls it all the same",
                self.key(ACCEPT)
            )),
            ([], several) => {
                let names: Vec<&str> = several.iter().map(|kind| kind.name()).collect();
                Err(format!(
                    "{diameter} × {length} exists as {}: choose the product with {} or {}",
                    names.join(" and as "),
                    self.key(sizes::NEXT_PRODUCT),
                    self.key(sizes::FIND)
                ))
            }
            ([_, ..], _) => Ok(wanted),
        }
    }

    pub(super) fn call(&mut self, mut wanted: Wanted, readiness: Readiness) -> Effects {
        let product = wanted.product.as_ref().and_then(|id| self.world.catalogue.product(id));
        wanted.name = product.map(|product| product.name.clone());
        let call = match self.world.open_case() {
            Some(_) => self.world.case.as_ref().map_or(1, |case| case.next_call_number()),
            None => 1,
        };
        let judged = self.verdict_of(&wanted);
        let fact = Fact::Called {
            call,
            lesion: Some(self.lesion),
            wanted,
            readiness,
            verdict: judged.as_ref().map(|(verdict, _)| verdict.clone()),
            why: judged.map(|(_, why)| why),
        };
        // A call begins a case while the first measures are still being typed: they are of this patient.
        let measured = self.world.open_case().is_none() && self.sizes.measured != Measurements::default();
        let mut facts = Vec::new();
        if measured {
            facts.push(Fact::LesionMeasured { lesion: self.lesion, measured: self.sizes.measured.clone() });
        }
        facts.push(fact);
        self.write(facts)
    }

    /// The verdict on the best box that would answer, and its first reason in words.
    fn verdict_of(&self, wanted: &Wanted) -> Option<(String, String)> {
        let (judgement, lesion) = (self.sizes.judgement.as_ref()?, self.sizes.lesion.as_ref()?);
        let catalogue = &self.world.catalogue;
        let answers = |size: &&fit::JudgedSize| {
            wanted.product.as_ref().is_none_or(|id| *id == size.product(catalogue).id)
                && wanted.diameter.is_none_or(|d| units::same(d.mm(), size.diameter.mm()))
                && wanted.length.is_none_or(|l| units::same(l.mm(), size.length.mm()))
        };
        let best = judgement.sizes.iter().filter(answers).min_by_key(|size| (size.verdict, size.rank))?;
        let why = best.headline(judgement, catalogue, lesion, &self.world.policy);
        Some((best.verdict.name().to_string(), why))
    }

    /// Calls a neighbour of the last call, along the sizes that its product (or the grid) has.
    pub(super) fn call_near(&mut self, wider: isize, longer: isize, words: &str) -> Effects {
        let last =
            self.world.case.as_ref().and_then(|case| case.calls.last()).map(|call| call.wanted.clone());
        let Some(wanted) = last else {
            return self.say(format!("Nothing has been called yet, so there is no {words}"));
        };
        if wider == 0 && longer == 0 {
            return self.call(wanted, Readiness::Asked);
        }
        let (Some(diameter), Some(length)) = (wanted.diameter, wanted.length) else {
            return self.say(format!("The last call has no size, so there is no {words}"));
        };
        let kinds = wanted.kind.map_or_else(|| self.kinds_shown(), |kind| vec![kind]);
        let shown = |product: &Product| match &wanted.product {
            Some(id) => product.id == *id,
            None => kinds.contains(&product.kind),
        };
        let grid = Grid::of(&self.world.catalogue, shown, None, &self.world.shelf, self.world.today());
        let next = if wider != 0 {
            let column = grid.lengths.iter().position(|l| units::same(l.mm(), length.mm()));
            beyond(&grid.diameters, |d| d.mm() - diameter.mm(), wider)
                .into_iter()
                .find(|row| {
                    column.is_some_and(|column| grid.cell(*row, column).is_some_and(|c| !c.boxes.is_empty()))
                })
                .map(|row| (grid.diameters[row], length))
        } else {
            let row = grid.diameters.iter().position(|d| units::same(d.mm(), diameter.mm()));
            beyond(&grid.lengths, |l| l.mm() - length.mm(), longer)
                .into_iter()
                .find(|column| {
                    row.is_some_and(|row| grid.cell(row, *column).is_some_and(|c| !c.boxes.is_empty()))
                })
                .map(|column| (diameter, grid.lengths[column]))
        };
        match next {
            Some((diameter, length)) => {
                let wanted = Wanted { diameter: Some(diameter), length: Some(length), ..wanted };
                self.call(wanted, Readiness::Asked)
            }
            None => self.heed(format!("There is no {words} from {diameter} × {length}")),
        }
    }
}

/// The places beyond zero, nearest first: `signed` says how far each lies up (or, for -1, down) from the start.
fn beyond<T: Copy>(values: &[T], signed: impl Fn(T) -> f64, direction: isize) -> Vec<usize> {
    let ahead = |index: &usize| signed(values[*index]) * direction as f64 > units::TOLERANCE;
    let mut places: Vec<usize> = (0..values.len()).filter(ahead).collect();
    if direction < 0 {
        places.reverse();
    }
    places
}
