//! What a tired person does at three in the morning: each mistake is caught, or undone with one key.

use crate::hand::Hand;
use boxcall::case::CallState;
use boxcall::case::readback::Headline;
use boxcall::catalogue::Piece;
use boxcall::journal::{Fact, Fate};
use boxcall::shelf::scan_of;
use boxcall::tui::state::Screen;

/// The demo room with a call for a 3.00 × 29 of one product.
fn called() -> Hand {
    let mut hand = Hand::demo();
    hand.keys("<Esc>");
    while hand.state.work.product.as_deref() != Some("fell") {
        hand.keys("p");
    }
    hand.keys("3 29<Enter><Esc>");
    assert_eq!(hand.state.world.waiting().len(), 1);
    hand
}

fn piece_called(hand: &Hand) -> Piece {
    hand.state.card().and_then(|card| card.bring).expect("it is on the shelf").piece
}

fn label(piece: &Piece) -> String {
    String::from_utf8(scan_of(piece)).expect("a label is text")
}

/// A piece on the shelf that is something else, in date or expired.
fn other(hand: &Hand, expired: bool) -> Piece {
    let (world, called) = (&hand.state.world, piece_called(hand));
    let mut pieces = world.shelf.pieces().into_iter();
    pieces
        .find(|p| p.di != called.di && p.in_date(world.today()) != expired)
        .expect("the demo shelf has one")
        .clone()
}

fn headline(hand: &Hand) -> Headline {
    hand.state.held().expect("a label is held").back.headline
}

fn opened(hand: &Hand) -> usize {
    hand.state.world.opened().len()
}

/// Read, printed size typed once, opened.
fn opened_hand() -> Hand {
    let mut hand = called();
    let scan = label(&piece_called(&hand));
    hand.scan(&scan).keys("o3.0x29<Enter>");
    assert_eq!(opened(&hand), 1, "{}", hand.small());
    hand
}

#[test]
fn the_wrong_box_is_told_in_words_and_put_back_in_one_key() {
    let mut hand = called();
    let scan = label(&other(&hand, false));
    hand.scan(&scan);
    assert_eq!(headline(&hand), Headline::Different);
    assert!(hand.small().contains("DIFFERS"), "{}", hand.small());
    hand.keys("o");
    assert_eq!(opened(&hand), 0, "one key does not open what was not called");
    hand.keys("b");
    assert_eq!(hand.state.world.waiting().len(), 1, "the call stands");
    assert!(matches!(hand.journal.last().unwrap().fact, Fact::BoxPutBack { .. }));
}

#[test]
fn a_wrong_call_is_undone_in_one_key() {
    let mut hand = called();
    hand.keys("u");
    assert!(hand.state.world.waiting().is_empty());
    assert!(matches!(hand.journal.last().unwrap().fact, Fact::StruckOut { .. }), "struck out, not deleted");
}

#[test]
fn a_cancelled_call_comes_back_in_one_key() {
    let mut hand = called();
    hand.keys("<F3><Delete>");
    assert!(hand.state.world.waiting().is_empty());
    hand.keys("u");
    assert_eq!(hand.state.world.waiting().len(), 1);
}

#[test]
fn a_scan_in_the_middle_of_typing_loses_nothing_that_was_typed() {
    let mut hand = called();
    let scan = label(&piece_called(&hand));
    hand.keys("mo<Tab>2,9<Tab>3.").scan(&scan);
    assert_eq!(hand.state.screen(), Screen::ReadBack);
    assert_eq!(headline(&hand), Headline::Same);
    hand.keys("b<F2>");
    let Some(form) = hand.state.form() else { panic!("the form is back: {}", hand.small()) };
    assert_eq!((form.value("distal-lumen").as_str(), form.value("distal-eem").as_str()), ("2,9", "3."));
}

#[test]
fn a_scan_on_the_wrong_screen_signs_nothing_off() {
    let mut hand = opened_hand();
    hand.keys("<F6>swhile<Tab>");
    let before = hand.journal.len();
    hand.scan("]d2010952100130029210X");
    assert_eq!(hand.journal.len(), before, "nothing is written by a scan");
    assert_eq!(hand.state.screen(), Screen::ReadBack);
    assert!(hand.state.over().is_none());
}

#[test]
fn a_decimal_comma_is_a_decimal_point() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>3,0 29<Enter>");
    let waiting = hand.state.world.waiting();
    let wanted = &waiting[0].wanted;
    assert_eq!((wanted.diameter.unwrap().mm(), wanted.length.unwrap().mm()), (3.0, 29.0));
}

#[test]
fn french_typed_for_millimetres_is_refused_with_the_field_named() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>mo<Tab><Tab>6 Fr<Tab><Tab><Tab>26<Enter>");
    assert!(hand.state.form().is_some(), "it is not taken");
    assert!(hand.small().contains("is French, not millimetres"), "{}", hand.small());
    assert!(hand.journal.iter().all(|entry| !matches!(entry.fact, Fact::LesionMeasured { .. })));
}

#[test]
fn a_decimal_slip_is_refused_with_what_is_believed() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>mo<Tab><Tab>37<Tab><Tab><Tab>26<Enter>");
    let screen = hand.small();
    assert!(screen.contains("37") && screen.contains('8'), "{screen}");
    assert!(hand.state.work.judgement.is_none(), "nothing is judged by a slip");
}

#[test]
fn length_before_diameter_calls_nothing() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>29 3<Enter>");
    assert!(hand.state.world.waiting().is_empty());
    assert!(hand.state.said.warns && hand.state.said.words.contains("diameter"), "{}", hand.state.said.words);
}

#[test]
fn enter_pressed_twice_calls_once() {
    let mut hand = called();
    hand.keys("<Enter><Enter>");
    assert_eq!(hand.state.world.waiting().len(), 1);
}

#[test]
fn an_expired_box_stops_and_can_still_be_written_down() {
    let mut hand = called();
    let scan = label(&other(&hand, true));
    hand.scan(&scan);
    assert_eq!(headline(&hand), Headline::Expired);
    hand.keys("o");
    assert_eq!(opened(&hand), 0);
    let size = hand.state.held().and_then(|held| Some((held.back.read.diameter?, held.back.read.length?)));
    hand.keys("d");
    if let Some((diameter, length)) = size {
        hand.keys(&format!("{diameter}x{length}"));
    }
    hand.keys("<Tab>opened before it was read<Enter>");
    assert_eq!(opened(&hand), 1, "what happened is never refused: {}", hand.small());
}

#[test]
fn a_fate_given_to_the_wrong_box_is_undone_in_one_key() {
    let mut hand = opened_hand();
    hand.keys("f1");
    let fate = |hand: &Hand| hand.state.world.opened()[0].fate.as_ref().map(|kept| kept.fate);
    assert_eq!(fate(&hand), Some(Fate::Implanted));
    hand.keys("u");
    assert_eq!(fate(&hand), None);
}

#[test]
fn a_box_written_down_wrongly_is_struck_out_with_a_reason_and_stays_in_the_record() {
    let mut hand = opened_hand();
    hand.keys("i14<Enter>f1<Delete><Enter>");
    assert_eq!(opened(&hand), 1, "a reason is asked for");
    hand.keys("scanned twice<Enter>");
    assert_eq!(opened(&hand), 0);
    let case = hand.state.world.case.as_ref().unwrap();
    assert!(
        case.story.iter().any(|line| line.struck && line.words.contains("opened")),
        "it stays in the story"
    );
}

#[test]
fn a_pressure_past_rated_burst_is_asked_about_and_one_out_of_all_reason_refused() {
    let mut hand = opened_hand();
    hand.keys("i140<Enter>");
    assert!(hand.small().contains("not believed"), "{}", hand.small());
    hand.keys("<Backspace><Backspace><Backspace>22<Enter>");
    assert!(hand.small().contains("PAST RATED BURST"), "{}", hand.small());
    assert!(hand.state.world.opened()[0].inflations.is_empty());
    hand.keys("<Enter>");
    assert_eq!(hand.state.world.opened()[0].inflations.len(), 1, "it happened, so it is written down");
}

#[test]
fn labels_that_cannot_be_read_each_say_why_and_leave_the_call() {
    let whole = label(&piece_called(&called()));
    let misread = whole.replacen("0109521", "0109531", 1);
    let cut = &whole[..12];
    let two = format!("{whole}\r]d20109521234543213");
    for (bytes, code) in [(misread.as_str(), "check digit"), (cut, "short"), (two.as_str(), "second box")] {
        let mut hand = called();
        hand.scan(bytes);
        assert_eq!(headline(&hand), Headline::CannotRead, "{bytes}");
        assert!(hand.small().to_lowercase().contains(code), "{code}: {}", hand.small());
        hand.keys("o");
        assert_eq!((opened(&hand), hand.state.world.waiting().len()), (0, 1));
    }
}

#[test]
fn an_unknown_box_stops_and_a_box_without_a_call_is_one_key() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>").scan("]d2010952123454321310LOT7");
    assert_eq!(headline(&hand), Headline::NotKnown);
    let mut hand = called();
    let scan = label(&piece_called(&hand));
    hand.keys("<F3><Delete>").scan(&scan);
    assert_eq!(headline(&hand), Headline::NoCall);
    hand.keys("o3 29<Enter>");
    assert_eq!(opened(&hand), 1);
    assert_eq!(hand.state.world.opened()[0].call, None);
}

#[test]
fn a_printed_size_that_is_not_the_catalogues_stops_the_box() {
    let mut hand = called();
    let scan = label(&piece_called(&hand));
    hand.scan(&scan).keys("o3.0x39<Enter>");
    assert_eq!(opened(&hand), 0);
    assert!(hand.small().contains("3.00 × 39"), "{}", hand.small());
    hand.keys("o");
    assert_eq!(opened(&hand), 0, "still not by one key");
}

#[test]
fn what_the_disk_refuses_is_said_kept_and_written_when_it_can() {
    let mut hand = called();
    hand.disk_full = true;
    hand.keys("<F3><Delete>");
    assert!(hand.small().contains("NOT SAVED"), "{}", hand.small());
    assert!(hand.state.world.waiting().is_empty(), "the room goes on");
    let before = hand.journal.len();
    hand.disk_full = false;
    hand.keys("R");
    assert_eq!(hand.journal.len(), before + 1);
    assert!(hand.state.world.waiting().is_empty());
    assert!(!hand.small().contains("NOT SAVED"));
}

#[test]
fn killed_in_the_middle_the_case_goes_on_where_it_was() {
    let hand = opened_hand();
    let again = hand.killed();
    assert_eq!(again.state.world.case, hand.state.world.case);
    assert!(
        again
            .state
            .world
            .case
            .as_ref()
            .is_some_and(|case| matches!(case.calls[0].state, CallState::Opened { .. }))
    );
}

#[test]
fn no_key_alone_signs_off_and_sign_off_with_something_open_asks_why() {
    let mut hand = opened_hand();
    hand.keys("<F6>s");
    assert!(hand.state.world.case.as_ref().unwrap().signed.is_none());
    hand.keys("<Enter>");
    assert!(hand.state.world.case.as_ref().unwrap().signed.is_none(), "a reason is asked for");
    hand.keys("next patient<Enter>");
    assert_eq!(hand.state.world.case.as_ref().unwrap().signed.as_ref().unwrap().unsettled, 1);
    assert_eq!(hand.records.len(), 1);
    hand.keys("<F5>f1<F6>");
    assert_eq!(hand.records.len(), 2, "the record that was filed says so too");
    assert!(hand.state.world.case.as_ref().unwrap().unsettled().is_empty(), "settled later by a new entry");
}

/// What is written stands once with its file's name, and only beside the case that it tells of.
#[test]
fn the_place_of_the_record_is_said_once_and_of_its_own_case() {
    let mut hand = opened_hand();
    hand.keys("<F5>f1<F6>s<Enter>");
    let code = hand.records[0].clone();
    let file = format!("/srv/lab2/records/{code}.md");
    assert_eq!(hand.small().matches(&file).count(), 1, "{}", hand.small());
    assert_eq!(hand.small().matches("records").count(), 1, "{}", hand.small());
    assert!(hand.small().contains(&format!("The record of case {code} is written")), "{}", hand.small());
    // Signed by a scanned command from another screen, or settled there later, it is said there.
    hand.keys("<F5>");
    hand.send(boxcall::tui::state::Message::RecordWritten { code: code.clone(), place: file.clone() });
    assert!(hand.small().contains(&file), "{}", hand.small());
    hand.keys("n<Esc><F6>");
    assert!(!hand.small().contains("records/"), "{}", hand.small());
    // The record of the case before may come late.
    hand.send(boxcall::tui::state::Message::RecordWritten { code, place: file.clone() });
    assert!(!hand.small().contains("Its record"), "{}", hand.small());
    assert!(hand.small().contains(&file), "{}", hand.small());
}

/// Nothing but F6, then Enter: two keys. Whatever comes between that is not scrolling disarms Enter, as the digits of
/// a scanner do that types too slowly to be told as one.
#[test]
fn a_settled_case_is_signed_by_two_keys_and_not_by_a_slow_scanner() {
    let signed = |keys: &str| {
        let mut hand = opened_hand();
        hand.keys(keys);
        (hand.state.world.case.as_ref().unwrap().signed.is_some(), hand)
    };
    let (two_keys, hand) = signed("<F5>f1<F6><Enter>");
    assert!(two_keys, "{}", hand.small());
    assert_eq!(hand.records.len(), 1, "the record is written");
    assert!(signed("<F5>f1<F6>s<Enter>").0);
    assert!(signed("<F5>f1<F6><PgDn><PgUp><Enter>").0);
    assert!(!signed("<F5>f1<F6>0109<Enter>").0, "a slow scan signs nothing");
    assert!(!signed("<F5>f1<F6>0109<Enter><Enter>").0);
    assert!(!signed("<F6><Enter>").0, "nobody has said what became of the box");
    let (_, mut hand) = signed("<F5>f1<F6>");
    hand.scan("]d2010952100130029210X").keys("<Enter>");
    assert!(hand.state.world.case.as_ref().unwrap().signed.is_none(), "an Enter after a scan signs nothing");
}

/// What was measured of one patient must not judge, nor stand in the record of, the next.
#[test]
fn the_next_patient_begins_without_what_was_measured_of_the_one_before() {
    let mut hand = opened_hand();
    hand.keys("<F2>lmo<Tab>2.8<Tab>3.1<Tab>3.3<Tab>3.6<Tab>27<Enter><Esc>");
    assert!(hand.small().contains("Lesion 2") && hand.small().contains("labelled 2.85 to 3.10"));
    hand.keys("<F6>snext patient<Enter>");
    for mut hand in [hand.copy(), hand.reopened()] {
        let screen = hand.keys("<F2>").small();
        assert!(screen.contains("nothing measured") && screen.contains("Lesion 1"), "{screen}");
        let before = hand.journal.len();
        hand.keys("3 29<Enter>");
        let facts: Vec<&Fact> = hand.journal[before..].iter().map(|entry| &entry.fact).collect();
        assert!(
            matches!(facts[..], [Fact::CaseBegun, Fact::Called { lesion: Some(1), verdict: None, .. }]),
            "{facts:?}"
        );
    }
}

/// The lesion in work is another one than the box was opened for: it is said before the inflation is written.
#[test]
fn an_inflation_on_another_lesion_is_said_before_it_is_written() {
    let mut hand = opened_hand();
    assert!(!hand.keys("i").small().contains("Written to lesion"), "its own lesion goes without saying");
    hand.keys("<Esc><F2>l<F5>i");
    assert!(hand.small().contains("Written to lesion 2, the one in work; so far this box was on lesion 1"));
}

#[test]
fn a_first_call_for_another_lesion_keeps_the_screens_on_that_lesion() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>l3 29<Enter>");
    let case = hand.state.world.case.clone().expect("the call begins it");
    assert_eq!(case.calls[0].lesion, Some(2));
    assert_eq!(hand.state.lesion, 2, "what is written next is of the same lesion");
    // A case that is begun by hand begins with its first lesion.
    hand.keys("<Esc>n");
    assert_eq!(hand.state.lesion, 1, "{}", hand.small());
}
