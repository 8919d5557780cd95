//! Steadiness: how likely a verdict is to survive the error of measurement.

use super::facts::Facts;
use crate::lesion::Lesion;
use crate::policy::Policy;

pub(super) struct Steady;

impl Steady {
    pub fn new(_: &Lesion, _: &Policy) -> Self {
        Steady
    }
    pub fn by_diameter(&mut self, _: &Facts) -> f64 {
        1.0
    }
    pub fn by_length(&self, _: f64) -> f64 {
        1.0
    }
}
