//! Bodies side by side in one bore: geometry of circles, and no more than that.

use crate::lesion::BadInput;
use crate::sources::{self, Source, cite};
use crate::units::{Area, Diameter, Figure, Inches, at_least, at_most, counted, same};
use serde::Serialize;

/// Outer diameters and bores outside these are slips of the finger, in mm: a wire is 0.36, an 8 Fr bore 2.3.
/// Common practice, no source; widened.
pub const BELIEVED_MM: [f64; 2] = [0.1, 5.0];

/// Printed profiles were wrong by so much or more in most models (@balloon-profiles).
const TIGHT_IN: Inches = Inches::new(0.003);

/// Stands below every answer.
const CAUTION: &str = "Geometry only: friction and bends make the real limit lower, and wires take room too. \
    Printed profiles were wrong by 0.003 in or more in 56 % of 36 models at the shoulder and 81 % at mid-balloon \
    (@balloon-profiles). A bore is read in inches from the catalogue; French says \
    the outside only.";

/// Whether bodies go through one bore together, and what they take of it. In mm and mm².
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SideBySide {
    /// Outer diameters, as given.
    pub bodies_mm: Vec<f64>,
    /// The least bore that holds them.
    pub needed_mm: f64,
    /// The inner diameter of the guide.
    pub bore_mm: f64,
    /// The bore is at least what is needed.
    pub fits: bool,
    /// It fits with less to spare than printed profiles are often wrong by (0.003 in, @balloon-profiles).
    pub tight: bool,
    /// All bodies together.
    pub bodies_mm2: f64,
    /// The bore's area.
    pub bore_mm2: f64,
    /// Where the geometry comes from.
    pub source: Source,
    /// What the arithmetic does not know.
    pub caution: String,
}

/// The least bore for one body, two bodies, or three equal ones: d, d1 + d2, d (1 + 2/√3).
///
/// # Errors
/// No body, more than three, three that are not equal (no closed form here), or one that is not believed.
pub fn needed(bodies: &[Diameter]) -> Result<Diameter, BadInput> {
    for body in bodies {
        believed("body", *body)?;
    }
    let mm: Vec<f64> = bodies.iter().map(|body| body.mm()).collect();
    match mm.as_slice() {
        [one] => Ok(Diameter::from_mm(*one)),
        [one, two] => Ok(Diameter::from_mm(one + two)),
        [one, two, three] if same(*one, *two) && same(*two, *three) => {
            Ok(Diameter::from_mm(one * (1.0 + 2.0 / 3.0_f64.sqrt())))
        }
        [_, _, _] => Err(BadInput::of_field(
            "body",
            "three bodies must be equally thick here: take the thickest for all three",
        )),
        _ => Err(BadInput::new(
            "body",
            mm.len(),
            format!("{}: give one, two or three", counted(mm.len(), "body")),
        )),
    }
}

/// Whether these bodies go through this bore side by side.
///
/// # Errors
/// As `needed`; a bore that is not believed.
pub fn side_by_side(bodies: &[Diameter], bore: Diameter) -> Result<SideBySide, BadInput> {
    let needed = needed(bodies)?;
    believed("bore", bore)?;
    Ok(SideBySide {
        bodies_mm: bodies.iter().map(|body| body.mm()).collect(),
        needed_mm: needed.mm(),
        bore_mm: bore.mm(),
        fits: at_most(needed.mm(), bore.mm()),
        tight: at_most(needed.mm(), bore.mm())
            && !at_least(bore.mm() - needed.mm(), TIGHT_IN.diameter().mm()),
        bodies_mm2: bodies.iter().map(|body| Area::of_circle(*body).mm2()).sum(),
        bore_mm2: Area::of_circle(bore).mm2(),
        source: cite!("circles"),
        caution: sources::in_words(CAUTION),
    })
}

fn believed(field: &str, value: Diameter) -> Result<(), BadInput> {
    let [least, most] = BELIEVED_MM;
    if at_least(value.mm(), least) && at_most(value.mm(), most) {
        return Ok(());
    }
    let message = format!("{field} {} is not believed: {least} to {most} mm; type it again", value.mm());
    Err(BadInput::new(field, value.mm(), message))
}

impl SideBySide {
    /// One plain line: `fits: 1.75 mm needed, 1.80 mm there`.
    pub fn in_words(&self) -> String {
        let fits = match (self.fits, self.tight) {
            (true, true) => "fits, tight",
            (true, false) => "fits",
            (false, _) => "does not fit",
        };
        format!("{fits}: {:.2} mm needed, {:.2} mm there", Figure(self.needed_mm), Figure(self.bore_mm))
    }
}
