//! What fits, in its order, with where it lies: what there is room for beneath the grid of a large screen.

use super::State;
use crate::fit::Verdict;
use crate::units::{Diameter, Length};

/// One box that fits.
#[derive(Debug, Clone, PartialEq)]
pub struct InOrder {
    /// Row and column of its cell.
    pub cell: (usize, usize),
    /// The letter that its cell has in the grid.
    pub letter: Option<char>,
    pub diameter: Diameter,
    pub length: Length,
    pub name: String,
    pub verdict: Verdict,
    /// Longer than needed by so much.
    pub spare: Length,
    /// Pieces in date; none while the shelf is not known.
    pub pieces: Option<u32>,
    /// Where it lies, or lay before it ran out.
    pub place: Option<String>,
    /// None where the guide's bore or what the product needs is not known.
    pub guide_ok: Option<bool>,
}

impl State {
    /// The boxes that fit, of those that the grid shows, best first; at most so many.
    pub fn in_order(&self, most: usize) -> Vec<InOrder> {
        let sizes = &self.sizes;
        let (Some(judgement), Some(lesion)) = (&sizes.judgement, &sizes.lesion) else { return Vec::new() };
        let (catalogue, shelf) = (&self.world.catalogue, &self.world.shelf);
        let known = shelf.unread().is_none();
        let ranked = judgement.ranked().into_iter();
        let shown = ranked
            .filter(|size| sizes.product.as_ref().is_none_or(|shown| *shown == size.product(catalogue).id));
        let lines = shown.take(most).filter_map(|size| {
            let cell = sizes.grid.place(size.diameter, size.length)?;
            let di = &size.pack(catalogue).di;
            Some(InOrder {
                cell,
                letter: sizes.grid.cell(cell.0, cell.1).and_then(|cell| cell.letter()),
                diameter: size.diameter,
                length: size.length,
                name: size.product(catalogue).name.clone(),
                verdict: size.verdict,
                spare: Length::from_mm(size.length.mm() - lesion.target.length_min.mm()),
                pieces: known.then(|| shelf.on_hand(di, self.world.today())),
                place: known.then(|| shelf.place(di, self.world.today()).map(String::from)).flatten(),
                guide_ok: size.guide_ok,
            })
        });
        lines.collect()
    }
}
