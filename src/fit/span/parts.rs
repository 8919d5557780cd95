//! What a span can be made of: every box of the kinds judged, in classes of equal labelled diameter.

use super::Device;
use super::along::{Ticks, ticks};
use crate::catalogue::{Catalogue, InDate, Piece, Product};
use crate::fit::facts::Facts;
use crate::measure::Kind;
use crate::units::{TOLERANCE, same};
use chrono::NaiveDate;
use std::ops::Range;

/// Pieces of a size that may be used any number of times.
pub(super) const ANY: u32 = u32::MAX;

/// One box of the catalogue.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part {
    pub product: u32,
    pub platform: u32,
    pub pack: u32,
    /// Place of its labelled diameter among all of them.
    pub class: usize,
    pub length: Ticks,
    pub pieces: u32,
}

/// All lengths of one labelled diameter of one product.
#[derive(Debug, Clone)]
pub(super) struct Family<'a> {
    pub product: u32,
    pub facts: Facts<'a>,
    /// Its items, rising by length.
    pub items: Range<usize>,
}

pub(super) struct Parts<'a> {
    pub catalogue: &'a Catalogue,
    /// Labelled diameters in mm, rising, each once.
    pub classes: Vec<f64>,
    pub families: Vec<Family<'a>>,
    pub items: Vec<Part>,
    /// Some size may run out.
    pub stocked: bool,
}

impl<'a> Parts<'a> {
    pub fn new(catalogue: &'a Catalogue, kinds: &[Kind], stock: Option<&[Piece]>, today: NaiveDate) -> Self {
        let judged = || catalogue.products.iter().enumerate().filter(|(_, p)| kinds.contains(&p.kind));
        let mut classes: Vec<f64> =
            judged().flat_map(|(_, p)| &p.diameters).map(|platform| platform.diameter.mm()).collect();
        classes.sort_unstable_by(f64::total_cmp);
        classes.dedup_by(|a, b| same(*a, *b));
        let class_of = |d: f64| classes.partition_point(|class| *class < d - TOLERANCE);
        let stock = stock.map(|pieces| InDate::new(pieces, today));
        let (mut families, mut items) = (Vec::new(), Vec::new());
        for (index, product) in judged() {
            for (platform_index, platform) in product.diameters.iter().enumerate() {
                let class = class_of(platform.diameter.mm());
                let from = items.len();
                items.extend(platform.boxes.iter().enumerate().map(|(pack_index, pack)| Part {
                    product: index as u32,
                    platform: platform_index as u32,
                    pack: pack_index as u32,
                    class,
                    length: ticks(pack.length.mm()),
                    pieces: stock.as_ref().map_or(ANY, |stock| stock.count(&pack.di)),
                }));
                items[from..].sort_by_key(|item| item.length);
                let facts = Facts::of(product, platform_index);
                families.push(Family { product: index as u32, facts, items: from..items.len() });
            }
        }
        Parts { catalogue, classes, families, items, stocked: stock.is_some() }
    }

    pub fn product(&self, item: &Part) -> &'a Product {
        &self.catalogue.products[item.product as usize]
    }

    /// Those that are in the list, each once, in their order.
    pub fn products(&self) -> Vec<u32> {
        let mut products: Vec<u32> = self.families.iter().map(|family| family.product).collect();
        products.dedup();
        products
    }
    /// The box of this number, as an answer shows it.
    pub fn device(&self, item: u32) -> Device<'a> {
        let item = &self.items[item as usize];
        let product = self.product(item);
        let platform = &product.diameters[item.platform as usize];
        let pack = &platform.boxes[item.pack as usize];
        Device {
            product: &product.id,
            diameter_mm: platform.diameter.mm(),
            length_mm: pack.length.mm(),
            reference: &pack.reference,
            lies: None,
        }
    }
}
