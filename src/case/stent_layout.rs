//! How the devices implanted in one lesion are behind each other, and how much vessel they cover.
//!
//! Plain arithmetic: lengths on the boxes, less what overlaps, plus what lies bare between them.

use super::{Case, Item, OverlapKept};
use crate::journal::{Fate, Overlap};
use crate::measure::Kind;
use crate::units::{Length, TOLERANCE, plain};

/// The stents of one lesion, in a row where it is known how each lies to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct StentLayout<'a> {
    /// The lesion in which all of them were implanted.
    pub lesion: u8,
    /// Distal first where they are known to be in a row, else in the order in which they were opened.
    pub stents: Vec<&'a Item>,
    /// What was said of two of them.
    pub overlaps: Vec<&'a OverlapKept>,
    /// From the distal edge of the first to the proximal edge of the last, in mm, or what is missing to say it.
    pub end_to_end: Result<Length, String>,
}

impl Case {
    /// Lesions in which two stents or more were implanted.
    pub fn laid(&self) -> Vec<StentLayout<'_>> {
        let mut lesions: Vec<u8> = self.items.iter().filter_map(stented).collect();
        lesions.sort_unstable();
        lesions.dedup();
        lesions.into_iter().map(|lesion| self.laid_in(lesion)).filter(|laid| laid.stents.len() > 1).collect()
    }

    /// Stents implanted in this lesion, in the order in which they were opened.
    pub fn stents_in(&self, lesion: u8) -> Vec<&Item> {
        self.opened().into_iter().filter(|item| stented(item) == Some(lesion)).collect()
    }

    /// The same case with one overlap more, or with this one in the place of what was said of the same two.
    pub fn with_overlap(&self, overlap: Overlap) -> Case {
        let mut case = self.clone();
        let (seq, at) = case.story.last().map_or((0, case.begun), |line| (line.seq, line.at));
        case.keep_overlap(OverlapKept { seq, at, overlap });
        case
    }

    /// Two boxes have one overlap: what is said later corrects what was said before, whichever lies distal.
    pub(super) fn keep_overlap(&mut self, kept: OverlapKept) {
        let two =
            |overlap: &Overlap| (overlap.distal.min(overlap.proximal), overlap.distal.max(overlap.proximal));
        self.overlaps.retain(|known| two(&known.overlap) != two(&kept.overlap));
        self.overlaps.push(kept);
    }

    fn laid_in(&self, lesion: u8) -> StentLayout<'_> {
        let stents = self.stents_in(lesion);
        let is_here = |number: u32| stents.iter().any(|item| item.number == number);
        let overlaps: Vec<&OverlapKept> = self
            .overlaps
            .iter()
            .filter(|kept| is_here(kept.overlap.distal) && is_here(kept.overlap.proximal))
            .collect();
        match row(&stents, &overlaps) {
            Ok(row) => StentLayout { lesion, end_to_end: end_to_end(&row, &overlaps), stents: row, overlaps },
            Err(why) => StentLayout { lesion, stents, overlaps, end_to_end: Err(why) },
        }
    }
}

impl StentLayout<'_> {
    /// `28 + 18 − 3 = 43 mm from end to end`, or why it can't be said.
    pub fn words(&self) -> String {
        let whole = match &self.end_to_end {
            Ok(whole) => whole,
            Err(why) => return format!("from end to end: not known, {why}"),
        };
        let lengths: Vec<String> = self
            .stents
            .iter()
            .filter_map(|item| item.label.length)
            .map(|length| length.to_string())
            .collect();
        let mut sum = lengths.join(" + ");
        let mut bare = 0.0;
        for (distal, proximal) in self.stents.iter().zip(self.stents.iter().skip(1)) {
            let Some(kept) = between(&self.overlaps, distal, proximal) else { continue };
            let sign = if kept.overlap.gap { '+' } else { '−' };
            sum.push_str(&format!(" {sign} {}", kept.overlap.mm));
            bare += if kept.overlap.gap { kept.overlap.mm.mm() } else { 0.0 };
        }
        let bare = if bare > TOLERANCE { format!(", {} mm of it bare", plain(bare)) } else { String::new() };
        format!("{sum} = {whole} mm from end to end{bare}")
    }

    /// Where each stent begins, in mm from the distal end of the first. None where the row is not known.
    pub fn begins(&self) -> Option<Vec<f64>> {
        self.end_to_end.as_ref().ok()?;
        let mut begins = vec![0.0];
        let mut at = 0.0;
        for (distal, proximal) in self.stents.iter().zip(self.stents.iter().skip(1)) {
            at += distal.label.length?.mm() - shared(&self.overlaps, distal, proximal)?;
            begins.push(at);
        }
        Some(begins)
    }
}

/// The lesion in which its device was implanted. A box of unknown kind that was implanted counts: what else would
/// it be (common practice, no source)?
fn stented(item: &Item) -> Option<u8> {
    let kept = item.fate.as_ref().filter(|kept| kept.fate == Fate::Implanted && item.is_opened())?;
    kept.lesion.filter(|_| item.label.kind.is_none_or(Kind::is_stent))
}

fn between<'a>(overlaps: &[&'a OverlapKept], distal: &Item, proximal: &Item) -> Option<&'a OverlapKept> {
    let two = (distal.number, proximal.number);
    overlaps.iter().copied().find(|kept| (kept.overlap.distal, kept.overlap.proximal) == two)
}

/// In mm: less than nothing where they do not meet.
fn shared(overlaps: &[&OverlapKept], distal: &Item, proximal: &Item) -> Option<f64> {
    let overlap = between(overlaps, distal, proximal)?.overlap;
    Some(if overlap.gap && crate::control::holds("gap-said") { -overlap.mm.mm() } else { overlap.mm.mm() })
}

/// The stents distal first, if what was said puts all of them in one row.
fn row<'a>(stents: &[&'a Item], overlaps: &[&OverlapKept]) -> Result<Vec<&'a Item>, String> {
    let after = |number: u32| overlaps.iter().filter(move |kept| kept.overlap.distal == number);
    let before = |number: u32| overlaps.iter().filter(move |kept| kept.overlap.proximal == number);
    let beside = "they do not lie in one row";
    if stents.iter().any(|item| after(item.number).count() > 1 || before(item.number).count() > 1) {
        return Err(beside.into());
    }
    if overlaps.len() >= stents.len() {
        return Err(beside.into());
    }
    if overlaps.len() + 1 < stents.len() {
        let alone = stents
            .iter()
            .skip(1)
            .find(|item| before(item.number).next().is_none() && after(item.number).next().is_none());
        return Err(match alone {
            Some(item) => format!("nobody has said how box {} lies", item.number),
            None => "nobody has said how all of them lie".into(),
        });
    }
    let mut here = stents.iter().copied().find(|item| before(item.number).next().is_none());
    let mut row = Vec::new();
    while let Some(item) = here {
        row.push(item);
        let next = after(item.number).next().map(|kept| kept.overlap.proximal);
        here = stents.iter().copied().find(|item| Some(item.number) == next);
    }
    // A ring beside a row has as many joints as one row.
    if row.len() == stents.len() { Ok(row) } else { Err(beside.into()) }
}

fn end_to_end(row: &[&Item], overlaps: &[&OverlapKept]) -> Result<Length, String> {
    let mut whole = 0.0;
    for item in row {
        let length =
            item.label.length.ok_or_else(|| format!("the length of box {} was not read", item.number))?;
        whole += length.mm();
    }
    for (distal, proximal) in row.iter().zip(row.iter().skip(1)) {
        whole -= shared(overlaps, distal, proximal).unwrap_or_default();
    }
    Ok(Length::from_mm(whole))
}
