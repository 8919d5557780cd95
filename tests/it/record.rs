//! A case folded from its entries: nothing is lost, nothing panics, every box is counted once.

use crate::entries::*;
use boxcall::case::{Call, CallState, Case, ItemState, Unsettled};
use boxcall::catalogue::Catalogue;
use boxcall::journal::{BoxRead, Fact, Fate, Inflation, Readiness, Unused, Wanted};
use boxcall::lesion::Measurements;
use boxcall::measure::Kind;
use boxcall::shelf::Shelf;
use boxcall::units::Pressure;
use proptest::prelude::*;

fn stent() -> BoxRead {
    fell(FELL_30029, 3.0, 29.0, "L1")
}

fn called() -> Journal {
    let mut journal = Journal::case();
    journal.call(1, wanted(Some("fell"), 3.0, 29.0));
    journal
}

fn unused(why: Unused) -> Fate {
    Fate::OpenedNotUsed { why }
}

#[test]
fn a_whole_case_from_call_to_signature() {
    let mut journal = called();
    journal.push(Fact::LesionMeasured { lesion: 1, measured: Measurements::default() });
    journal.at_hand(1, Some(1), stent());
    assert_eq!(journal.fold().calls[0].state, CallState::AtHand { item: 1 });
    journal.open(1, Some(1), BoxRead::default());
    assert_eq!(journal.fold().calls[0].state, CallState::Opened { item: 1 });
    let inflation = Inflation {
        at_atm: Pressure::from_atm(12.0),
        seconds: Some(20),
        chart_mm: None,
        rated_burst_atm: None,
        lesion: None,
    };
    journal.push(Fact::Inflated { item: 1, inflation });
    journal.fate(1, Fate::Implanted);
    journal.open(2, None, beck());
    journal.fate(2, Fate::Used);
    journal.open(3, None, stent());
    journal.fate(3, unused(Unused::WouldNotCross));
    journal.put_back(4, stent());
    let case = journal.fold();
    assert!(case.unsettled().is_empty(), "{:?}", case.unsettled());
    let totals = case.totals();
    assert_eq!((totals.opened, totals.implanted, totals.used), (3, 1, 1));
    assert_eq!((totals.unused_in_all(), totals.put_back, totals.unsettled), (1, 1, 0));
    assert_eq!(counted(&totals), totals.opened);
    assert_eq!(case.waste().cost, 900.0);
    assert_eq!(case.item(1).unwrap().label, stent(), "the label read at hand stays");
    assert_eq!(case.item(1).unwrap().fate.as_ref().unwrap().lesion, Some(1), "the lesion of its call");
    assert_eq!((case.next_call_number(), case.next_item_number()), (2, 5));
    journal.push(Fact::SignedOff { unsettled: 0, why: None });
    let case = journal.fold();
    assert_eq!(case.signed.as_ref().unwrap().unsettled, 0);
    assert_eq!(case.last_undoable(), None, "a signed case is not undone by one key");
    assert_eq!(case.story.len(), journal.entries.len());
}

#[test]
fn entries_without_a_case_make_none() {
    let mut journal = Journal::default();
    journal.push_to(None, Fact::LotRecalled { di: None, lot: "L1".into() });
    assert_eq!(Case::fold(&journal.entries), None);
    assert_eq!(Case::fold(&[]), None);
}

#[test]
fn entries_of_another_case_are_left_alone() {
    let mut journal = called();
    journal.push_to(Some("XYW99"), Fact::CallCancelled { call: 1 });
    assert_eq!(journal.fold().waiting_calls().len(), 1);
}

#[test]
fn striking_an_opening_that_has_a_fate_leaves_the_fate_in_sight() {
    let mut journal = called();
    let opening = journal.open(1, Some(1), stent());
    let fate = journal.fate(1, Fate::Implanted);
    journal.strike(opening);
    let case = journal.fold();
    assert!(case.items.is_empty());
    assert_eq!(case.calls[0].state, CallState::Waiting);
    assert_eq!(case.totals().opened, 0);
    let loose = case.unsettled().into_iter().find(|one| matches!(one, Unsettled::Orphan { .. }));
    assert!(matches!(&loose, Some(Unsettled::Orphan { entry, .. }) if *entry == fate), "{loose:?}");
    assert_eq!(case.next_item_number(), 2, "a number means one box for good");
    journal.strike(fate);
    assert_eq!(journal.fold().orphans, []);
}

#[test]
fn a_struck_opening_written_again_under_its_number_keeps_its_fate() {
    let mut journal = called();
    let opening = journal.open(1, Some(1), stent());
    journal.fate(1, Fate::Implanted);
    journal.strike(opening);
    journal.open(1, Some(1), fell(FELL_30029, 3.0, 29.0, "L2"));
    let case = journal.fold();
    assert_eq!(case.totals().implanted, 1);
    assert_eq!(case.item(1).unwrap().label.lot.as_deref(), Some("L2"));
}

#[test]
fn striking_the_opening_of_a_box_that_was_at_hand_puts_it_at_hand_again() {
    let mut journal = called();
    journal.at_hand(1, Some(1), stent());
    let opening = journal.open(1, Some(1), stent());
    journal.strike(opening);
    let case = journal.fold();
    assert_eq!(case.item(1).unwrap().state, ItemState::AtHand);
    assert_eq!(case.calls[0].state, CallState::AtHand { item: 1 });
    assert!(matches!(case.unsettled()[0], Unsettled::AtHand { item: 1, .. }));
}

#[test]
fn a_box_put_back_leaves_its_call_waiting() {
    let mut journal = called();
    journal.at_hand(1, Some(1), stent());
    journal.put_back(1, BoxRead::default());
    let case = journal.fold();
    assert_eq!(case.waiting_calls().len(), 1);
    assert_eq!((case.totals().put_back, case.totals().opened), (1, 0));
    assert_eq!(case.item(1).unwrap().label, stent());
}

#[test]
fn a_wrong_box_put_back_without_having_been_at_hand_is_counted() {
    let mut journal = called();
    journal.put_back(1, fell(FELL_30039, 3.0, 39.0, "L9"));
    let case = journal.fold();
    assert_eq!(case.waiting_calls().len(), 1);
    assert_eq!(case.totals().put_back, 1);
    assert!(matches!(case.unsettled()[..], [Unsettled::Call { call: 1, .. }]));
}

#[test]
fn put_back_then_opened_is_opened_once() {
    let mut journal = called();
    journal.at_hand(1, Some(1), stent());
    journal.put_back(1, stent());
    journal.open(1, Some(1), stent());
    let case = journal.fold();
    assert_eq!((case.totals().opened, case.totals().put_back), (1, 0));
    assert_eq!(case.calls[0].state, CallState::Opened { item: 1 });
}

#[test]
fn a_broken_seal_stays_broken() {
    let mut journal = called();
    journal.open(1, Some(1), stent());
    journal.put_back(1, stent());
    journal.at_hand(1, Some(1), stent());
    let case = journal.fold();
    assert_eq!(case.item(1).unwrap().state, ItemState::Opened);
    assert_eq!(case.orphans.len(), 2);
}

#[test]
fn a_cancelled_call_whose_box_is_opened_all_the_same_is_opened() {
    let mut journal = called();
    journal.push(Fact::CallCancelled { call: 1 });
    assert_eq!(journal.fold().calls[0].state, CallState::Cancelled);
    journal.open(1, Some(1), stent());
    let case = journal.fold();
    assert_eq!(case.calls[0].state, CallState::Opened { item: 1 });
    assert_eq!(case.totals().opened, 1);
}

#[test]
fn a_cancelled_call_leaves_its_box_at_hand_unsettled() {
    let mut journal = called();
    journal.at_hand(1, Some(1), stent());
    let cancelled = journal.push(Fact::CallCancelled { call: 1 });
    let case = journal.fold();
    assert_eq!(case.calls[0].state, CallState::Cancelled);
    assert!(matches!(case.unsettled()[..], [Unsettled::AtHand { item: 1, .. }]));
    journal.strike(cancelled);
    assert_eq!(journal.fold().calls[0].state, CallState::AtHand { item: 1 });
}

#[test]
fn a_struck_call_leaves_its_opened_box() {
    let mut journal = Journal::case();
    let call = journal.call(1, wanted(None, 3.0, 29.0));
    journal.open(1, Some(1), stent());
    journal.push(Fact::ReadinessChanged { call: 1, readiness: Readiness::HaveReady });
    journal.strike(call);
    let case = journal.fold();
    assert!(case.calls.is_empty());
    assert_eq!(case.totals().opened, 1);
    assert_eq!(case.orphans.len(), 1, "the change of readiness has no call");
    assert_eq!(case.next_call_number(), 2);
}

#[test]
fn a_strike_is_not_struck_and_neither_is_the_beginning() {
    let mut journal = called();
    let opening = journal.open(1, Some(1), stent());
    let strike = journal.strike(opening);
    journal.strike(strike);
    journal.strike(1);
    journal.strike(999);
    let case = journal.fold();
    assert_eq!(case.totals().opened, 0, "the first strike holds");
    assert!(!case.story[0].struck);
    assert_eq!(case.code.as_str(), CODE);
}

#[test]
fn two_boxes_under_one_number_are_said_and_not_swallowed() {
    let mut journal = called();
    journal.open(1, Some(1), stent());
    let second = journal.open(1, None, beck());
    let case = journal.fold();
    assert_eq!(case.totals().opened, 1);
    let loose = &case.orphans[..];
    assert!(matches!(loose, [one] if one.seq == second && one.words.contains("Beck")), "{loose:?}");
    assert!(!case.unsettled().is_empty());
}

#[test]
fn back_on_the_table_opens_the_fate_again() {
    let mut journal = called();
    journal.open(1, Some(1), stent());
    journal.fate(1, unused(Unused::WouldNotCross));
    journal.push(Fact::BackOnTable { item: 1 });
    let case = journal.fold();
    let item = case.item(1).unwrap();
    assert!(item.tried && item.fate.is_none());
    assert!(matches!(case.unsettled()[..], [Unsettled::Fate { item: 1, .. }]));
    journal.fate(1, Fate::Implanted);
    let case = journal.fold();
    assert!(case.item(1).unwrap().tried);
    assert_eq!(case.totals().implanted, 1);
}

#[test]
fn a_later_fate_corrects_an_earlier_one_and_a_strike_brings_it_back() {
    let mut journal = called();
    journal.open(1, Some(1), stent());
    journal.fate(1, unused(Unused::Dropped));
    let second = journal.fate(1, Fate::LostInPatient);
    assert_eq!(journal.fold().totals().lost, 1);
    journal.strike(second);
    assert_eq!(journal.fold().totals().unused[&Unused::Dropped], 1);
}

#[test]
fn a_balloon_is_used_again_on_another_lesion() {
    let mut journal = Journal::case();
    journal.push(Fact::BoxOpened {
        item: 1,
        call: None,
        lesion: Some(1),
        label: beck(),
        finding: "no call".into(),
        reason: None,
        minutes_ago: None,
    });
    journal.fate(1, Fate::Used);
    assert_eq!(journal.fold().open_balloons().len(), 1);
    journal.push(Fact::UsedAgain { item: 1, lesion: 2, call: None });
    journal.push(Fact::UsedAgain { item: 1, lesion: 2, call: None });
    assert_eq!(journal.fold().item(1).unwrap().lesions, [1, 2]);
    for gone in [Fate::LostInPatient, Fate::NotFound, unused(Unused::Dropped)] {
        journal.fate(1, gone);
        assert!(journal.fold().open_balloons().is_empty(), "{gone:?}");
    }
    let stents = called();
    assert!(stents.fold().open_balloons().is_empty());
}

#[test]
fn an_open_balloon_answers_a_later_call() {
    let mut journal = Journal::case();
    journal.open(1, None, beck());
    journal.fate(1, Fate::Used);
    let call = Wanted { kind: Some(Kind::NonCompliantBalloon), ..wanted(None, 3.5, 12.0) };
    journal.call(1, call);
    journal.call(2, wanted(Some("beck"), 3.0, 12.0));
    journal.call(3, wanted(Some("beck"), 3.5, 12.0));
    // A stent of the balloon's size, and a size alone, which may mean a stent.
    journal.call(4, wanted(Some("fell"), 3.5, 12.0));
    journal.call(5, wanted(None, 3.5, 12.0));
    let (case, shelf) = (journal.fold(), Shelf::fold(&journal.entries));
    let open = |call: &Call| shelf.card(call, &case, &Catalogue::default(), today()).open_already;
    assert_eq!(case.calls.iter().map(open).collect::<Vec<_>>(), [Some(1), None, Some(1), None, None]);
    let again = journal.push(Fact::UsedAgain { item: 1, lesion: 2, call: Some(1) });
    assert_eq!(journal.fold().calls[0].state, CallState::Opened { item: 1 });
    assert_eq!(journal.fold().totals().opened, 1);
    journal.strike(again);
    assert_eq!(journal.fold().waiting_calls().len(), 5);
}

#[test]
fn a_drug_coated_balloon_goes_up_once() {
    let mut journal = Journal::case();
    journal.open(1, None, BoxRead { kind: Some(Kind::DrugCoatedBalloon), ..beck() });
    assert_eq!(journal.fold().open_balloons().len(), 1);
    journal.fate(1, Fate::Used);
    assert!(journal.fold().open_balloons().is_empty());
}

#[test]
fn minutes_that_went_by_are_taken_off() {
    let mut journal = Journal::case();
    let open = |item, minutes_ago| Fact::BoxOpened {
        item,
        call: None,
        lesion: None,
        label: stent(),
        finding: "no call".into(),
        reason: None,
        minutes_ago,
    };
    let seq = journal.push(open(1, None));
    journal.push(open(2, Some(10)));
    journal.push(open(3, Some(u32::MAX)));
    let case = journal.fold();
    assert_eq!(case.item(1).unwrap().opened_at, Some(Journal::at(seq)));
    let order: Vec<u32> = case.opened().iter().map(|item| item.number).collect();
    assert_eq!(order, [3, 2, 1], "in the order in which the seals were broken");
}

#[test]
fn an_implant_takes_the_only_lesion_there_is_and_never_guesses_between_two() {
    let mut journal = Journal::case();
    journal.open(1, None, stent());
    journal.fate(1, Fate::Implanted);
    assert_eq!(journal.fold().item(1).unwrap().fate.as_ref().unwrap().lesion, None);
    journal.push(Fact::LesionMeasured { lesion: 1, measured: Measurements::default() });
    assert_eq!(journal.fold().item(1).unwrap().fate.as_ref().unwrap().lesion, Some(1));
    journal.push(Fact::LesionMeasured { lesion: 2, measured: Measurements::default() });
    assert_eq!(journal.fold().item(1).unwrap().fate.as_ref().unwrap().lesion, None);
}

#[test]
fn undo_goes_from_the_latest_entry_backwards() {
    let mut journal = called();
    let opening = journal.open(1, Some(1), stent());
    let (seq, words) = journal.fold().last_undoable().unwrap();
    assert_eq!(seq, opening);
    assert!(words.contains("box 1 opened for call 1"), "{words}");
    journal.strike(opening);
    assert_eq!(journal.fold().last_undoable().unwrap().0, 2, "the call comes next");
    journal.strike(2);
    assert_eq!(journal.fold().last_undoable(), None, "the beginning of a case stays");
}

#[test]
fn any_product_and_a_reference_are_calls_too() {
    let any = wanted(None, 3.0, 29.0);
    assert!(any.answered_by(&stent()));
    let covered = BoxRead { kind: Some(Kind::CoveredStent), ..stent() };
    assert!(!any.answered_by(&covered), "a covered stent is never meant where nobody says so");
    let balloon = BoxRead { kind: Some(Kind::NonCompliantBalloon), ..stent() };
    assert!(!any.answered_by(&balloon));
    let wire = Wanted { reference: Some("FP190".into()), ..Wanted::default() };
    let read = BoxRead { reference: Some("fp190".into()), kind: Some(Kind::Other), ..BoxRead::default() };
    assert!(wire.answered_by(&read));
    assert!(!wire.answered_by(&stent()));
    assert!(!Wanted::default().answered_by(&BoxRead::default()));
}

proptest! {
    /// Every box accounted for, whatever was written in whatever order.
    #[test]
    fn every_opened_box_is_counted_once(facts in prop::collection::vec(any_fact(), 0..40)) {
        let mut journal = Journal::case();
        for fact in facts {
            journal.push(fact);
        }
        let case = journal.fold();
        let totals = case.totals();
        prop_assert_eq!(counted(&totals), totals.opened);
        prop_assert_eq!(case.story.len(), journal.entries.len());
        let settled = case.items.len() as u32;
        prop_assert_eq!(totals.opened + totals.at_hand + totals.put_back, settled);
        // No opening that stands is swallowed: it is a box, or it is said to be loose.
        let struck = boxcall::journal::struck(&journal.entries);
        let openings = journal
            .entries
            .iter()
            .filter(|entry| matches!(entry.fact, Fact::BoxOpened { .. }) && !struck.contains(&entry.seq));
        for opening in openings {
            let kept = case.items.iter().any(|item| item.is_opened() && item.seq == opening.seq);
            let loose = case.orphans.iter().any(|loose| loose.seq == opening.seq);
            prop_assert!(kept != loose, "entry {} is kept {kept}, loose {loose}", opening.seq);
        }
        // The journal stores JSON: every fact comes back as it went in.
        for entry in &journal.entries {
            let text = serde_json::to_string(entry).unwrap();
            prop_assert_eq!(&serde_json::from_str::<boxcall::journal::Entry>(&text).unwrap(), entry);
        }
        if let Some((seq, _)) = case.last_undoable() {
            prop_assert!(!struck.contains(&seq));
        }
    }
}
