//! Product files as the importer writes them: what the database holds, and not a key more.

use super::devices::DeviceRow;
use crate::catalogue::{Pack, Platform, Product, sheet};
use crate::measure::Kind;
use crate::udi::DeviceId;
use crate::units::{Diameter, Length};
use std::collections::{BTreeMap, BTreeSet};

const HEAD: &str = "# Read from a public device database. It holds no pressures, no limits and no guides: add them from \
                    the\n# leaflet, compare every size with its box, and only then take out the line that says so.\n";

/// One product file to write.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProductFile {
    /// Without a folder: `NAME.toml`.
    pub name: String,
    /// A product file that `product::read` takes, with `verified = false`.
    pub text: String,
}

/// A device that is certain.
#[derive(Debug)]
pub(super) struct Sure {
    pub di: DeviceId,
    pub further: Vec<DeviceId>,
    pub kind: Kind,
    pub diameter: f64,
    pub length: f64,
    pub reference: String,
    pub row: DeviceRow,
    /// As the release writes the identifier, for the report.
    pub key: String,
}

/// Which product file a device goes to: maker, brand, version (empty where versions are single sizes), kind.
pub(super) type Family = (String, String, String, Kind);

/// One file a family, by name. Ids are unique among them.
pub(super) fn files(families: BTreeMap<Family, Vec<Sure>>) -> Vec<ProductFile> {
    let mut taken = BTreeSet::new();
    let file = |((maker, brand, version, kind), members): (Family, Vec<Sure>)| {
        let stem = slug(&format!("{maker} {brand} {version}"));
        let stem = if stem.starts_with(|c: char| c.is_ascii_lowercase()) { stem } else { format!("p{stem}") };
        let numbered = (2..).map(|n| format!("{stem}-{n}"));
        let id = std::iter::once(stem.clone()).chain(numbered).find(|id| !taken.contains(id))?;
        taken.insert(id.clone());
        let DeviceRow { brand, version: model, company, .. } = members.first()?.row.clone();
        let name = if version.is_empty() { brand } else { [brand, model].join(" ") };
        let text = text(id.clone(), name, company, kind, members);
        Some(ProductFile { name: format!("{id}.toml"), text })
    };
    families.into_iter().filter_map(file).collect()
}

fn text(id: String, name: String, maker: String, kind: Kind, mut members: Vec<Sure>) -> String {
    members.sort_by(|a, b| a.diameter.total_cmp(&b.diameter).then(a.length.total_cmp(&b.length)));
    let mut product = Product { id, name, maker, kind, verified: false, ..Product::blank() };
    for Sure { di, further, diameter, length, reference, .. } in members {
        let di = std::iter::once(di).chain(further).collect();
        let pack = Pack { length: Length::from_mm(length), reference, di };
        let diameter = Diameter::from_mm(diameter);
        match product.diameters.last_mut() {
            Some(platform) if platform.diameter == diameter => platform.boxes.push(pack),
            _ => product.diameters.push(Platform { diameter, boxes: vec![pack], ..Platform::blank() }),
        }
    }
    format!("{HEAD}{}", sheet::text(&product))
}

/// Lower-case letters and digits with single hyphens between runs of them.
fn slug(text: &str) -> String {
    let lower = text.to_ascii_lowercase();
    let words = lower.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join("-")
}
