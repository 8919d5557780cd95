//! What a box is, as its label was read, in the answers of several commands.

use crate::journal::BoxRead;
use serde::Serialize;

/// Null, or an empty name, where it was not read.
#[derive(Debug, Serialize)]
pub(super) struct AsRead<'a> {
    pub(super) product: Option<&'a str>,
    pub(super) name: &'a str,
    pub(super) diameter_mm: Option<f64>,
    pub(super) length_mm: Option<f64>,
    #[serde(rename = "ref")]
    pub(super) reference: Option<&'a str>,
}

impl<'a> From<&'a BoxRead> for AsRead<'a> {
    fn from(label: &'a BoxRead) -> Self {
        AsRead {
            product: label.product.as_deref(),
            name: &label.name,
            diameter_mm: label.diameter.map(|diameter| diameter.mm()),
            length_mm: label.length.map(|length| length.mm()),
            reference: label.reference.as_deref(),
        }
    }
}
