//! A size of a box, and which lesions it serves.

use crate::units::{Diameter, Length};

/// Lumens and needed lengths that one box serves, in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// From the smallest to the largest, both within.
    pub lumen: [f64; 2],
    /// The first excluded, the last within.
    pub needed: [f64; 2],
}

/// One size of one product, as a candidate for the shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Size {
    /// Catalogue id of its product.
    pub product: String,
    /// The product's name.
    pub name: String,
    /// Its catalogue number (REF).
    pub reference: String,
    /// Labelled diameter, in mm.
    pub diameter: Diameter,
    /// Labelled length, in mm.
    pub length: Length,
    /// The lesions that one piece of it serves.
    pub reach: Reach,
}
