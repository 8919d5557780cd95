//! Entries, boxes and calls in words.

use crate::catalogue::Piece;
use crate::fit::Verdict;
use crate::journal::{BoxRead, Fact, Fate, Finding, Overlap, Readiness, Recorded, Unused, Wanted};
use crate::units::{Diameter, Length, counted, plain};

/// `3.00 × 29`; one of the two alone where the other is missing; empty without both.
pub fn size_words(diameter: Option<Diameter>, length: Option<Length>) -> String {
    match (diameter, length) {
        (Some(diameter), Some(length)) => format!("{diameter} × {length}"),
        (Some(diameter), None) => format!("{diameter} mm"),
        (None, Some(length)) => format!("{length} mm long"),
        (None, None) => String::new(),
    }
}

/// `3.00 × 29 fell`: size and product of a call, as it was asked for.
pub fn wanted_words(wanted: &Wanted) -> String {
    let device = match (&wanted.product, wanted.kind) {
        (Some(product), _) => wanted.name.clone().unwrap_or_else(|| product.clone()),
        (None, Some(kind)) => format!("any {kind}"),
        (None, None) if wanted.reference.is_some() => String::new(),
        (None, None) => "any product".into(),
    };
    let reference = wanted.reference.as_ref().map(|reference| format!("REF {reference}")).unwrap_or_default();
    joined([size_words(wanted.diameter, wanted.length), device, reference])
}

/// `3.00 × 29 Fell`: size and name of a box, or what else is known of it.
pub fn label_words(label: &BoxRead) -> String {
    let name = match (&label.product, label.name.as_str()) {
        (Some(product), "") => product.clone(),
        (_, name) => name.to_string(),
    };
    let words = joined([size_words(label.diameter, label.length), name]);
    if !words.is_empty() {
        return words;
    }
    match (&label.reference, &label.di, &label.lot) {
        (Some(reference), ..) => format!("REF {reference}"),
        (_, Some(di), _) => format!("identifier {di}"),
        (.., Some(lot)) => format!("lot {lot}"),
        _ => "a box that was not read".into(),
    }
}

/// The verdict on a call and its reason, which often begins with the verdict's own words: `no: too short`.
pub fn verdict_words(verdict: &Recorded<Verdict>, why: Option<&str>) -> String {
    let verdict = verdict.to_string();
    let spaced = |text: &str| text.replace('-', " ");
    match why {
        Some(why) if spaced(why).starts_with(&spaced(&verdict)) => why.into(),
        Some(why) => format!("{verdict}: {why}"),
        None => verdict,
    }
}

/// The reason without "opened, not used" before it: `wrong size`.
pub fn unused_words(why: Unused) -> &'static str {
    match why {
        Unused::Dropped => "dropped or unsterile",
        Unused::WrongSize => "wrong size",
        Unused::WouldNotCross => "would not cross",
        Unused::Damaged => "damaged",
        Unused::NotNeeded => "not needed",
    }
}

/// `implanted`, or `opened, not used: wrong size`.
pub fn fate_words(fate: Fate) -> String {
    match fate {
        Fate::Implanted => "implanted".into(),
        Fate::Used => "used".into(),
        Fate::OpenedNotUsed { why } => format!("opened, not used: {}", unused_words(why)),
        Fate::LostInPatient => "lost in the patient".into(),
        Fate::NotFound => "not found".into(),
    }
}

/// What an entry says, in words.
pub fn entry_words(fact: &Fact) -> String {
    match fact {
        Fact::StockLoaded { from, pieces } => {
            format!("stock loaded from {from}: {}", counted(pieces.len(), "row"))
        }
        Fact::StockReceived { from, pieces } => format!("{} received from {from}", pieces_words(pieces)),
        Fact::StockMoved { pieces, to } => format!("{} moved to {to}", pieces_words(pieces)),
        Fact::StockCounted { shelf, pieces } => format!("{shelf} counted: {}", pieces_words(pieces)),
        Fact::StockPulled { why, pieces } => format!("{} pulled: {why}", pieces_words(pieces)),
        Fact::LotRecalled { di: Some(di), lot } => format!("lot {lot} of {di} recalled"),
        Fact::LotRecalled { di: None, lot } => format!("lot {lot} recalled"),
        Fact::PrintedSizeTyped { di, diameter, length, agrees } => format!(
            "printed size of {di} read: {}, {}",
            size_words(*diameter, Some(*length)),
            if *agrees { "as in the catalogue" } else { "NOT as in the catalogue" }
        ),
        Fact::CaseBegun => "case begun".into(),
        Fact::LesionMeasured { lesion, .. } => format!("lesion {lesion} measured"),
        Fact::Called { call, lesion, wanted, readiness, .. } => {
            let ready = if *readiness == Readiness::HaveReady { ", have it ready" } else { "" };
            format!("call {call}: {}{}{ready}", wanted_words(wanted), for_lesion(*lesion))
        }
        Fact::ReadinessChanged { call, readiness: Readiness::Asked } => format!("call {call}: asked for now"),
        Fact::ReadinessChanged { call, readiness: Readiness::HaveReady } => {
            format!("call {call}: only have it ready")
        }
        Fact::CallCancelled { call } => format!("call {call} cancelled"),
        Fact::BoxAtHand { item, call, label, finding, reason } => {
            let words = format!("box {item} at hand{}: {}", for_call(*call), label_words(label));
            with_finding(words, finding, reason.as_deref())
        }
        Fact::BoxOpened { item, call, lesion, label, finding, reason, minutes_ago } => {
            let ago = minutes_ago.map(|minutes| format!(" {minutes} min ago")).unwrap_or_default();
            let call = call.map_or(" without a call".into(), |call| for_call(Some(call)));
            let what = label_words(label);
            let words = format!("box {item} opened{ago}{call}: {what}{}", for_lesion(*lesion));
            with_finding(words, finding, reason.as_deref())
        }
        Fact::BoxPutBack { item, label, finding } => {
            with_finding(format!("box {item} put back unopened: {}", label_words(label)), finding, None)
        }
        Fact::BalloonUp { item } => format!("box {item}: balloon up"),
        Fact::BalloonDown { item, seconds } => format!("box {item}: balloon down after {seconds} s"),
        Fact::Inflated { item, inflation } => {
            let at = plain(inflation.at_atm.atm());
            let seconds = inflation.seconds.map(|s| format!(" for {s} s")).unwrap_or_default();
            format!("box {item} inflated to {at} atm{seconds}{}", for_lesion(inflation.lesion))
        }
        Fact::AreasMeasured { item, areas } => {
            let [msa, distal, proximal] =
                [areas.msa_mm2, areas.distal_mm2, areas.proximal_mm2].map(|area| plain(area.mm2()));
            let method = areas.method.label();
            format!(
                "box {item}: minimal stent area {msa} mm² by {method}, references {distal} and {proximal} mm²"
            )
        }
        Fact::OverlapPlaced { overlap } => overlap_words(overlap),
        Fact::FateGiven { item, fate, lesion } => {
            format!("box {item} {}{}", fate_words(*fate), for_lesion(*lesion))
        }
        Fact::BackOnTable { item } => format!("box {item} back on the table"),
        Fact::UsedAgain { item, lesion, call } => {
            format!("box {item} used again{}, lesion {lesion}", for_call(*call))
        }
        Fact::StruckOut { entry, why } => format!("entry {entry} struck out: {why}"),
        Fact::SignedOff { unsettled: 0, .. } => "signed, everything settled".into(),
        Fact::SignedOff { unsettled, why } => match why {
            Some(why) => format!("signed with {unsettled} unsettled: {why}"),
            None => format!("signed with {unsettled} unsettled"),
        },
        Fact::ClockWentBack { before } => format!(
            "the clock was set back: {} had been written before; the order is that of the entries",
            before.format("%Y-%m-%d %H:%M:%S")
        ),
        Fact::ClockWentAhead { before } => format!(
            "the clock went ahead: {} had been written last before",
            before.format("%Y-%m-%d %H:%M:%S")
        ),
        Fact::DateConfirmed { day, why } => format!("date confirmed, {day}: {why}"),
        Fact::HeldBack { entered } => {
            format!("saved only now; what follows was entered at {}", entered.format("%Y-%m-%d %H:%M:%S"))
        }
    }
}

/// `box 3 overlaps box 2, which lies distal, by 3 mm, measured, lesion 1`.
pub fn overlap_words(overlap: &Overlap) -> String {
    let Overlap { lesion, distal, proximal, mm, gap, how } = overlap;
    let lie = match (gap, mm.mm() > 0.0) {
        (true, _) => format!("lies proximal to box {distal} with a gap of {mm} mm"),
        (false, true) => format!("overlaps box {distal}, which lies distal, by {mm} mm"),
        (false, false) => format!("meets box {distal}, which lies distal, edge to edge"),
    };
    format!("box {proximal} {lie}, {how}, lesion {lesion}")
}

fn pieces_words(pieces: &[Piece]) -> String {
    counted(pieces.iter().map(|piece| u64::from(piece.count)).sum::<u64>(), "piece")
}

fn for_lesion(lesion: Option<u8>) -> String {
    lesion.map(|lesion| format!(", lesion {lesion}")).unwrap_or_default()
}

fn for_call(call: Option<u32>) -> String {
    call.map(|call| format!(" for call {call}")).unwrap_or_default()
}

fn with_finding(words: String, finding: &Finding, reason: Option<&str>) -> String {
    match reason {
        Some(reason) => format!("{words} ({finding}: {reason})"),
        None if *finding == Finding::NotSaid => words,
        None => format!("{words} ({finding})"),
    }
}

fn joined<const N: usize>(parts: [String; N]) -> String {
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::{Recorded, Verdict};

    #[test]
    fn a_verdict_is_not_said_twice() {
        let verdict_words = |verdict, why| super::verdict_words(&Recorded::Known(verdict), why);
        assert_eq!(verdict_words(Verdict::No, Some("no: too short")), "no: too short");
        let why = "fits after post-dilatation; 2.75 equally possible";
        assert_eq!(verdict_words(Verdict::FitsAfterPostDilatation, Some(why)), why);
        assert_eq!(verdict_words(Verdict::Fits, Some("part of a span")), "fits: part of a span");
        assert_eq!(verdict_words(Verdict::Unknown, None), "unknown");
    }
}
