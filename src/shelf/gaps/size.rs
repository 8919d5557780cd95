//! A size of a box, and which lesions it serves.

use crate::units::{Diameter, Length};
use serde::Serialize;

/// Lumens and needed lengths that one box serves, in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// From the smallest to the largest, both within.
    pub lumen: [f64; 2],
    /// The first excluded, the last within.
    pub needed: [f64; 2],
}

/// One size of one product, as a candidate for the shelf.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Size {
    /// Catalogue id of its product.
    pub product: String,
    /// The product's name.
    #[serde(skip)]
    pub name: String,
    /// Labelled diameter, in mm.
    #[serde(rename = "diameter_mm")]
    pub diameter: Diameter,
    /// Labelled length, in mm.
    #[serde(rename = "length_mm")]
    pub length: Length,
    /// Its catalogue number (REF).
    #[serde(rename = "ref")]
    pub reference: String,
    /// The lesions that one piece of it serves.
    #[serde(skip)]
    pub reach: Reach,
}
