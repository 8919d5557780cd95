//! Text without spaces, such as a path.

use crate::tui::paint::wrapped;

/// A text without spaces is broken where the room ends.
pub fn broken(text: &str, width: u16) -> Vec<String> {
    let width = usize::from(width.max(1));
    let mut parts = Vec::new();
    for line in wrapped(text, u16::try_from(width).unwrap_or(u16::MAX)) {
        let chars: Vec<char> = line.chars().collect();
        parts.extend(chars.chunks(width).map(|part| part.iter().collect()));
    }
    parts
}
