//! A room's catalogue files read: each by itself, then against each other.

use super::{Catalogue, guides, product};
use crate::intake::FileFault;

/// The name of the file of guides: it holds no product.
pub const GUIDES: &str = "guides.toml";

/// Reads a room's catalogue files, each a name and its text, in any order. `guides.toml` (whatever folder is
/// before it) holds the guides, every other file one product.
///
/// # Errors
/// Every fault of every file at once, in the order of the files as given; among them an id or an identifier
/// that two products share, which names both places.
pub fn read(files: &[(String, String)]) -> Result<Catalogue, Vec<FileFault>> {
    read_with_files(files).map(|(catalogue, _)| catalogue)
}

/// The same, and beside each product the number of its file.
///
/// # Errors
/// As [`read`].
pub fn read_with_files(files: &[(String, String)]) -> Result<(Catalogue, Vec<usize>), Vec<FileFault>> {
    let mut catalogue = Catalogue::default();
    let mut faults = Vec::new();
    let mut drafts = Vec::new();
    for (number, (file, text)) in files.iter().enumerate() {
        if file.rsplit(['/', '\\']).next() == Some(GUIDES) {
            let (guides, found) = guides::walk(file, text);
            catalogue.guides.extend(guides.into_iter().flatten());
            faults.extend(found);
        } else {
            let (draft, found) = product::draft(file, text);
            drafts.extend(draft.map(|draft| (number, draft)));
            faults.extend(found);
        }
    }
    faults.extend(product::shared(files, &drafts));
    if !faults.is_empty() {
        return Err(faults);
    }
    drafts.sort_by(|(_, a), (_, b)| a.product.id.cmp(&b.product.id));
    let (numbers, products) = drafts.into_iter().map(|(number, draft)| (number, draft.product)).unzip();
    catalogue.products = products;
    Ok((catalogue, numbers))
}
