//! Which entries are struck out.

use super::{Entry, Fact};
use std::collections::BTreeSet;

/// The numbers of the entries that a later entry strikes out. A strike is never struck out itself (what was
/// struck out is written down again instead), nor is the beginning of a case: its code may already be on paper.
pub fn struck<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> BTreeSet<u64> {
    let mut standing = BTreeSet::new();
    let mut struck = BTreeSet::new();
    for entry in entries {
        match &entry.fact {
            Fact::StruckOut { entry: target, .. }
                if crate::control::holds("strikes-fall-only-on-what-stands") && standing.contains(target) =>
            {
                struck.insert(*target);
            }
            Fact::StruckOut { .. } | Fact::CaseBegun => {}
            _ => {
                standing.insert(entry.seq);
            }
        }
    }
    struck
}
