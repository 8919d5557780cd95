//! The vessel along a lesion: what was measured at its two ends, straight in between but for the step at a side branch,
//! and what a device that lies from one place to another is judged against.
//!
//! Places are in mm from the distal end of what is to be covered: the distal margin lies before what `--length`
//! measures.

use super::law::mother_of;
use super::target::below_eem;
use crate::measure::{Border, Law, Rule};
use crate::units::{Diameter, Length, TOLERANCE};

/// One border along the vessel, in mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Course {
    distal: Option<f64>,
    proximal: Option<f64>,
    /// How much of the difference between the ends the side branch explains, 0 or more.
    step: f64,
}

/// What is known of the vessel, as its measures or as they might truly be; in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// Lumen, distal and proximal.
    pub lumen: [Option<f64>; 2],
    /// EEM, distal and proximal.
    pub eem: [Option<f64>; 2],
    /// The side branch's lumen.
    pub branch_lumen: Option<f64>,
}

/// Where the vessel lies and by which rules it is read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layout {
    /// Whose border is judged.
    pub rule: Rule,
    /// What a side branch explains.
    pub law: Law,
    /// What has to be covered, in mm.
    pub length: f64,
    /// Where the side branch leaves, in mm, above 0 and below the length.
    pub branch_at: Option<f64>,
}

/// The vessel from 0 (distal) to the length that has to be covered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vessel {
    layout: Layout,
    measured: Measured,
    lumen: Course,
    eem: Course,
}

/// What a device is judged against; in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct References {
    /// Of the rule's own border, at the distal end of the device.
    pub distal: f64,
    /// The same at its proximal end; none where no proximal measure was given.
    pub proximal: Option<f64>,
    /// The lumen at its proximal end, where a proximal lumen was given.
    pub proximal_lumen: Option<f64>,
    /// What its proximal end has to reach; none: reach is not judged.
    pub target: Option<f64>,
}

impl Vessel {
    /// The vessel of these measures.
    pub fn new(layout: Layout, measured: Measured) -> Self {
        let course = |[distal, proximal]: [Option<f64>; 2]| {
            let ends = distal.zip(proximal);
            let branch = measured.branch_lumen.filter(|_| layout.branch_at.is_some());
            let explained = ends.zip(branch).and_then(|((distal, proximal), branch)| {
                Some((proximal - distal).min(mother_of(layout.law, distal, branch)? - distal))
            });
            Course { distal, proximal, step: explained.unwrap_or(0.0).max(0.0) }
        };
        Vessel { layout, measured, lumen: course(measured.lumen), eem: course(measured.eem) }
    }

    /// By which rules it is read.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// What it was made of.
    pub fn measured(&self) -> Measured {
        self.measured
    }

    /// The same vessel, had it been measured so.
    pub fn measured_as(&self, measured: Measured) -> Self {
        Vessel::new(self.layout, measured)
    }

    /// The mother vessel that the law makes of the distal lumen and the side branch's, where that is the proximal
    /// target: for the rules on the lumen, where no proximal lumen was given. None where the law has no answer.
    pub fn mother(&self) -> Option<f64> {
        if !self.target_by_law() {
            return None;
        }
        mother_of(self.layout.law, self.measured.lumen[0]?, self.measured.branch_lumen?)
    }

    /// Whether the proximal target is the law's to say.
    pub fn target_by_law(&self) -> bool {
        let Measured { lumen: [distal, proximal], branch_lumen, .. } = self.measured;
        self.layout.rule.border() == Border::Lumen
            && proximal.is_none()
            && distal.is_some()
            && branch_lumen.is_some()
    }

    fn course(&self, border: Border) -> &Course {
        match border {
            Border::Lumen => &self.lumen,
            Border::Eem => &self.eem,
        }
    }

    fn past(&self, at: f64) -> bool {
        at >= self.layout.length - TOLERANCE
    }

    /// Level where no proximal measure was given; one given at the proximal end alone counts there only.
    fn reference(&self, border: Border, at: f64, beyond: bool) -> Option<f64> {
        let course = self.course(border);
        match (course.distal, course.proximal) {
            (distal @ Some(_), Some(_)) if at <= 0.0 => distal,
            (_, proximal @ Some(_)) if self.past(at) => proximal,
            (Some(distal), Some(proximal)) => {
                let slope = (proximal - distal - course.step) / self.layout.length;
                Some(distal + slope * at + if beyond { course.step } else { 0.0 })
            }
            (distal, None) => distal,
            (None, Some(_)) => None,
        }
    }

    /// At the distal end of a device that begins here: at the side branch itself, beyond the step.
    pub fn begins(&self, border: Border, at: f64) -> Option<f64> {
        self.reference(border, at, self.layout.branch_at.is_some_and(|branch| at >= branch - TOLERANCE))
    }

    /// At the proximal end of a device that ends here: at the side branch itself, before the step. None where no
    /// proximal measure was given: a level border closes no window and is no target.
    pub fn ends(&self, border: Border, at: f64) -> Option<f64> {
        self.course(border).proximal?;
        self.reference(border, at, self.is_beyond(at))
    }

    fn is_beyond(&self, at: f64) -> bool {
        match self.layout.branch_at {
            Some(branch) => at > branch + TOLERANCE,
            // Nobody said where the branch is, only that it leaves the lesion.
            None => self.past(at),
        }
    }

    /// What a device from one place to another is judged against.
    pub fn references(&self, begins: f64, ends: f64) -> References {
        let border = self.layout.rule.border();
        let lumen = self.ends(Border::Lumen, ends);
        let target = match border {
            Border::Lumen => lumen.or_else(|| self.mother().filter(|_| self.is_beyond(ends))),
            Border::Eem => self.ends(Border::Eem, ends).map(below_eem).or(lumen),
        };
        References {
            // Every rule needs its distal measure, and `lesion::check` has seen that it is there.
            distal: self.begins(border, begins).unwrap_or(f64::NAN),
            proximal: self.ends(border, ends),
            proximal_lumen: lumen,
            target,
        }
    }

    /// The same for a device that spans the whole vessel.
    pub fn whole(&self) -> References {
        self.references(0.0, self.layout.length)
    }

    /// The most distal place from which the vessel reaches a diameter: by its EEM, or by 1.1 times its lumen where no
    /// EEM was given (@textbook-ratio). None where it never does.
    pub fn reaches(&self, diameter: Diameter) -> Option<Length> {
        let eem = self.eem.distal.is_some() || self.eem.proximal.is_some();
        let (border, share) = if eem { (Border::Eem, 1.0) } else { (Border::Lumen, 1.1) };
        let wanted = diameter.mm() / share - TOLERANCE;
        let course = self.course(border);
        let length = self.layout.length;
        let Some(distal) = course.distal else {
            return course.proximal.filter(|proximal| *proximal >= wanted).map(|_| Length::from_mm(length));
        };
        if distal >= wanted {
            return Some(Length::from_mm(0.0));
        }
        let slope = (course.proximal? - distal - course.step) / length;
        let branch = self.layout.branch_at.filter(|_| course.step > 0.0).unwrap_or(length);
        let along = |from: f64| (wanted - from) / slope;
        let place = match along(distal) {
            before if slope > 0.0 && before <= branch => before,
            _ if distal + slope * branch + course.step >= wanted => branch,
            _ if slope > 0.0 => along(distal + course.step),
            _ => return None,
        };
        (place <= length + TOLERANCE).then(|| Length::from_mm(place.min(length)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn branched(branch_lumen: Option<f64>, lumen: [Option<f64>; 2]) -> Vessel {
        let layout =
            Layout { rule: Rule::DistalLumen, law: Law::Murray, length: 20.0, branch_at: Some(10.0) };
        Vessel::new(layout, Measured { lumen, eem: [None; 2], branch_lumen })
    }

    /// Murray makes 3.0 of 2.9 and a branch of (27 - 24.389)^(1/3); of the 0.5 mm between the ends, 0.1 is the step and
    /// the other 0.4 runs straight. By hand.
    #[test]
    fn a_side_branch_explains_a_step_and_no_more() {
        let side = (3.0f64.powi(3) - 2.9f64.powi(3)).cbrt();
        let vessel = branched(Some(side), [Some(2.9), Some(3.4)]);
        let round = |mm: Option<f64>| mm.map(|mm| (mm * 1e6).round() / 1e6);
        assert_eq!(round(vessel.ends(Border::Lumen, 10.0)), Some(3.1), "ends before the step");
        assert_eq!(round(vessel.begins(Border::Lumen, 10.0)), Some(3.2), "begins beyond the step");
        assert_eq!(round(vessel.ends(Border::Lumen, 20.0)), Some(3.4));
        // A law never explains more than was measured.
        let large = branched(Some(2.9), [Some(2.9), Some(3.4)]);
        assert_eq!(round(large.ends(Border::Lumen, 10.0)), Some(2.9));
        assert_eq!(round(large.begins(Border::Lumen, 10.0)), Some(3.4));
        // Without a lumen there is no step.
        let unmeasured = branched(None, [Some(2.9), Some(3.4)]);
        assert_eq!(round(unmeasured.begins(Border::Lumen, 10.0)), Some(3.15));
    }

    /// The law's mother is the target of what ends beyond the branch, and closes no window.
    #[test]
    fn a_target_by_law_is_asked_beyond_the_branch() {
        let vessel = branched(Some(2.5), [Some(3.0), None]);
        let mother = vessel.mother().expect("a law of powers answers");
        assert_eq!(vessel.references(0.0, 10.0).target, None);
        let beyond = vessel.references(0.0, 10.1);
        assert_eq!((beyond.target, beyond.proximal), (Some(mother), None));
    }

    /// 1.1 times a lumen from 3.0 to 4.0 over 20 mm is 3.85 at 10 mm. By hand.
    #[test]
    fn the_place_from_which_the_vessel_reaches_a_diameter() {
        let vessel = branched(None, [Some(3.0), Some(4.0)]);
        let place = |mm: f64| vessel.reaches(Diameter::from_mm(mm)).map(|at| (at.mm() * 1e6).round() / 1e6);
        assert_eq!([3.2, 3.85, 4.4, 4.5].map(place), [Some(0.0), Some(10.0), Some(20.0), None]);
        let steps = branched(Some(2.9), [Some(2.9), Some(3.4)]);
        assert_eq!(steps.reaches(Diameter::from_mm(3.5)), Some(Length::from_mm(10.0)));
    }
}
