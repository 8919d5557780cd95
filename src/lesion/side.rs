//! A side branch that leaves the lesion: how large it is, and how far from the distal landing zone.

use super::{BadInput, Measurements, Reading, SideBranch, believe};
use crate::policy::Believed;
use crate::units::{at_most, plain};

/// Both or neither is given; the place is within the lesion.
pub(super) fn check(m: &Measurements, believed: &Believed, bad: &mut Vec<BadInput>) -> Option<SideBranch> {
    let (reading, at) = match (m.branch_lumen, m.branch_at) {
        (None, None) => return None,
        (Some(reading), Some(at)) => (reading, at),
        (Some(reading), None) => {
            let message =
                "branch-at is not given: how far the side branch leaves from the distal landing zone, in mm";
            bad.push(BadInput::new("branch-at", reading, message.into()));
            return None;
        }
        (None, Some(at)) => {
            let message = "branch-lumen is not given: the side branch's own lumen at its ostium, in mm";
            bad.push(BadInput::new("branch-lumen", at, message.into()));
            return None;
        }
    };
    bad.extend(believe::reading("branch-lumen", reading, believed));
    let inside = at.mm() > 0.0 && m.length.is_some_and(|length| at_most(at.mm(), length.mm()));
    if !inside {
        let length = m.length.map_or("the length".into(), |length| format!("{} mm", plain(length.mm())));
        let message = format!(
            "branch-at {at} is not within the lesion: above 0 and at most {length}; measure it again"
        );
        bad.push(BadInput::new("branch-at", at, message));
    }
    Some(SideBranch { lumen: Reading::diameter(reading), at })
}
