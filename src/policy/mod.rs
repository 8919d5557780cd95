//! The room's protocol: rules, margins, limits, defaults, each default with its source.
//!
//! Invariant: text in, checked values out; knows no product and no lesion; opens no file itself. Pure.

mod read;

pub use read::read;

use crate::measure::{Kind, Law, Method, Rule};
use crate::sources;
use crate::units::{Diameter, Length, number};

/// The file that `boxcall policy` prints: every default with its source beside it, and the sources in full at its
/// foot. It reads back to the default.
pub fn commented() -> String {
    let text = include_str!("commented.toml");
    let full: Vec<String> = sources::in_full(text).iter().map(|source| format!("# {source}.\n")).collect();
    format!("{}\n# The sources in full:\n{}", sources::in_words(text), full.concat())
}

/// What a room has decided for itself. `Policy::default()` is what is in the commented file.
#[derive(Debug, Clone, PartialEq)]
pub struct Policy {
    /// For prices; shown as it stands.
    pub currency: String,
    /// Kinds judged where none is named.
    pub judged: Vec<Kind>,
    /// The rule in force for each method.
    pub rule: PerMethod<Rule>,
    /// How far a measure may be off.
    pub error: PerMethod<StandardError>,
    /// Past each end of the lesion.
    pub margin: PerMethod<Length>,
    /// How wide the window of labelled diameters is.
    pub window: Window,
    /// How far neighbouring devices overlap.
    pub overlap: Overlap,
    /// Limits of a set of overlapping devices.
    pub span: Span,
    /// What comes first among the sizes that fit.
    pub rank: Rank,
    /// The law that makes a mother vessel which nobody measured.
    pub branch_law: Law,
    /// How far off a balloon may come where no chart gives the target itself.
    pub near: Diameter,
    /// Above this plaque burden, from 0 to 1, an end is no landing zone.
    pub plaque_burden: f64,
    /// Measures outside these are refused.
    pub believed: Believed,
    /// Pieces wanted on the shelf.
    pub par: Vec<Par>,
}

/// One value for each method of measuring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PerMethod<T> {
    /// By eye on the angiogram.
    pub angiography: T,
    /// Quantitative coronary angiography.
    pub qca: T,
    /// Intravascular ultrasound.
    pub ivus: T,
    /// Optical coherence tomography.
    pub oct: T,
}

impl<T: Copy> PerMethod<T> {
    /// The value of this method.
    pub const fn of(&self, method: Method) -> T {
        match method {
            Method::Angiography => self.angiography,
            Method::Qca => self.qca,
            Method::Ivus => self.ivus,
            Method::Oct => self.oct,
        }
    }
}

/// Standard errors of one measurement.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandardError {
    /// Of a diameter.
    pub diameter: Diameter,
    /// Of a length.
    pub length: Length,
}

/// How wide the window of labelled diameters is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Above the lumen, below the EEM.
    pub step: Diameter,
    /// How far below the measure the next size down may lie.
    pub next_size_down: Diameter,
    /// Of the reference diameter: least and most.
    pub ratio: [f64; 2],
}

/// Overlap of neighbouring devices.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overlap {
    /// What a plan lays down.
    pub planned: Length,
    /// Less leaves a gap.
    pub least: Length,
    /// More wastes metal.
    pub most: Length,
}

/// Limits of a set of overlapping devices.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Between the labelled diameters of neighbours; none: no limit.
    pub largest_step: Option<Diameter>,
    /// For one lesion.
    pub max_devices: usize,
    /// Whether one set may hold devices of several products.
    pub mix_products: bool,
}

/// What comes first among the sizes that fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rank {
    /// The chance, from 0 to 1, that a length covers: one at least this sure comes before those that are not.
    pub steady_at_least: f64,
    /// More excess than this comes last.
    pub long: Length,
}

/// Measures outside these are slips of the finger and refused.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Believed {
    /// Least and most.
    pub diameter_mm: [f64; 2],
    /// Least and most.
    pub length_mm: [f64; 2],
    /// Least and most.
    pub area_mm2: [f64; 2],
}

/// How many pieces of one size, or of one catalogue number, a room wants on its shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Par {
    /// As it is in the file: `3.00x29`, or a catalogue number.
    pub item: String,
    /// How many are wanted.
    pub pieces: u32,
}

impl Believed {
    /// What a room believes unless its protocol says otherwise, and what labelled sizes are held against always.
    /// Common practice, no source; wider than every published band.
    pub const DEFAULT: Believed =
        Believed { diameter_mm: [1.0, 8.0], length_mm: [1.0, 150.0], area_mm2: [0.5, 60.0] };
}

impl Par {
    /// The size, where the item is one: two numbers with an `x` (or a `×`) between them.
    pub fn size(&self) -> Option<(Diameter, Length)> {
        let (diameter, length) = self.item.split_once(['x', 'X', '×'])?;
        Some((Diameter::from_mm(number(diameter)?), Length::from_mm(number(length)?)))
    }
}

impl Default for Policy {
    fn default() -> Self {
        let error = |diameter, length| StandardError {
            diameter: Diameter::from_mm(diameter),
            length: Length::from_mm(length),
        };
        Policy {
            currency: "EUR".into(),
            judged: vec![Kind::DrugElutingStent],
            rule: PerMethod {
                angiography: Rule::ReferenceDiameter,
                qca: Rule::ReferenceDiameter,
                ivus: Rule::DistalEem,
                oct: Rule::DistalEem,
            },
            error: PerMethod {
                angiography: error(0.25, 3.0),
                qca: error(0.20, 2.0),
                ivus: error(0.10, 1.0),
                oct: error(0.06, 1.0),
            },
            margin: PerMethod {
                angiography: Length::from_mm(3.0),
                qca: Length::from_mm(3.0),
                ivus: Length::from_mm(0.0),
                oct: Length::from_mm(0.0),
            },
            window: Window {
                step: Diameter::from_mm(0.25),
                next_size_down: Diameter::from_mm(0.5),
                ratio: [1.0, 1.1],
            },
            overlap: Overlap {
                planned: Length::from_mm(3.0),
                least: Length::from_mm(2.0),
                most: Length::from_mm(5.0),
            },
            span: Span { largest_step: None, max_devices: 6, mix_products: false },
            rank: Rank { steady_at_least: 0.8, long: Length::from_mm(8.0) },
            branch_law: Law::HuoKassab,
            near: Diameter::from_mm(0.10),
            plaque_burden: 0.5,
            believed: Believed::DEFAULT,
            par: Vec::new(),
        }
    }
}
