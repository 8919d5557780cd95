//! What exists: products, sizes, pressure charts, guides, and the pieces on the shelf as a file gives them.
//!
//! Invariant: text in, checked values out. Knows no lesion, no label and no case; opens no file itself.

mod chart;
pub mod demo;
pub mod enrol;
mod guides;
pub mod import;
pub mod inflate;
mod keys;
mod made;
pub mod product;
mod read;
pub mod sheet;
pub mod stock;

pub use guides::standard as standard_guides;
pub use inflate::Inflate;
pub use read::{GUIDES, read, read_with_files};
pub use stock::InDate;

use crate::measure::Kind;
use crate::udi::DeviceId;
use crate::units::{Diameter, French, Inches, Length, Pressure};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use std::sync::OnceLock;

/// Everything a room's catalogue files say, checked. Products are in the order of their ids, by bytes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Catalogue {
    /// No two share an id or an identifier.
    pub products: Vec<Product>,
    /// In the order of the file; no two have the same French.
    pub guides: Vec<Guide>,
    /// Made by the first look-up.
    pub index: Index,
}

/// One family of sizes: one catalogue file.
#[derive(Debug, Clone, PartialEq)]
pub struct Product {
    /// Lower case, unique in the room: the name of its product in the journal and on the command line.
    pub id: String,
    /// As people say it.
    pub name: String,
    /// As the file names it.
    pub maker: String,
    /// Tells whether it is judged, and by what.
    pub kind: Kind,
    /// Of the platform. None where the file does not say; a stent that is verified says it.
    pub material: Option<String>,
    /// Thickness of a strut, in µm, 20 to 600.
    pub strut_um: Option<f64>,
    /// Usable length of the catheter, in cm.
    pub shaft_cm: Option<f64>,
    /// Thickness of the wire that it runs over, in inches.
    pub wire: Option<Inches>,
    /// Smallest inner diameter of a guide catheter that takes it.
    pub guide_min_id: Option<Inches>,
    /// In the policy's currency.
    pub price: Option<f64>,
    /// False: nobody has checked the file against the boxes yet.
    pub verified: bool,
    /// Rising by diameter. Empty for `Kind::Other`.
    pub diameters: Vec<Platform>,
    /// The boxes of `Kind::Other`, which have no diameter.
    pub sundries: Vec<Sundry>,
}

/// What all lengths of one labelled diameter of one product share.
#[derive(Debug, Clone, PartialEq)]
pub struct Platform {
    /// The labelled diameter.
    pub diameter: Diameter,
    /// Largest outer diameter when folded.
    pub crossing: Option<Diameter>,
    /// Stents: the largest diameter permitted after post-dilatation.
    pub expansion_limit: Option<Diameter>,
    /// None only in a product that nobody has checked against the boxes yet.
    pub pressures: Option<Pressures>,
    /// None where the file has none: then no pressure is worked out.
    pub chart: Option<Chart>,
    /// Rising by length.
    pub boxes: Vec<Pack>,
}

/// What the pack prints of its balloon's pressures: both, or neither is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pressures {
    /// At which the labelled diameter is reached.
    pub nominal: Pressure,
    /// Never to be gone past.
    pub rated_burst: Pressure,
}

/// The pressure chart of one labelled diameter, in water: rows rise strictly in both columns; a row is at
/// nominal and one at rated burst, which is the last (rows past it are dropped on load).
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// Pressure in atm, diameter in mm; at least one row.
    pub rows: Vec<(Pressure, Diameter)>,
}

/// One box: a sterile pack of one size of one product (`Box` is taken by the language).
#[derive(Debug, Clone, PartialEq)]
pub struct Pack {
    /// Labelled length, in mm.
    pub length: Length,
    /// The catalogue number (REF), as printed.
    pub reference: String,
    /// Every identifier that a label of this box may carry, further ones of the same unit among them; the
    /// first stands for the box. Empty: its label is never told to be the SAME.
    pub di: Vec<DeviceId>,
}

/// A box of `Kind::Other`.
#[derive(Debug, Clone, PartialEq)]
pub struct Sundry {
    /// In mm, where the file gives one: wires, coils.
    pub length: Option<Length>,
    /// The catalogue number (REF), as printed.
    pub reference: String,
    /// As those of a [`Pack`].
    pub di: Vec<DeviceId>,
}

/// A guide catheter: its bore is not fixed by its French.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Guide {
    /// Its outer size, 3 to 12 Fr.
    pub french: French,
    /// Its inner diameter, in inches, smaller than the outer one.
    pub inner: Inches,
}

/// One row of stock: so many physical boxes of one identifier, lot, serial and use-by date in one place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Piece {
    /// The identifier under which it was loaded or scanned; perhaps one that no product has.
    pub di: DeviceId,
    /// Empty where the label carries a serial number and no lot.
    pub lot: String,
    /// With a serial number `count` is 1 or 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// In date up to and on this day. None: the label shows none.
    pub use_by: Option<NaiveDate>,
    /// The place, as the room names it.
    pub shelf: String,
    /// Pieces; 0 keeps the place of a row that ran out.
    pub count: u32,
    /// The room's own where a file does not say.
    #[serde(default)]
    pub owner: Owner,
}

/// Whose piece it is.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Owner {
    /// Bought and paid for.
    #[default]
    Own,
    /// On consignment: paid for once it is opened.
    Consigned,
    /// And from whom.
    Borrowed(String),
}

/// The box of every identifier, by its place. A catalogue is not changed after its first look-up; a copy of it may be.
#[derive(Debug, Default)]
pub struct Index(OnceLock<HashMap<DeviceId, BoxPlace>>);

/// The product, its diameter (none for a sundry), and which box of that.
type BoxPlace = (usize, Option<usize>, usize);

impl Clone for Index {
    fn clone(&self) -> Self {
        Index::default()
    }
}

impl PartialEq for Index {
    /// What it holds follows from the products.
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// What an identifier stands for in a catalogue.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Found<'a> {
    /// A box with a labelled size.
    Sized {
        /// Whose box it is.
        product: &'a Product,
        /// Its diameter, with all that the lengths share.
        platform: &'a Platform,
        /// The box itself.
        pack: &'a Pack,
    },
    /// A wire, a guide, a coil: a box of `Kind::Other`.
    Sundry {
        /// Whose box it is.
        product: &'a Product,
        /// The box itself.
        sundry: &'a Sundry,
    },
}

impl Piece {
    /// Up to and on its use-by day. Without a use-by date it counts as in date: the read-back has eyes look
    /// for one.
    pub fn in_date(&self, today: NaiveDate) -> bool {
        self.use_by.is_none_or(|last_day| today <= last_day)
    }
}

impl Catalogue {
    /// The product of this id, compared letter by letter.
    pub fn product(&self, id: &str) -> Option<&Product> {
        self.products.iter().find(|product| product.id == id)
    }

    /// The box that carries this identifier.
    pub fn find(&self, di: &DeviceId) -> Option<Found<'_>> {
        let (product, platform, number) = *self.index.0.get_or_init(|| self.places()).get(di)?;
        let product = &self.products[product];
        Some(match platform {
            Some(platform) => {
                let platform = &product.diameters[platform];
                Found::Sized { product, platform, pack: &platform.boxes[number] }
            }
            None => Found::Sundry { product, sundry: &product.sundries[number] },
        })
    }

    fn places(&self) -> HashMap<DeviceId, BoxPlace> {
        let mut places = HashMap::new();
        for (at, product) in self.products.iter().enumerate() {
            for (number, sundry) in product.sundries.iter().enumerate() {
                places.extend(sundry.di.iter().map(|di| (di.clone(), (at, None, number))));
            }
            for (platform, boxes) in product.diameters.iter().map(|platform| &platform.boxes).enumerate() {
                for (number, pack) in boxes.iter().enumerate() {
                    places.extend(pack.di.iter().map(|di| (di.clone(), (at, Some(platform), number))));
                }
            }
        }
        places
    }

    /// The guide of this gauge, if the room lists it.
    pub fn guide(&self, french: French) -> Option<Guide> {
        self.guides.iter().copied().find(|guide| guide.french == french)
    }
}

impl Platform {
    /// None where nobody has said it.
    pub fn nominal(&self) -> Option<Pressure> {
        self.pressures.map(|pressures| pressures.nominal)
    }

    /// None where nobody has said it: then every pressure may lie past it.
    pub fn rated_burst(&self) -> Option<Pressure> {
        self.pressures.map(|pressures| pressures.rated_burst)
    }

    /// `nominal 11 · rated burst 18`.
    pub fn marks(&self) -> String {
        match self.pressures {
            Some(Pressures { nominal, rated_burst }) => {
                format!("nominal {nominal} · rated burst {rated_burst}")
            }
            None => "nominal and RATED BURST NOT KNOWN: see the pack".into(),
        }
    }
}

impl Product {
    /// So many boxes.
    pub fn count(&self) -> usize {
        self.diameters.iter().map(|platform| platform.boxes.len()).sum::<usize>() + self.sundries.len()
    }

    /// The name of its file, where it is given one.
    pub fn file(&self) -> String {
        format!("{}.toml", self.id)
    }

    /// The platform of this labelled diameter.
    pub fn platform(&self, diameter: Diameter) -> Option<&Platform> {
        self.diameters.iter().find(|platform| crate::units::same(platform.diameter.mm(), diameter.mm()))
    }
}

impl<'a> Found<'a> {
    /// Of every box of it.
    pub fn product(&self) -> &'a Product {
        match self {
            Found::Sized { product, .. } | Found::Sundry { product, .. } => product,
        }
    }

    /// The catalogue number (REF), as printed.
    pub fn reference(&self) -> &'a str {
        match self {
            Found::Sized { pack, .. } => &pack.reference,
            Found::Sundry { sundry, .. } => &sundry.reference,
        }
    }

    /// Every identifier of the box; the first stands for it.
    pub fn di(&self) -> &'a [DeviceId] {
        match self {
            Found::Sized { pack, .. } => &pack.di,
            Found::Sundry { sundry, .. } => &sundry.di,
        }
    }

    /// The labelled size; none for a sundry.
    pub fn size(&self) -> Option<(Diameter, Length)> {
        match self {
            Found::Sized { platform, pack, .. } => Some((platform.diameter, pack.length)),
            Found::Sundry { .. } => None,
        }
    }
}
