//! The sizes on hand as a grid of diameter by length: rows diameters, columns lengths.

use crate::catalogue::{Catalogue, Product};
use crate::fit::{JudgedSize, Judgement, Place, Verdict};
use crate::measure::Kind;
use crate::shelf::Shelf;
use crate::units::{Diameter, Length, same};
use chrono::NaiveDate;
use std::collections::HashMap;

/// What the grid shows: one product, or all products of these kinds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Grid {
    pub diameters: Vec<Diameter>,
    pub lengths: Vec<Length>,
    /// Row by row; an empty cell has no boxes.
    pub cells: Vec<Vec<Cell>>,
}

/// All boxes of one size that the grid shows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Cell {
    pub boxes: Vec<CellBox>,
    /// The best verdict among them; none where nothing is judged.
    pub verdict: Option<Verdict>,
    /// The best rank among them.
    pub rank: Option<u32>,
    /// Its place among the cells of this grid that fit, from 1.
    pub order: Option<u32>,
    /// Pieces in date.
    pub pieces: u32,
}

/// One box of a cell.
#[derive(Debug, Clone, PartialEq)]
pub struct CellBox {
    pub product: String,
    pub name: String,
    pub kind: Kind,
    pub reference: String,
    pub pieces: u32,
    /// Its place in the judgement's list of sizes.
    pub judged: Option<usize>,
}

impl Grid {
    /// The boxes of the products that `shown` takes, by size. `judgement` lists the boxes judged; others are shown
    /// unjudged.
    pub fn of(
        catalogue: &Catalogue,
        shown: impl Fn(&Product) -> bool,
        judgement: Option<&Judgement>,
        shelf: &Shelf,
        today: NaiveDate,
    ) -> Self {
        let mut grid = Grid::default();
        for platform in catalogue.products.iter().filter(|p| shown(p)).flat_map(|product| &product.diameters)
        {
            insert(&mut grid.diameters, platform.diameter, |a, b| a.mm().total_cmp(&b.mm()));
            for pack in &platform.boxes {
                insert(&mut grid.lengths, pack.length, |a, b| a.mm().total_cmp(&b.mm()));
            }
        }
        grid.cells = vec![vec![Cell::default(); grid.lengths.len()]; grid.diameters.len()];
        let mut judged = HashMap::new();
        for (index, size) in judgement.iter().flat_map(|judgement| judgement.sizes.iter().enumerate()) {
            judged.insert(size.place, (index, size));
        }
        for (product_at, product) in (0..).zip(&catalogue.products).filter(|(_, product)| shown(product)) {
            for (platform_at, platform) in (0..).zip(&product.diameters) {
                for (pack_at, pack) in (0..).zip(&platform.boxes) {
                    let Some((row, column)) = grid.place(platform.diameter, pack.length) else { continue };
                    let place = Place { product: product_at, platform: platform_at, pack: pack_at };
                    let found = judged.get(&place).copied();
                    let boxed = CellBox {
                        product: product.id.clone(),
                        name: product.name.clone(),
                        kind: product.kind,
                        reference: pack.reference.clone(),
                        pieces: shelf.on_hand(&pack.di, today),
                        judged: found.map(|(index, _)| index),
                    };
                    grid.cells[row][column].add(boxed, found.map(|(_, size)| size));
                }
            }
        }
        grid.put_in_order(judgement);
        grid
    }

    /// Numbers the cells that fit by their best box, and puts the best box of each cell first.
    fn put_in_order(&mut self, judgement: Option<&Judgement>) {
        let Some(judgement) = judgement else { return };
        let key = |boxed: &CellBox| {
            let size = boxed.judged.and_then(|index| judgement.sizes.get(index));
            size.map_or((Verdict::No, u32::MAX), |size| (size.verdict, size.rank.unwrap_or(u32::MAX)))
        };
        let mut fitting: Vec<&mut Cell> = Vec::new();
        for cell in self.cells.iter_mut().flatten() {
            cell.boxes.sort_by_key(key);
            if cell.rank.is_some() {
                fitting.push(cell);
            }
        }
        fitting.sort_by_key(|cell| cell.rank);
        for (order, cell) in (1..).zip(fitting) {
            cell.order = Some(order);
        }
    }

    /// Row and column of a size.
    pub fn place(&self, diameter: Diameter, length: Length) -> Option<(usize, usize)> {
        let row = self.diameters.iter().position(|other| same(other.mm(), diameter.mm()))?;
        let column = self.lengths.iter().position(|other| same(other.mm(), length.mm()))?;
        Some((row, column))
    }

    pub fn cell(&self, row: usize, column: usize) -> Option<&Cell> {
        self.cells.get(row)?.get(column)
    }
}

/// The letters of the order. Not i, l, o and x: they are read as 1, 0 and a sign.
const ORDER: &[u8] = b"abcdefghjkmnpqrstuvwyz";

impl Cell {
    /// The order as a letter: it can be taken neither for a size nor for a count. None past the last letter.
    pub fn letter(&self) -> Option<char> {
        let place = usize::try_from(self.order?.checked_sub(1)?).ok()?;
        ORDER.get(place).map(|letter| char::from(*letter))
    }

    fn add(&mut self, boxed: CellBox, judged: Option<&JudgedSize>) {
        self.pieces += boxed.pieces;
        if let Some(size) = judged {
            self.verdict = Some(self.verdict.map_or(size.verdict, |best| best.min(size.verdict)));
            self.rank = match (self.rank, size.rank) {
                (Some(a), Some(b)) => Some(a.min(b)),
                (a, b) => a.or(b),
            };
        }
        self.boxes.push(boxed);
    }
}

fn insert<T: Copy>(sorted: &mut Vec<T>, value: T, order: impl Fn(&T, &T) -> std::cmp::Ordering) {
    if let Err(place) = sorted.binary_search_by(|other| order(other, &value)) {
        sorted.insert(place, value);
    }
}
