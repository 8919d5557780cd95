//! What has to be covered beyond an ostial lesion: there is no landing zone there.

use crate::measure::Site;
use crate::units::Length;

/// What is added beyond the aorta's ostium, in mm (@ostial-practice).
const AORTAS_MM: f64 = 1.0;

/// Distal and proximal margin: the method's, but beyond an ostium the aorta's adds a little and a branch's nothing.
pub(super) fn margins(sites: &[Site], segment: Option<&str>, of_method: Length) -> [Length; 2] {
    if !sites.contains(&Site::Ostial) {
        return [of_method; 2];
    }
    let beyond = if is_aortas(sites, segment) { AORTAS_MM } else { 0.0 };
    [of_method, Length::from_mm(beyond)]
}

/// Whether an ostial lesion's ostium is the aorta's: of the right coronary artery, the left main or a graft, or where
/// no segment is named.
pub(super) fn is_aortas(sites: &[Site], segment: Option<&str>) -> bool {
    sites.contains(&Site::Graft) || matches!(segment, None | Some("1" | "5"))
}
