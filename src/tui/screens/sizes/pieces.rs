//! The pieces of a size.

/// The pieces of a size as a sign that is no size; while the shelf is not known, nothing is said to be missing.
pub fn pieces(on_shelf: Option<u32>) -> String {
    match on_shelf {
        None => "?".to_string(),
        Some(0) => "–".to_string(),
        Some(pieces) => format!("×{pieces}"),
    }
}
