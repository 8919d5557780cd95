//! Typed texts that are longer than a line: a reason is short, a story may tell of a person.

use crate::case::Case;
use crate::journal::BoxRead;
use crate::units::counted;

/// Characters of a line (common practice, no source).
pub const LINE: usize = 80;

/// Where such a text stands, in words, without the text itself. Everything that a person can type into a record is
/// looked at: names of unknown boxes, reasons, why something was struck out, why it was signed unsettled.
pub fn long_texts(case: &Case) -> Vec<String> {
    let mut found = Vec::new();
    let mut look = |place: String, text: Option<&str>| {
        let Some(text) = text else { return };
        let count = text.chars().count();
        if crate::control::holds("long-text-named") && count > LINE || text.contains('\n') {
            found.push(format!("{place} has {}, a line has {LINE}", counted(count, "character")));
        }
    };
    for item in &case.items {
        let BoxRead { name, shelf, .. } = &item.label;
        look(format!("box {}: its name", item.number), Some(name));
        look(format!("box {}: its place", item.number), shelf.as_deref());
        look(format!("box {}: the reason", item.number), item.reason.as_deref());
    }
    for (number, measured) in &case.lesions {
        look(format!("lesion {number}: the segment"), measured.segment.as_deref());
    }
    for line in case.story.iter().filter(|line| line.strikes.is_some()) {
        look(format!("entry {}: why it was struck out", line.seq), Some(&line.words));
    }
    if let Some(signed) = &case.signed {
        look("the signature: why it was signed unsettled".into(), signed.why.as_deref());
    }
    found
}
