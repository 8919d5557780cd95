//! Why this size, or why not, in two lines of plain words: what decides, and where that comes from.

use super::reasons::{Reason, ReasonCode};
use super::{JudgedSize, Verdict};
use crate::catalogue::Catalogue;
use crate::lesion::Lesion;
use crate::policy::Policy;
use crate::sources::Source;

/// Two lines, each short enough for a terminal of 80 columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShortReason {
    /// What decides, in words.
    pub what: String,
    /// Where the rule that decides comes from.
    pub source: Option<Source>,
}

/// The longest line of words: 80 columns less a blank at each side.
const LONGEST: usize = 78;

impl JudgedSize {
    /// What decides the verdict. More than one thing is there where the line has room for it; the whole
    /// arithmetic is `explain`. The catalogue, lesion and policy are those that the size was judged with.
    pub fn short_reason(&self, catalogue: &Catalogue, lesion: &Lesion, policy: &Policy) -> ShortReason {
        let reasons = self.reasons(catalogue, lesion, policy);
        let deciding: Vec<&Reason> = reasons.iter().filter(|reason| decides(self.verdict, reason)).collect();
        let mut what = String::from(if self.verdict.is_fit() { "Why: " } else { "Why not: " });
        for (place, reason) in deciding.iter().enumerate() {
            let words = reason.in_words();
            let joined = if place == 0 { words } else { format!("; {words}") };
            if place == 0 || what.chars().count() + joined.chars().count() <= LONGEST {
                what.push_str(&joined);
            }
        }
        ShortReason { what, source: deciding.first().map(|reason| reason.source) }
    }
}

/// Whether this reason is one on which such a verdict rests: it leads to it, or holds what a fit is made of.
fn decides(verdict: Verdict, reason: &Reason) -> bool {
    let holds = reason.holds == Some(true);
    let makes_a_fit = match reason.code {
        ReasonCode::DiameterNextSizeDown => verdict.is_fit(),
        ReasonCode::DiameterInWindow | ReasonCode::LengthCovers => verdict == Verdict::Fits,
        _ => false,
    };
    reason.leads_to() == Some(verdict) || holds && makes_a_fit
}
