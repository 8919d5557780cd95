//! What `/` looks in: the boxes of the catalogue and the lots of the shelf, gone through once.

use super::world::World;
use crate::shelf::find::{Index, Lots};
use std::sync::Arc;

/// What was gone through once: the boxes of this catalogue, the lots after this entry.
#[derive(Debug, Clone, Default)]
pub struct Searchable {
    boxes: Option<(u64, Arc<Index>)>,
    lots: Option<(u64, u64, Arc<Lots>)>,
}

impl Searchable {
    /// Goes through the catalogue and the shelf, where they have changed since the last time. Done while nobody types,
    /// so that the first keystroke does not wait for it.
    pub fn renew(&mut self, world: &World) -> (Arc<Index>, Arc<Lots>) {
        let catalogue = &world.catalogue;
        let (which, seq) = (world.catalogue_version(), world.last_seq());
        let boxes = match self.boxes.take() {
            Some((of, boxes)) if of == which => boxes,
            _ => Arc::new(Index::new(catalogue)),
        };
        let lots = match self.lots.take() {
            Some((of, after, lots)) if (of, after) == (which, seq) => lots,
            _ => Arc::new(Lots::new(catalogue, &world.shelf)),
        };
        *self = Searchable { boxes: Some((which, boxes.clone())), lots: Some((which, seq, lots.clone())) };
        (boxes, lots)
    }
}
