//! What the catalogue says of the lesion in work, and the call that follows.

use super::session::{Effects, Session};
use crate::case::Item;
use crate::catalogue::{Piece, Platform};
use crate::fit::carina::Carina;
use crate::fit::{self, Verdict};
use crate::journal::{Fact, Fate, Readiness, Recorded, Wanted};
use crate::lesion::{self, Measurements};
use crate::measure::Kind;
use crate::units::{self, Decimal, shown_with};

/// More stents are in no lesion.
pub const MOST_IN: usize = 6;

impl Session {
    /// What the case knows of the lesion in work comes back into the fields and the grid. Nothing does of a case that is
    /// signed off: the next call is another patient's.
    pub fn resume_measurements(&mut self) {
        let open = self.world.case.as_ref().filter(|case| case.signed.is_none());
        let known = open.and_then(|case| case.lesions.get(&self.lesion).cloned());
        self.work.measured = known.unwrap_or_default();
        self.judge();
    }

    /// The kinds that the grid shows: the product's own, else those that the policy judges.
    pub fn kinds_shown(&self) -> Vec<Kind> {
        match self.work.product.as_ref().and_then(|id| self.world.catalogue.product(id)) {
            Some(product) => vec![product.kind],
            None => self.world.policy.judged.clone(),
        }
    }

    /// Judges the catalogue against what stands in the fields now.
    pub fn judge(&mut self) {
        let world = &self.world;
        let nothing_measured = self.work.measured == Measurements::default();
        let checked = lesion::check(&self.work.measured, &world.policy, &world.catalogue.guides);
        let (lesion, faults) = match checked {
            Ok(lesion) => (Some(lesion), Vec::new()),
            Err(_) if nothing_measured => (None, Vec::new()),
            Err(faults) => (None, faults),
        };
        let kinds: Vec<Kind> = self.kinds_shown().into_iter().filter(|kind| kind.is_stent()).collect();
        let judgement = lesion.as_ref().filter(|_| !kinds.is_empty()).map(|lesion| {
            // While the shelf is not known, nothing is ranked by it.
            let known = world.shelf.unread().is_none();
            let stock: Option<Vec<Piece>> =
                known.then(|| world.shelf.pieces().into_iter().cloned().collect());
            fit::judge(&world.catalogue, &kinds, lesion, &world.policy, stock.as_deref(), world.today())
        });
        let carina = lesion.as_ref().map(|lesion| Carina::of(lesion, &self.world.policy.believed));
        self.work.carina = match carina {
            Some(Ok(Some(carina))) => carina.in_words(),
            Some(Err(bad)) => vec![bad.message],
            _ => Vec::new(),
        };
        self.work.lesion = lesion;
        self.work.faults = faults;
        self.work.judgement = judgement;
        self.work.judged += 1;
    }

    pub fn call(&mut self, mut wanted: Wanted, readiness: Readiness) -> Effects {
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
            verdict: judged.as_ref().map(|(verdict, _)| Recorded::Known(*verdict)),
            why: judged.map(|(_, why)| why),
        };
        // A call begins a case while the first measures are still being typed: they are of this patient.
        let measured = self.world.open_case().is_none() && self.work.measured != Measurements::default();
        let mut facts = Vec::new();
        if measured {
            facts.push(Fact::LesionMeasured { lesion: self.lesion, measured: self.work.measured.clone() });
        }
        facts.push(fact);
        self.write(facts)
    }

    /// The verdict on the best box that would answer, and its first reason in words.
    fn verdict_of(&self, wanted: &Wanted) -> Option<(Verdict, String)> {
        let (judgement, lesion) = (self.work.judgement.as_ref()?, self.work.lesion.as_ref()?);
        let catalogue = &self.world.catalogue;
        let answers = |size: &&fit::JudgedSize| {
            wanted.product.as_ref().is_none_or(|id| *id == size.product(catalogue).id)
                && wanted.diameter.is_none_or(|d| units::same(d.mm(), size.diameter.mm()))
                && wanted.length.is_none_or(|l| units::same(l.mm(), size.length.mm()))
        };
        let best = judgement.sizes.iter().filter(answers).min_by_key(|size| (size.verdict, size.rank))?;
        // The journal has a decimal point, whatever the reader of this screen has.
        let why =
            shown_with(Decimal::Point, || best.headline(judgement, catalogue, lesion, &self.world.policy));
        Some((best.verdict, why))
    }

    pub fn product_name(&self, id: &str) -> String {
        self.world.catalogue.product(id).map_or(id.to_string(), |product| product.name.clone())
    }

    pub fn item(&self, number: u32) -> Option<&Item> {
        self.world.case.as_ref()?.items.iter().find(|item| item.number == number)
    }

    /// What the catalogue says of the item's labelled diameter.
    pub fn platform_of(&self, number: u32) -> Option<&Platform> {
        let label = &self.item(number)?.label;
        self.world.catalogue.product(label.product.as_ref()?)?.platform(label.diameter?)
    }

    /// The stents that are in the lesion in work: implanted there, or blown up there and not accounted for yet.
    pub fn in_already(&self) -> Vec<&Item> {
        let is_in = |item: &&Item| {
            let stent = item.label.kind.is_some_and(|kind| kind.is_stent());
            let here = match &item.fate {
                Some(kept) => kept.fate == Fate::Implanted && kept.lesion == Some(self.lesion),
                None => !item.inflations.is_empty() && item.lesions.contains(&self.lesion),
            };
            stent && here && item.label.diameter.is_some() && item.label.length.is_some()
        };
        self.world.opened().into_iter().filter(is_in).take(MOST_IN).collect()
    }
}
