//! A finding is worked out, never remembered: whatever becomes known of a box that is offered for use is on the screens
//! at once, and nobody opens it by what was true a minute ago.

use crate::hand::{self, Hand, text};
use boxcall::case::readback::Headline;
use boxcall::catalogue::Piece;
use boxcall::journal::{CaseCode, Fact, Readiness};
use boxcall::label::card::Command;
use boxcall::measure::Kind;
use boxcall::shelf::scan_of;
use boxcall::tui::keys::Key;
use boxcall::tui::state::{Far, FarMessage, Message};
use boxcall::tui::view::{self, Look};
use chrono::{NaiveDate, TimeDelta};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Sizes of drug-eluting stents of one product that lie on the demo shelf, as they are typed.
fn sizes(hand: &Hand) -> Vec<String> {
    let world = &hand.state.world;
    let sized = world.shelf.by_size(&world.catalogue, Some(Kind::DrugElutingStent), world.today());
    let product = sized.iter().find(|size| size.in_date > 1).expect("there is one").product.clone();
    let there = sized.into_iter().filter(|size| size.in_date > 0 && size.product == product);
    there.filter_map(|size| Some(format!("{}x{}", size.diameter?, size.length?))).collect()
}

/// The demo room in which the first of these sizes is called, with that size.
fn called() -> (Hand, String) {
    let mut hand = Hand::demo();
    let size = sizes(&hand).remove(0);
    hand.keys(&format!("<Esc>{size}<Enter><Esc>"));
    assert_eq!(hand.state.world.waiting().len(), 1, "{}", hand.small());
    (hand, size)
}

/// The piece that Fetch proposes.
fn proposed(hand: &Hand) -> Piece {
    hand.state.card().and_then(|card| card.bring).expect("it is on the shelf").piece
}

fn label(piece: &Piece) -> String {
    String::from_utf8(scan_of(piece)).expect("a label is text")
}

/// The same box with its last day in date.
fn until(piece: &Piece, last_day: NaiveDate) -> Piece {
    Piece { use_by: Some(last_day), serial: None, ..piece.clone() }
}

/// A box that is SAME as call 1 is kept in the room, its printed size typed.
fn at_hand_with(last_day: Option<NaiveDate>) -> (Hand, Piece) {
    let (mut hand, size) = called();
    let piece = proposed(&hand);
    let piece = last_day.map_or(piece.clone(), |day| until(&piece, day));
    hand.scan(&label(&piece)).keys(&format!("h{size}<Enter>"));
    let at_hand = hand.state.world.at_hand();
    assert_eq!(at_hand.len(), 1, "{}", hand.small());
    assert_eq!(at_hand[0].finding.to_string(), "SAME AS CALL 1");
    (hand, piece)
}

fn at_hand() -> (Hand, Piece) {
    at_hand_with(None)
}

fn case(hand: &Hand) -> Option<CaseCode> {
    hand.state.world.open_case()
}

fn opened(hand: &Hand) -> usize {
    hand.state.world.opened().len()
}

/// A key with no time before it.
fn at_once(hand: &mut Hand, key: &str) {
    hand.send(Message::Key(Key::spelt(key).expect("a key")));
}

fn far(hand: &Hand) -> Far {
    let world = &hand.state.world;
    let (catalogue, policy) = (world.catalogue.clone(), world.policy.clone());
    Far::new(hand::world(catalogue, policy, &hand.journal, world.now, world.spare_code.clone()))
}

fn far_screen(far: &Far) -> String {
    let area = Rect::new(0, 0, 80, 24);
    let mut buffer = Buffer::empty(area);
    view::far(far, Look::default(), area, &mut buffer);
    text(&buffer)
}

#[test]
fn a_box_at_hand_whose_lot_is_recalled_stops_on_every_screen() {
    let (mut hand, piece) = at_hand();
    let size = hand.state.world.at_hand()[0].label.clone();
    hand.keys(&format!("<F7>r{}<Enter><Enter>", piece.lot));
    assert!(matches!(hand.journal.last().unwrap().fact, Fact::LotRecalled { .. }), "{}", hand.small());
    let said = &hand.state.said.words;
    let recalled = format!("WAS SAME AS CALL 1: LOT {} RECALLED", piece.lot);
    assert!(hand.state.said.warns && said.contains(&recalled) && said.contains("STOP: RECALLED"), "{said}");
    for key in ["<F2>", "<F3>", "<F5>", "<F6>", "<F7>", "<F9>", "<F4>"] {
        let screen = hand.keys(key).small();
        assert!(screen.contains("1 at hand: STOP: RECALLED"), "{key}: {screen}");
    }
    let screen = hand.small();
    assert!(screen.contains(&recalled) && !screen.contains("read back: SAME"), "{screen}");
    hand.keys("oo");
    assert_eq!(opened(&hand), 0, "no key opens it");
    hand.scan(&Command::Opened.code());
    assert_eq!(opened(&hand), 0, "no code opens it: {}", hand.small());
    let (diameter, length) = (size.diameter.unwrap(), size.length.unwrap());
    hand.keys(&format!("d{diameter}x{length}<Tab>nothing else there<Enter><Enter>"));
    let item = hand.state.world.opened()[0];
    assert_eq!(item.finding.to_string(), "STOP: RECALLED", "the journal has the finding of that moment");
    assert_eq!((item.call, item.reason.as_deref()), (Some(1), Some("nothing else there")));
}

#[test]
fn what_another_terminal_recalls_stops_a_label_on_the_screen_and_a_box_at_hand() {
    let (mut hand, size) = called();
    let piece = proposed(&hand);
    hand.scan(&label(&piece));
    assert_eq!(hand.state.held().unwrap().back.headline, Headline::Same);
    hand.elsewhere(None, vec![Fact::LotRecalled { di: None, lot: piece.lot.clone() }]);
    let screen = hand.small();
    assert!(screen.contains(&format!("WAS SAME AS CALL 1: LOT {} RECALLED", piece.lot)), "{screen}");
    hand.keys("o").keys(&format!("{size}<Enter>"));
    hand.keys("<Esc>h");
    assert_eq!((opened(&hand), hand.state.world.at_hand().len()), (0, 0), "{}", hand.small());

    let (mut hand, piece) = at_hand();
    let mut far = far(&hand);
    assert!(!far_screen(&far).contains("STOP"), "{}", far_screen(&far));
    hand.elsewhere(None, vec![Fact::LotRecalled { di: Some(piece.di), lot: piece.lot }]);
    hand.keys("<F4>o");
    assert_eq!(opened(&hand), 0, "{}", hand.small());
    far.on(FarMessage::News(hand.journal.last().cloned().into_iter().collect()));
    let screen = far_screen(&far);
    assert!(screen.contains("WAS SAME AS CALL 1") && screen.contains("now STOP: RECALLED"), "{screen}");
}

/// Its last day goes by while it lies there: nothing is written, the day alone is another one.
#[test]
fn midnight_stops_a_label_on_the_screen_and_a_box_at_hand() {
    let today = hand::Hand::demo().state.world.today();
    let to_midnight = TimeDelta::hours(13) + TimeDelta::minutes(31);

    let (mut hand, _) = called();
    let last = until(&proposed(&hand), today);
    hand.scan(&label(&last));
    assert_eq!(hand.state.held().unwrap().back.headline, Headline::Same, "in date up to its last day");
    let entries = hand.journal.len();
    hand.passes(to_midnight);
    let screen = hand.small();
    assert!(screen.contains(&format!("WAS SAME AS CALL 1: USE BY {today} HAS PASSED")), "{screen}");
    hand.keys("oh");
    assert_eq!(hand.journal.len(), entries, "nothing was written: {}", hand.small());

    let (mut hand, _) = at_hand_with(Some(today));
    let mut far = far(&hand);
    hand.passes(to_midnight).keys("<F4>");
    assert!(hand.small().contains("1 at hand: STOP: EXPIRED"), "{}", hand.small());
    hand.keys("o");
    assert_eq!(opened(&hand), 0, "{}", hand.small());
    far.on(FarMessage::Tick(hand.state.world.now));
    assert!(far_screen(&far).contains("now STOP: EXPIRED"), "{}", far_screen(&far));
    // The program that is begun on the next day tells it too.
    assert!(hand.killed().keys("<F4>").small().contains("read back: SAME AS CALL 1"), "on the day before");
    let screen = hand.killed().passes(to_midnight).keys("<F4>").small();
    assert!(screen.contains("now STOP: EXPIRED") && screen.contains("came in as SAME AS CALL 1"), "{screen}");
}

#[test]
fn a_call_cancelled_on_another_terminal_is_said_and_asks_for_a_new_confirmation() {
    let (mut hand, _) = called();
    let scanned = label(&proposed(&hand));
    hand.scan(&scanned);
    let code = case(&hand);
    hand.elsewhere(code, vec![Fact::CallCancelled { call: 1 }]);
    let at = hand.state.world.now.format("%H:%M").to_string();
    let screen = hand.small();
    assert!(screen.contains(&format!("WAS SAME AS CALL 1: CALL 1 CANCELLED {at}")), "{screen}");
    assert_eq!(hand.state.held().unwrap().back.headline, Headline::NoCall);
    at_once(&mut hand, "o");
    assert!(hand.state.over().is_none() && hand.state.said.warns, "what was meant for SAME does nothing");

    let (mut hand, _) = at_hand();
    let code = case(&hand);
    let mut far = far(&hand);
    hand.elsewhere(code, vec![Fact::CallCancelled { call: 1 }]).keys("<F4>");
    let screen = hand.small();
    assert!(screen.contains("now NO CALL (came in as SAME AS CALL 1)"), "{screen}");
    assert!(screen.contains(&format!("WAS SAME AS CALL 1: CALL 1 CANCELLED {at}")), "{screen}");
    far.on(FarMessage::News(hand.journal.last().cloned().into_iter().collect()));
    assert!(far_screen(&far).contains("now NO CALL"), "{}", far_screen(&far));
    hand.keys("o");
    let item = hand.state.world.opened()[0];
    assert_eq!(
        (item.finding.to_string().as_str(), item.call),
        ("NO CALL", Some(1)),
        "recorded as it was then"
    );
}

/// Two calls, one box: what was asked for first is taken back, and the box is another call's.
#[test]
fn a_box_at_hand_goes_to_the_call_that_it_answers_now() {
    let (mut hand, piece) = at_hand();
    hand.keys("<F2>=<Esc>");
    assert_eq!(hand.state.world.waiting().len(), 1, "{}", hand.small());
    let code = case(&hand);
    hand.elsewhere(code, vec![Fact::CallCancelled { call: 1 }]).keys("<F4>");
    let said = hand.small();
    assert!(said.contains("now SAME AS CALL 2 (came in as SAME AS CALL 1)"), "{said}");
    hand.keys("o");
    let item = hand.state.world.opened()[0];
    assert_eq!((item.finding.to_string().as_str(), item.call), ("SAME AS CALL 2", Some(2)));
    assert_eq!(item.label.lot.as_deref(), Some(piece.lot.as_str()));
}

#[test]
fn a_box_without_a_call_is_the_same_as_a_call_that_is_made_later() {
    let mut hand = Hand::demo();
    let size = sizes(&hand).remove(0);
    hand.keys(&format!("<Esc>{size}<Enter><Esc>"));
    let scanned = label(&proposed(&hand));
    hand.keys("<F3><Delete>").scan(&scanned).keys(&format!("h{size}<Enter>"));
    assert_eq!(hand.state.world.at_hand()[0].finding.to_string(), "NO CALL", "{}", hand.small());
    hand.keys(&format!("<F2>{size}<Enter><F4>"));
    let screen = hand.small();
    assert!(screen.contains("WAS NO CALL: CALL 2 MADE"), "{screen}");
    hand.scan(&Command::Opened.code());
    let item = hand.state.world.opened()[0];
    assert_eq!(
        (item.finding.to_string().as_str(), item.call),
        ("SAME AS CALL 2", Some(2)),
        "by the code as by the key"
    );
}

/// Half a second, by the time that the state is given.
#[test]
fn keys_and_codes_that_decide_rest_after_a_scan_and_after_a_change() {
    let (mut hand, size) = called();
    let piece = proposed(&hand);
    hand.scan(&label(&piece)).keys(&format!("b<F2>{size}<Enter>"));
    hand.scan_at_once(&label(&piece));
    let entries = hand.journal.len();
    for key in ["o", "h", "b"] {
        at_once(&mut hand, key);
        assert!(hand.state.over().is_none() && hand.state.said.warns, "{key}: {}", hand.small());
    }
    for code in [Command::Opened, Command::PutBack, Command::SignOff] {
        hand.scan_at_once(&code.code());
        assert!(hand.state.said.words.contains("nothing was written"), "{code:?}: {}", hand.small());
    }
    assert_eq!(hand.journal.len(), entries, "{}", hand.small());
    assert!(hand.small().contains("· read") || hand.small().contains("· first"), "{}", hand.small());
    hand.passes(TimeDelta::milliseconds(499));
    at_once(&mut hand, "o");
    assert!(hand.state.over().is_none(), "not yet");
    hand.passes(TimeDelta::milliseconds(1));
    at_once(&mut hand, "o");
    assert!(hand.state.over().is_some(), "the printed size is asked: {}", hand.small());
    // The clock set back does not make it rest for an hour.
    hand.keys("<Esc>").scan_at_once(&label(&piece));
    hand.passes(TimeDelta::hours(-1)).passes(TimeDelta::milliseconds(500));
    at_once(&mut hand, "o");
    assert!(hand.state.over().is_some(), "{}", hand.small());
}

/// What a question in front was asked about is not what it would now confirm.
#[test]
fn an_answer_typed_under_another_finding_confirms_nothing() {
    let (mut hand, size) = called();
    let piece = proposed(&hand);
    hand.scan(&label(&piece)).keys(&format!("o{size}"));
    hand.elsewhere(None, vec![Fact::LotRecalled { di: None, lot: piece.lot.clone() }]);
    hand.keys("<Enter>");
    assert_eq!(opened(&hand), 0, "{}", hand.small());
    assert!(hand.small().contains("WAS SAME AS CALL 1"), "{}", hand.small());
    hand.keys("<Enter>");
    assert_eq!(opened(&hand), 0, "a reason is needed now: {}", hand.small());
    hand.keys(&format!("<Esc>d{size}<Tab>asked for<Enter><Enter>"));
    assert_eq!(hand.state.world.opened()[0].finding.to_string(), "STOP: RECALLED", "{}", hand.small());

    // Another finding that a key may confirm: the second answer does.
    let (mut hand, size) = called();
    let scanned = label(&proposed(&hand));
    hand.scan(&scanned).keys(&format!("o{size}"));
    let code = case(&hand);
    hand.elsewhere(code, vec![Fact::CallCancelled { call: 1 }]).keys("<Enter>");
    assert_eq!(opened(&hand), 0, "{}", hand.small());
    hand.keys("<Enter>");
    assert_eq!(hand.state.world.opened()[0].finding.to_string(), "NO CALL");
}

/// The box under the key is opened on another terminal, and another box lies there then.
#[test]
fn a_box_that_moves_under_a_finger_is_not_opened_by_it() {
    let (mut hand, piece) = at_hand();
    let second = sizes(&hand).remove(1);
    hand.keys(&format!("<F2>{second}<Enter>"));
    let other = proposed(&hand);
    hand.scan(&label(&other)).keys(&format!("h{second}<Enter><F4><↑><↑>"));
    assert_eq!(hand.state.world.at_hand().len(), 2, "{}", hand.small());
    while hand.state.world.at_hand()[hand.state.findings.at_hand].number != 1 {
        hand.keys("<↓>");
    }
    let first = hand.state.world.at_hand()[0].clone();
    assert_eq!(first.label.lot.as_deref(), Some(piece.lot.as_str()));
    let code = case(&hand);
    let put_back = Fact::BoxPutBack { item: 1, label: first.label, finding: first.finding };
    hand.elsewhere(code, vec![put_back]);
    at_once(&mut hand, "o");
    assert_eq!(opened(&hand), 0, "{}", hand.small());
}

/// An open balloon of a recalled lot is not offered, and is used again only by whoever says so twice.
#[test]
fn an_open_balloon_is_judged_again_before_it_is_offered() {
    let mut hand = Hand::demo();
    let world = &hand.state.world;
    let sized = world.shelf.by_size(&world.catalogue, Some(Kind::NonCompliantBalloon), world.today());
    let balloon = sized.into_iter().find(|size| size.in_date > 1).expect("the demo has one");
    let size = format!("{}x{}", balloon.diameter.unwrap(), balloon.length.unwrap());
    while hand.state.work.product.as_deref() != Some(balloon.product.as_str()) {
        hand.keys("p");
    }
    hand.keys(&format!("<Esc>{size}<Enter><Esc>"));
    let piece = proposed(&hand);
    hand.scan(&label(&piece)).keys(&format!("o{size}<Enter>"));
    assert_eq!(opened(&hand), 1, "{}", hand.small());
    hand.keys(&format!("<F2>{size}<Enter><F3>"));
    assert_eq!(hand.state.card().unwrap().open_already, Some(1), "it is offered: {}", hand.small());
    hand.elsewhere(None, vec![Fact::LotRecalled { di: None, lot: piece.lot }]);
    assert!(hand.state.said.words.contains("box 1, open"), "{}", hand.state.said.words);
    assert_eq!(hand.state.card().unwrap().open_already, None);
    assert!(hand.small().contains("STOP: RECALLED"), "{}", hand.small());
    let entries = hand.journal.len();
    hand.keys("a");
    assert_eq!(hand.journal.len(), entries, "{}", hand.small());
    hand.keys("<F5>");
    assert!(hand.small().contains("now STOP: RECALLED"), "{}", hand.small());
    hand.keys("a");
    assert_eq!(hand.journal.len(), entries, "{}", hand.small());
    assert!(hand.state.said.words.contains("Don't use it"), "{}", hand.state.said.words);
    hand.keys("a");
    assert!(matches!(hand.journal.last().unwrap().fact, Fact::UsedAgain { item: 1, .. }));
}

/// A stent that would not cross lies on the table again while its lot is recalled.
#[test]
fn a_device_back_on_the_table_is_judged_again() {
    let (mut hand, piece) = at_hand();
    hand.keys("<F4>o<F5>t");
    assert!(hand.state.world.opened()[0].tried, "{}", hand.small());
    hand.elsewhere(None, vec![Fact::LotRecalled { di: None, lot: piece.lot }]);
    assert!(hand.state.said.words.contains("now STOP: RECALLED"), "{}", hand.state.said.words);
    let entries = hand.journal.len();
    hand.keys("<F5>a");
    assert_eq!(hand.journal.len(), entries, "{}", hand.small());
}

#[test]
fn a_box_typed_from_its_front_is_held_against_recalls_and_the_day() {
    let mut hand = Hand::demo();
    hand.room(vec![Fact::LotRecalled { di: None, lot: "K9".into() }]);
    hand.keys("<F4>yStranger<Tab><Tab><Tab>K9");
    // Each of the empty fields takes one.
    for _ in 0..8 {
        if hand.small().contains("If it is opened all the same") {
            break;
        }
        hand.keys("<Enter>");
    }
    assert_eq!(opened(&hand), 0, "{}", hand.small());
    hand.keys("<Enter>");
    assert_eq!(hand.state.world.opened()[0].finding.to_string(), "STOP: RECALLED", "{}", hand.small());
}

/// A readiness that changes, another call, a second box: nothing is announced of a box that is as it was.
#[test]
fn what_does_not_touch_a_box_changes_nothing_of_it() {
    let (mut hand, _) = at_hand();
    let code = case(&hand);
    let second = sizes(&hand).remove(1);
    hand.keys(&format!("<F2>{second}<Enter>"));
    let change = Fact::ReadinessChanged { call: 1, readiness: Readiness::HaveReady };
    hand.elsewhere(code, vec![change]);
    hand.elsewhere(None, vec![Fact::LotRecalled { di: None, lot: "ANOTHER".into() }]);
    assert!(!hand.state.rests() && !hand.state.said.words.contains("WAS"), "{}", hand.state.said.words);
    hand.keys("<F4>o");
    assert_eq!(opened(&hand), 1, "one key, as before: {}", hand.small());
    assert_eq!(hand.state.world.opened()[0].finding.to_string(), "SAME AS CALL 1");
}
