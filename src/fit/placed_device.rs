//! Devices as they would lie along a lesion, for a drawing: places, overlaps, what stands past the need.

use super::span::Plan;
use crate::lesion::Target;
use crate::units::{Diameter, Length, TOLERANCE};

/// One device along the lesion.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedDevice {
    /// From the distal end of what is to be covered.
    pub begins: Length,
    /// Its proximal end, counted the same way.
    pub ends: Length,
    /// Labelled.
    pub diameter: Diameter,
    /// The product's name.
    pub name: String,
}

impl PlacedDevice {
    /// A single device lies from the distal end on, as it is judged; what is too long stands past the proximal end.
    pub fn single(diameter: Diameter, length: Length, name: &str) -> Self {
        PlacedDevice { begins: Length::from_mm(0.0), ends: length, diameter, name: name.to_string() }
    }

    /// The labelled length.
    pub fn length(&self) -> Length {
        Length::from_mm(self.ends.mm() - self.begins.mm())
    }
}

/// The devices of a plan, distal first. `name` gives the name of a product id.
pub fn of_plan(plan: &Plan, name: impl Fn(&str) -> String) -> Vec<PlacedDevice> {
    let laid = plan.begins_mm.iter().zip(&plan.devices).map(|(begins, device)| PlacedDevice {
        begins: Length::from_mm(*begins),
        ends: Length::from_mm(begins + device.length_mm),
        diameter: Diameter::from_mm(device.diameter_mm),
        name: name(device.product),
    });
    laid.collect()
}

/// The stretches in which two neighbours lie over each other, distal first; the devices stand distal first.
pub fn overlaps(devices: &[PlacedDevice]) -> Vec<[Length; 2]> {
    let shared = devices.windows(2).map(|pair| [pair[1].begins, pair[0].ends]);
    shared.filter(|[from, to]| to.mm() - from.mm() > TOLERANCE).collect()
}

/// What stands past the proximal end of what is to be covered; none where it ends before.
pub fn past_the_need(devices: &[PlacedDevice], target: &Target) -> Option<Length> {
    let ends = devices.iter().map(|device| device.ends.mm()).fold(f64::NEG_INFINITY, f64::max);
    let past = ends - target.length_min.mm();
    (past > TOLERANCE).then(|| Length::from_mm(past))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn laid(begins: f64, length: f64) -> PlacedDevice {
        let single = PlacedDevice::single(Diameter::from_mm(3.0), Length::from_mm(length), "Fell");
        PlacedDevice { begins: Length::from_mm(begins), ends: Length::from_mm(begins + length), ..single }
    }

    /// 38 mm from 0, 28 mm from 35: they share 35 to 38. By hand.
    #[test]
    fn neighbours_share_what_lies_between_the_one_beginning_and_the_other_ending() {
        let both = [laid(0.0, 38.0), laid(35.0, 28.0)];
        assert_eq!(overlaps(&both), [[Length::from_mm(35.0), Length::from_mm(38.0)]]);
        assert_eq!(both[1].length().mm(), 28.0);
        let end_to_end = [laid(0.0, 38.0), laid(38.0, 28.0)];
        assert!(overlaps(&end_to_end).is_empty());
    }
}
