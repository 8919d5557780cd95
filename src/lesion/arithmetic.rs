//! The arithmetic of vessels that is on its own. Sources: `ARE`, `LEN`, `CAL` rows of
//! `tests/data/sizing_cases.tsv`.

use crate::units::{Area, Diameter, Length};

/// A length seen at an angle out of its plane, in degrees: true = projected / cos(angle). None unless the angle
/// lies from 0 to below 90.
pub fn true_length(projected: Length, degrees_out_of_plane: f64) -> Option<Length> {
    (0.0..90.0)
        .contains(&degrees_out_of_plane)
        .then(|| Length::from_mm(projected.mm() / degrees_out_of_plane.to_radians().cos()))
}

/// Area stenosis from diameter stenosis, both in percent, for a circle: 1 − (1 − DS)².
pub fn area_stenosis(diameter_stenosis_percent: f64) -> f64 {
    let open = 1.0 - diameter_stenosis_percent / 100.0;
    100.0 * (1.0 - open * open)
}

/// Plaque burden in percent: (EEM − lumen) / EEM.
pub fn plaque_burden(eem: Area, lumen: Area) -> f64 {
    100.0 * (eem.mm2() - lumen.mm2()) / eem.mm2()
}

/// Calcium score by OCT, 0 to 4: 2 for an arc above 180 degrees, 1 for thickness above 0.5 mm, 1 for length above
/// 5 mm, all strict. Source: @fujino-2018.
pub fn calcium_score(arc_degrees: f64, thickness_mm: f64, length: Length) -> u8 {
    2 * u8::from(arc_degrees > 180.0) + u8::from(thickness_mm > 0.5) + u8::from(length.mm() > 5.0)
}

/// The diameter at a distance from the proximal end of a vessel that tapers evenly over a length; level past
/// either end.
pub fn taper(proximal: Diameter, distal: Diameter, length: Length, from_proximal: Length) -> Diameter {
    let share = (from_proximal.mm() / length.mm()).clamp(0.0, 1.0);
    Diameter::from_mm(proximal.mm() + (distal.mm() - proximal.mm()) * share)
}
