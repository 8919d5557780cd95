//! Side branches that leave the lesion: how large the first is, and how far each is from the distal end.

use super::{BadInput, Branches, Measurements, Reading, believe};
use crate::policy::Believed;
use crate::units::{Length, TOLERANCE, plain};

/// The lumen or the places alone are fine; each place is inside the lesion. `distal_margin` is added to the places.
pub(super) fn check(
    m: &Measurements,
    believed: &Believed,
    distal_margin: Length,
    bad: &mut Vec<BadInput>,
) -> Branches {
    bad.extend(m.branch_lumen.and_then(|reading| believe::reading("branch-lumen", reading, believed)));
    let places: Vec<Length> = m.branch_at.iter().chain(&m.further_branches_at).copied().collect();
    for at in &places {
        let inside = |length: Length| at.mm() > TOLERANCE && at.mm() < length.mm() - TOLERANCE;
        if !m.length.is_some_and(inside) {
            let length = m.length.map_or("the length".into(), |length| format!("{} mm", plain(length.mm())));
            let message = format!(
                "branch-at {at} is not within the lesion: above 0 and below {length}; measure it again"
            );
            bad.push(BadInput::new("branch-at", at, message));
        }
    }
    let at = places.into_iter().map(|at| Length::from_mm(distal_margin.mm() + at.mm())).collect();
    Branches { lumen: m.branch_lumen.map(Reading::diameter), at }
}
