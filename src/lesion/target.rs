//! What a lesion asks of a device: the window of labelled diameters, the proximal target, the length.

use crate::measure::Rule;
use crate::policy::Window;
use crate::units::{Diameter, Length};
use serde::ser::{Serialize, SerializeStruct, Serializer};

/// The proximal target by EEM: this far below the proximal EEM, in mm, as rounding down does.
pub const BELOW_PROXIMAL_EEM: f64 = 0.25;

/// The two ends of the window that one measure gives by one rule, before anything closes it; in mm.
///
/// Sources: distal EEM and mean lumen @raber-2018, smaller EEM @ilumien-iii, distal lumen @kubo-2017, reference
/// diameter @textbook-ratio.
pub fn ends(rule: Rule, window: &Window, measure: f64) -> [f64; 2] {
    let step = window.step.mm();
    match rule {
        Rule::DistalEem | Rule::SmallerEem => [measure - step, measure],
        Rule::DistalLumen | Rule::MeanLumen => [measure, measure + step],
        Rule::ReferenceDiameter => [window.ratio[0] * measure, window.ratio[1] * measure],
    }
}

/// Whether the rule asks again at the proximal end; the other two have read the proximal measure already.
pub const fn closed_by_proximal(rule: Rule) -> bool {
    matches!(rule, Rule::DistalEem | Rule::DistalLumen | Rule::ReferenceDiameter)
}

/// What is aimed at: x of the rule, from the measures that it reads.
pub fn aim(rule: Rule, distal: f64, proximal: Option<f64>) -> f64 {
    match (rule, proximal) {
        (Rule::SmallerEem, Some(proximal)) => distal.min(proximal),
        (Rule::MeanLumen, Some(proximal)) => (distal + proximal) / 2.0,
        _ => distal,
    }
}

/// What the proximal end has to reach by its EEM, in mm.
pub(crate) fn below_eem(eem: f64) -> f64 {
    eem - BELOW_PROXIMAL_EEM
}

/// Everything that `fit` asks of a lesion. Serialises to the `target` object of `fit --json`; nothing rounded.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// The rule in force.
    pub rule: Rule,
    /// The measure of the rule's own border at the distal end.
    pub distal: Diameter,
    /// The same at the proximal end, where it was given.
    pub proximal: Option<Diameter>,
    /// Labelled diameters allowed, both ends included, after the proximal measure has closed it. The upper end
    /// can come out below the lower one.
    pub window: [Diameter; 2],
    /// x of the rule.
    pub aim: Diameter,
    /// What the proximal end has to reach; none: reach is not judged.
    pub proximal_target: Option<Diameter>,
    /// As typed: the lesion's length, or landing zone to landing zone.
    pub lesion: Length,
    /// Distal, proximal.
    pub margins: [Length; 2],
    /// The lesion and its margins.
    pub length_min: Length,
    /// The longest device wanted.
    pub limit: Option<Length>,
}

impl Target {
    /// The target of one rule. `distal` and `proximal` are the measures of the rule's own border, `lumen` and
    /// `eem` the two proximal ones, whatever the rule.
    pub(crate) fn window_of(rule: Rule, window: &Window, distal: f64, proximal: Option<f64>) -> [f64; 2] {
        let [lower, mut upper] = ends(rule, window, aim(rule, distal, proximal));
        if let (true, Some(proximal)) = (closed_by_proximal(rule), proximal) {
            upper = upper.min(ends(rule, window, proximal)[1]);
        }
        [lower, upper]
    }

    /// Only a size below the window can still fit.
    pub fn window_is_empty(&self) -> bool {
        !crate::units::at_most(self.window[0].mm(), self.window[1].mm())
    }
}

impl Serialize for Target {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut target = serializer.serialize_struct("target", 10)?;
        target.serialize_field("rule", &self.rule)?;
        target.serialize_field("distal_mm", &self.distal)?;
        target.serialize_field("proximal_mm", &self.proximal)?;
        target.serialize_field("window_mm", &self.window)?;
        target.serialize_field("aim_mm", &self.aim)?;
        target.serialize_field("proximal_target_mm", &self.proximal_target)?;
        target.serialize_field("lesion_mm", &self.lesion)?;
        target.serialize_field("margins_mm", &self.margins)?;
        target.serialize_field("length_min_mm", &self.length_min)?;
        target.serialize_field("length_max_mm", &self.limit)?;
        target.end()
    }
}
