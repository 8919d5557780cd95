//! Product files as the importer writes them: what the database holds, and not a key more.

use super::settle::{Family, ProductFile, Sure};
use crate::intake::quoted;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// One file a family, by name. Ids are unique among them.
pub(super) fn files(families: &BTreeMap<Family, Vec<Sure>>) -> Vec<ProductFile> {
    let mut taken = BTreeSet::new();
    families
        .iter()
        .filter_map(|((maker, brand, version, kind), members)| {
            let stem = slug(&format!("{maker} {brand} {version}"));
            let stem =
                if stem.starts_with(|c: char| c.is_ascii_lowercase()) { stem } else { format!("p{stem}") };
            let numbered = (2..).map(|n| format!("{stem}-{n}"));
            let id = std::iter::once(stem.clone()).chain(numbered).find(|id| !taken.contains(id))?;
            taken.insert(id.clone());
            let first = members.first()?;
            let name = if version.is_empty() {
                first.row.brand.clone()
            } else {
                format!("{} {}", first.row.brand, first.row.version)
            };
            let head = [&id, &name, &first.row.company, kind.name()];
            Some(ProductFile { name: format!("{id}.toml"), text: text(head, members) })
        })
        .collect()
}

fn text([id, name, maker, kind]: [&str; 4], members: &[Sure]) -> String {
    let mut sizes: BTreeMap<u64, Vec<&Sure>> = BTreeMap::new();
    for one in members {
        // Positive numbers stand in the order of their bits.
        sizes.entry(one.diameter.to_bits()).or_default().push(one);
    }
    let mut text = format!(
        "# Read from a public device database. It holds no pressures, no limits and no guides: add them from the\n\
         # leaflet, compare every size with its box, and only then take out the line that says so.\n\
         schema = 1\nid = {}\nname = {}\nmaker = {}\nkind = {}\nverified = false\n",
        quoted(id),
        quoted(name),
        quoted(maker),
        quoted(kind)
    );
    for (bits, mut boxes) in sizes {
        boxes.sort_by(|a, b| a.length.total_cmp(&b.length));
        // Memory takes all text.
        let _ = write!(text, "\n[[diameter]]\nmm = {}\nboxes = [\n", f64::from_bits(bits));
        for one in boxes {
            let di = std::iter::once(&one.di).chain(&one.further).map(|di| quoted(di.as_str()));
            let di = di.collect::<Vec<_>>().join(", ");
            let (length, reference) = (one.length, quoted(&one.reference));
            let _ = writeln!(text, "  {{ length_mm = {length}, ref = {reference}, di = [{di}] }},");
        }
        text.push_str("]\n");
    }
    text
}

/// Lower-case letters and digits with single hyphens between runs of them.
fn slug(text: &str) -> String {
    let mut slug = String::new();
    for c in text.chars() {
        if c.is_ascii_alphanumeric() {
            slug.push(c.to_ascii_lowercase());
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    slug.trim_end_matches('-').to_string()
}
