//! A room's catalogue files read: each by itself, then against each other.

use super::{Catalogue, Guide, guides, product};
use crate::intake::Fault;

/// The name of the file of guides: it holds no product.
pub const GUIDES: &str = "guides.toml";

/// Reads a room's catalogue files, each a name and its text, in any order. `guides.toml` (whatever folder stands
/// before it) holds the guides, every other file one product.
///
/// # Errors
/// Every fault of every file at once, in the order of the files as given; among them an id or an identifier
/// that two products share, which names both places.
pub fn read(files: &[(String, String)]) -> Result<Catalogue, Vec<Fault>> {
    let all = |care| files.iter().map(|(file, text)| (file.clone(), read_one(file, text, care))).collect();
    join(all(Care::Quick)).or_else(|_| join(all(Care::Placed)))
}

/// How a file is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Care {
    /// As if nothing were wrong. Where something is, the places that two files share are not known.
    Quick,
    /// With the place of everything.
    Placed,
}

/// What one file gave, not yet compared with the others.
pub struct One {
    guides: Vec<Guide>,
    draft: Option<product::Draft>,
    faults: Vec<Fault>,
}

/// Reads one of a room's catalogue files: the first half of [`read`], which needs no other file.
pub fn read_one(file: &str, text: &str, care: Care) -> One {
    if file.rsplit(['/', '\\']).next() == Some(GUIDES) {
        let (guides, faults) = match guides::read(file, text) {
            Ok(guides) => (guides, Vec::new()),
            Err(found) => (Vec::new(), found),
        };
        return One { guides, draft: None, faults };
    }
    if care == Care::Quick
        && let Some(draft) = product::quick_draft(text)
    {
        return One { guides: Vec::new(), draft: Some(draft), faults: Vec::new() };
    }
    let (draft, faults) = product::draft(file, text);
    One { guides: Vec::new(), draft, faults }
}

/// Compares the files with each other: the second half of [`read`].
///
/// # Errors
/// As [`read`] has them, where the files were read with their places.
pub fn join(files: Vec<(String, One)>) -> Result<Catalogue, Vec<Fault>> {
    let mut catalogue = Catalogue::default();
    let mut faults = Vec::new();
    let mut drafts = Vec::new();
    for (file, one) in files {
        catalogue.guides.extend(one.guides);
        faults.extend(one.faults);
        drafts.extend(one.draft.map(|draft| (file, draft)));
    }
    faults.extend(product::shared(&drafts));
    if !faults.is_empty() {
        return Err(faults);
    }
    catalogue.products = drafts.into_iter().filter_map(|(_, draft)| draft.product).collect();
    catalogue.products.sort_by(|a, b| a.id.cmp(&b.id));
    Ok(catalogue)
}
