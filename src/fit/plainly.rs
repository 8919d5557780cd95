//! Why this size, or why not, in two lines of plain words: what decides, and where that comes from.

use super::reasons::{Bound, Code, Reason};
use super::{JudgedSize, Verdict};
use crate::catalogue::Catalogue;
use crate::lesion::Lesion;
use crate::policy::Policy;
use crate::sources::Source;
use crate::units::{Figure, at_most, plain};

/// Two lines, each short enough for a terminal of 80 columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plainly {
    /// What decides, in words.
    pub what: String,
    /// Where the rule that decides comes from.
    pub source: Option<Source>,
}

/// The longest line of words: 80 columns less a blank at each side.
const LONGEST: usize = 78;

impl JudgedSize {
    /// What decides the verdict. More than one thing stands there where the line has room for it; the whole
    /// arithmetic is `explain`. The catalogue, lesion and policy are those that the size was judged with.
    pub fn plainly(&self, catalogue: &Catalogue, lesion: &Lesion, policy: &Policy) -> Plainly {
        let reasons = self.reasons(catalogue, lesion, policy);
        let deciding: Vec<&Reason> = reasons.iter().filter(|reason| decides(self.verdict, reason)).collect();
        let mut what = String::from(if self.verdict.is_fit() { "Why: " } else { "Why not: " });
        for (place, reason) in deciding.iter().enumerate() {
            let words = words(reason);
            let joined = if place == 0 { words } else { format!("; {words}") };
            if place == 0 || what.chars().count() + joined.chars().count() <= LONGEST {
                what.push_str(&joined);
            }
        }
        Plainly { what, source: deciding.first().map(|reason| reason.source) }
    }
}

/// Whether this reason is one on which such a verdict rests.
fn decides(verdict: Verdict, reason: &Reason) -> bool {
    let fails = reason.holds == Some(false);
    match (verdict, reason.code) {
        (Verdict::No, Code::DiameterInWindow) => fails && side(reason) == Side::Above,
        (Verdict::No, code) => {
            let hard = [
                Code::LengthCovers,
                Code::LengthWithinLimit,
                Code::LimitReachesTarget,
                Code::LimitReachesWindow,
            ];
            fails && hard.contains(&code)
        }
        (Verdict::Undersized, Code::DiameterInWindow) => true,
        (Verdict::Undersized, code) => code == Code::DiameterNoneInWindow && fails,
        (Verdict::Unknown, code) => matches!(code, Code::ExpansionLimitMissing | Code::ChartMissing),
        (Verdict::FitsAfterPostDilatation, Code::BalloonReachesTarget) => fails,
        (Verdict::FitsAfterPostDilatation | Verdict::Fits, Code::DiameterNextSizeDown) => {
            reason.holds == Some(true)
        }
        (Verdict::Fits, Code::DiameterInWindow) => reason.holds == Some(true),
        (Verdict::Fits, code) => code == Code::LengthCovers,
        _ => false,
    }
}

#[derive(PartialEq)]
enum Side {
    Below,
    Inside,
    Above,
}

fn side(reason: &Reason) -> Side {
    match (reason.value, reason.bound) {
        (Some(d), Some(Bound::Pair([_, high]))) if !at_most(d, high) => Side::Above,
        (Some(d), Some(Bound::Pair([low, _]))) if !at_most(low, d) => Side::Below,
        _ => Side::Inside,
    }
}

fn words(reason: &Reason) -> String {
    let rule = reason.rule.label();
    let value = reason.value.map_or("?".to_string(), |value| format!("{:.2}", Figure(value)));
    let mm = reason.value.map_or("?".to_string(), plain);
    let (low, high) = match reason.bound {
        Some(Bound::Number(bound)) => (bound, bound),
        Some(Bound::Pair([low, high])) => (low, high),
        None => (f64::NAN, f64::NAN),
    };
    let (low, high) = (Figure(low), Figure(high));
    match (reason.code, reason.holds) {
        (Code::LengthCovers, Some(true)) => match reason.value.map(|length| length - low.0) {
            Some(spare) if spare > crate::units::TOLERANCE => {
                format!("{mm} mm covers {} mm, {} to spare", plain(low.0), plain(spare))
            }
            _ => format!("{mm} mm covers {} mm exactly", plain(low.0)),
        },
        (Code::LengthCovers, _) => format!("too short: {mm} mm, and {} mm are needed", plain(low.0)),
        (Code::LengthWithinLimit, _) => {
            format!("too long: {mm} mm, and {} mm at most were asked for", plain(low.0))
        }
        (Code::DiameterInWindow, Some(true)) => format!("{value} lies in {low:.2} to {high:.2} by {rule}"),
        (Code::DiameterInWindow, _) if side(reason) == Side::Above => {
            format!("too large: {value}, and rule {rule} allows {high:.2} at most")
        }
        (Code::DiameterInWindow, _) => {
            format!("too small: {value}, and rule {rule} asks for {low:.2} at least")
        }
        (Code::DiameterNextSizeDown, _) => format!("{value} is the next size down from {high:.2} by {rule}"),
        (Code::DiameterNoneInWindow, _) => format!("the product makes {value}"),
        (Code::LimitReachesTarget, _) => {
            format!("may be expanded to {value} at most, and the proximal end wants {low:.2}")
        }
        (Code::LimitReachesWindow, _) => {
            format!("may be expanded to {value} at most, and the distal end wants {low:.2}")
        }
        (Code::ExpansionLimitMissing, _) => {
            format!("its file lacks the expansion limit, and {low:.2} is wanted")
        }
        (Code::ChartMissing, _) => {
            format!("its file lacks the chart: whether its balloon gives {low:.2}")
        }
        (Code::BalloonReachesTarget, _) if reason.value.is_none() => {
            format!("the proximal end wants {low:.2}, past its own balloon: post-dilate it")
        }
        (Code::BalloonReachesTarget, _) => {
            format!("its balloon gives {value}, the proximal end wants {low:.2}: post-dilate it")
        }
        (Code::ReachNotJudged | Code::GuideTakesIt, _) => reason.in_words(),
    }
}
