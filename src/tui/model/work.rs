//! The lesion in work: what was measured of it, and what follows from that.

use crate::fit::Judgement;
use crate::fit::placed_device::PlacedDevice;
use crate::lesion::{BadInput, Lesion, Measurements};

/// What was measured of the lesion in work, and how the catalogue is judged against it.
#[derive(Debug, Clone, Default)]
pub struct Work {
    pub measured: Measurements,
    /// Why nothing is judged.
    pub faults: Vec<BadInput>,
    pub lesion: Option<Lesion>,
    pub judgement: Option<Judgement>,
    /// The step of reference at a side branch, in words.
    pub carina: Vec<String>,
    /// The product shown alone; all together where it is none.
    pub product: Option<String>,
    /// The plan that was called for the lesion in work.
    pub spanned: Option<Spanned>,
    /// How often it was judged: whoever shows the verdicts follows.
    pub judged: u64,
}

/// The plan that was called last, for the lesion that it was made for.
#[derive(Debug, Clone, PartialEq)]
pub struct Spanned {
    pub lesion: Lesion,
    pub devices: Vec<PlacedDevice>,
}
