//! What a case says of itself in words, which call a wrong box comes nearest to, and what one key takes back.

use crate::entries::*;
use boxcall::case::readback::{Context, Headline, LabelField, ReadBack, Scan, read_back};
use boxcall::case::{CallState, ItemState, label_words, wanted_words};
use boxcall::journal::{BoxRead, Certainty, Fact, Fate, Inflation, Overlap, Readiness, Unused, Wanted};
use boxcall::label::{self, Label, Settings};
use boxcall::measure::Kind;
use boxcall::shelf::Shelf;
use boxcall::units::{Length, Pressure};

fn told(fact: Fact) -> String {
    let mut journal = Journal::case();
    journal.push(fact);
    journal.fold().story.last().unwrap().words.clone()
}

fn called(readiness: Readiness, lesion: Option<u8>) -> Fact {
    Fact::Called { call: 1, lesion, wanted: wanted(None, 3.0, 29.0), readiness, verdict: None, why: None }
}

fn inflation(seconds: Option<u32>, lesion: Option<u8>) -> Inflation {
    Inflation { at_atm: Pressure::from_atm(12.5), seconds, chart_mm: None, rated_burst_atm: None, lesion }
}

/// The time line is read by people months later: every kind of entry says what happened, to which box, where.
#[test]
fn every_entry_says_what_happened() {
    let opened = |call, lesion, finding: &str, reason: Option<&str>, minutes_ago| Fact::BoxOpened {
        item: 2,
        call,
        lesion,
        label: fell(FELL_30029, 3.0, 29.0, "L1"),
        finding: finding.into(),
        reason: reason.map(String::from),
        minutes_ago,
    };
    let overlap = |mm, gap| Fact::OverlapPlaced {
        overlap: Overlap {
            lesion: 1,
            distal: 1,
            proximal: 2,
            mm: Length::from_mm(mm),
            gap,
            how: Certainty::Measured,
        },
    };
    for (fact, words) in [
        (called(Readiness::Asked, Some(2)), "call 1: 3.00 × 29 any product, lesion 2"),
        (called(Readiness::HaveReady, None), "call 1: 3.00 × 29 any product, have it ready"),
        (
            opened(Some(1), Some(1), "SAME AS CALL 1", None, None),
            "box 2 opened for call 1: 3.00 × 29 Fell, lesion 1 (SAME AS CALL 1)",
        ),
        (opened(None, None, "", None, Some(7)), "box 2 opened 7 min ago without a call: 3.00 × 29 Fell"),
        (
            opened(None, None, "DIFFERENT", Some("asked for by hand"), None),
            "box 2 opened without a call: 3.00 × 29 Fell (DIFFERENT: asked for by hand)",
        ),
        (
            Fact::Inflated { item: 2, inflation: inflation(Some(20), Some(1)) },
            "box 2 inflated to 12.5 atm for 20 s, lesion 1",
        ),
        (Fact::Inflated { item: 2, inflation: inflation(None, None) }, "box 2 inflated to 12.5 atm"),
        (
            Fact::FateGiven {
                item: 2,
                fate: Fate::OpenedNotUsed { why: Unused::WouldNotCross },
                lesion: Some(1),
            },
            "box 2 opened, not used: would not cross, lesion 1",
        ),
        (Fact::UsedAgain { item: 2, lesion: 3, call: Some(4) }, "box 2 used again for call 4, lesion 3"),
        (overlap(3.0, false), "box 2 overlaps box 1, which lies distal, by 3 mm, measured, lesion 1"),
        (overlap(0.0, false), "box 2 meets box 1, which lies distal, edge to edge, measured, lesion 1"),
        (overlap(2.0, true), "box 2 lies proximal to box 1 with a gap of 2 mm, measured, lesion 1"),
        (Fact::SignedOff { unsettled: 0, why: None }, "signed, everything settled"),
        (Fact::SignedOff { unsettled: 2, why: Some("next".into()) }, "signed with 2 unsettled: next"),
    ] {
        assert_eq!(told(fact), words);
    }
}

#[test]
fn a_call_and_a_box_are_called_by_what_is_known_of_them() {
    let any = |kind, reference: Option<&str>| Wanted {
        kind,
        reference: reference.map(String::from),
        ..Wanted::default()
    };
    assert_eq!(wanted_words(&any(None, None)), "any product");
    assert_eq!(wanted_words(&any(None, Some("FP190"))), "REF FP190");
    assert_eq!(wanted_words(&any(Some(Kind::CoveredStent), None)), "any covered stent");
    assert_eq!(wanted_words(&wanted(Some("fell"), 3.0, 29.0)), "3.00 × 29 fell");
    let known = |label: BoxRead| label_words(&label);
    assert_eq!(known(BoxRead::default()), "a box that was not read");
    assert_eq!(known(BoxRead { lot: Some("L7".into()), ..BoxRead::default() }), "lot L7");
    assert_eq!(known(BoxRead { di: Some(di(WIRE)), ..BoxRead::default() }), format!("identifier {WIRE}"));
    assert_eq!(known(BoxRead { product: Some("fell".into()), ..BoxRead::default() }), "fell");
}

#[test]
fn a_signature_that_was_struck_out_signs_nothing() {
    let mut journal = Journal::case();
    let call = journal.call(1, wanted(None, 3.0, 29.0));
    let signed = journal.push(Fact::SignedOff { unsettled: 1, why: Some("next".into()) });
    assert_eq!(journal.fold().last_undoable(), None);
    assert!(!journal.fold().is_closed(), "a call waits");
    let strike = journal.strike(signed);
    let case = journal.fold();
    assert_eq!((case.signed.is_none(), case.last_undoable().map(|(seq, _)| seq)), (true, Some(call)));
    let strikes = |seq: u64| case.story.iter().find(|line| line.seq == seq).unwrap().strikes;
    assert_eq!((strikes(strike), strikes(call)), (Some(signed), None));
    journal.push(Fact::CallCancelled { call: 1 });
    assert!(!journal.fold().is_closed(), "nobody has signed");
    journal.push(Fact::SignedOff { unsettled: 0, why: None });
    assert!(journal.fold().is_closed());
}

#[test]
fn a_box_is_at_hand_until_it_is_opened_and_keeps_when_it_came() {
    let mut journal = Journal::case();
    let came = journal.at_hand(1, None, fell(FELL_30029, 3.0, 29.0, "L1"));
    journal.open(2, None, beck());
    let at_hand =
        |journal: &Journal| journal.fold().at_hand().iter().map(|item| item.number).collect::<Vec<_>>();
    assert_eq!(at_hand(&journal), [1]);
    journal.open(1, None, BoxRead::default());
    assert_eq!(at_hand(&journal), [0u32; 0]);
    let case = journal.fold();
    assert_eq!(case.item(1).unwrap().at_hand_at, Some(Journal::at(came)));
    assert_eq!(case.item(2).unwrap().at_hand_at, None, "it never lay in the room unopened");
    assert_eq!(case.item(2).unwrap().state, ItemState::Opened);
}

/// 2.75 × 29 Fell, held against these calls.
fn held_against(calls: &[Wanted]) -> ReadBack {
    let label = label(Some(FELL_27529), Some("L1"), Some("2027-12-31"));
    judge(calls, label)
}

fn judge(calls: &[Wanted], label: Label) -> ReadBack {
    let catalogue = catalogue();
    let mut journal = Journal::case();
    for (call, wanted) in (1..).zip(calls) {
        journal.call(call, wanted.clone());
    }
    let (shelf, case) = (Shelf::fold_with(&catalogue, &journal.entries), journal.fold());
    assert!(case.calls.iter().all(|call| call.state == CallState::Waiting));
    let scan = Scan { label: Ok(label), raw: raw(), complete: true };
    read_back(
        &scan,
        &Context { catalogue: &catalogue, shelf: &shelf, case: Some(&case), today: today().into() },
    )
}

/// A wrong box is held against the call that it comes nearest to: fewest fields that differ, then the diameter, then
/// the length; in whichever order they were called.
#[test]
fn a_wrong_box_comes_nearest_to_the_call_with_the_fewest_differences() {
    let fell = |diameter, length| wanted(Some("fell"), diameter, length);
    for (near, far, why) in [
        (fell(2.75, 39.0), fell(3.0, 39.0), "the length alone against diameter and length"),
        (fell(3.0, 29.0), fell(3.0, 39.0), "the diameter alone against diameter and length"),
        (fell(3.0, 29.0), wanted(Some("beck"), 3.0, 29.0), "the diameter alone against product and diameter"),
        (wanted(Some("beck"), 2.75, 29.0), fell(3.0, 39.0), "the product alone against diameter and length"),
        (fell(3.0, 29.0), fell(4.0, 29.0), "a quarter of a millimetre against more than one"),
        (fell(3.0, 29.0), fell(2.0, 29.0), "the same on the other side"),
        (fell(2.75, 39.0), fell(2.75, 9.0), "10 mm against 20 mm"),
        (fell(2.75, 25.0), fell(2.75, 46.0), "4 mm against 17 mm"),
    ] {
        assert_eq!(held_against(&[near.clone(), far.clone()]).nearest, Some(1), "{why}");
        assert_eq!(held_against(&[far, near]).nearest, Some(2), "{why}, called later");
    }
}

#[test]
fn what_is_printed_under_the_bars_is_kept_and_nothing_is_made_up() {
    let read = label::read(b"]d201095210012752931727123110L1", &Settings::of_year(2026)).unwrap();
    let back = judge(&[], read);
    assert_eq!(back.read.printed.as_deref(), Some("(01)09521001275293(17)271231(10)L1"));
    assert_eq!(held_against(&[]).read.printed, None, "a label of which nothing is printed");
}

/// A field that only one of the two has is shown all the same; where there is nothing to compare, nothing is said.
#[test]
fn a_field_stands_beside_the_call_though_one_of_the_two_lacks_it() {
    let open = Wanted { product: Some("fell".into()), ..Wanted::default() };
    let line =
        |back: &ReadBack, field: &str| back.lines.iter().find(|line| line.field.word() == field).cloned();
    let back = held_against(&[open]);
    for (field, on_box) in [("diameter", "2.75"), ("length", "29")] {
        let line = line(&back, field).unwrap();
        assert_eq!((line.called.as_deref(), line.on_box.as_deref(), line.same), (None, Some(on_box), None));
    }
    let stranger = label(Some(STRANGER), Some("L1"), Some("2027-12-31"));
    let back = judge(&[wanted(Some("fell"), 3.0, 29.0)], stranger);
    for (field, called) in [("diameter", "3.00"), ("length", "29")] {
        let line = line(&back, field).unwrap();
        assert_eq!((line.called.as_deref(), line.on_box.as_deref(), line.same), (Some(called), None, None));
    }
}

/// "Opened, not used" is no longer true of a box that goes up or is used on a lesion: somebody has to say it anew.
#[test]
fn what_was_not_used_and_is_used_after_all_is_asked_about_again() {
    for used in [
        Fact::Inflated { item: 1, inflation: inflation(None, Some(1)) },
        Fact::UsedAgain { item: 1, lesion: 1, call: None },
    ] {
        let mut journal = Journal::case();
        journal.open(1, None, beck());
        journal.fate(1, Fate::OpenedNotUsed { why: Unused::NotNeeded });
        journal.push(used.clone());
        assert_eq!(journal.fold().item(1).unwrap().fate, None, "{used:?}");
        assert_eq!(journal.fold().totals().unsettled, 1);
        journal.fate(1, Fate::Used);
        journal.push(used);
        assert_eq!(journal.fold().totals().used, 1, "what was used stays used");
    }
}

/// One field is enough: each of these boxes is right in everything but one.
#[test]
fn a_box_that_differs_in_one_field_alone_is_different() {
    for (identifier, wanted, why) in [
        (FELL_27529, wanted(Some("fell"), 3.0, 29.0), "the diameter"),
        (FELL_30039, wanted(Some("fell"), 3.0, 29.0), "the length"),
        (FELL_30029, wanted(Some("skerry"), 3.0, 29.0), "the product"),
    ] {
        let back = judge(&[wanted], label(Some(identifier), Some("L1"), Some("2027-12-31")));
        assert_eq!((back.headline, back.matching.len()), (Headline::Different, 0), "{why} alone");
        let differ =
            back.lines.iter().filter(|line| line.same == Some(false) && line.field != LabelField::Reference);
        assert_eq!(differ.count(), 1, "{why} alone: {:?}", back.lines);
    }
    let back =
        judge(&[wanted(Some("fell"), 3.0, 29.0)], label(Some(FELL_30029), Some("L1"), Some("2027-12-31")));
    assert_eq!((back.headline, back.matching), (Headline::Same, vec![1]));
}
