//! The decimal mark of the reader: everywhere on the screens, nowhere in what is written.

use crate::hand::{Hand, demo_catalogue, demo_pieces};
use boxcall::journal::{Entry, Fact};
use boxcall::tui::settings::Settings;
use boxcall::tui::state::{State, World};
use boxcall::units::Decimal;

/// The demo room, read with this mark.
fn room(mark: Decimal) -> Hand {
    let catalogue = demo_catalogue();
    let pieces = demo_pieces(&catalogue);
    let mut hand = Hand::with(catalogue, Vec::new());
    let settings = Settings { decimal: Some(mark), ..Settings::default() };
    let world: World = hand.state.world.clone();
    hand.state = State::new(world, settings);
    hand.room(vec![Fact::StockLoaded { from: "stock.csv".into(), pieces }]);
    hand.state.world.demo = true;
    hand
}

/// A case from its measures to its sign-off; after each step the screen is looked at.
const STEPS: &[&str] = &[
    "<Esc>mo<Tab>2.9<Tab>3.2<Tab>3.2<Tab>3.5<Tab>27<Tab><Tab><Tab><Tab>6<Tab><Tab>6<Tab>",
    "<Enter><Esc><→><↓>w",
    "w<Esc><Esc>3.5 29<Enter>",
    "u",
    "<Esc>3 29<Enter><Esc><F3>",
    "P",
    "o3.0x29<Enter>",
    "i14.5<Tab>",
    "<Tab>20<Enter>",
    "b<Backspace><Backspace><Backspace>3.3<Enter>",
    "<Esc>f1",
    "e<Tab>6.1<Tab>6.4<Tab>7.4<Enter>",
    "<F2>m<Tab>9<Enter>",
    "<Esc><Esc>/29 3.0",
    "<Esc><F7>",
    "<→><→>",
    "<→>",
    "<F9>",
    "<Esc><F6>",
    "s<Enter>",
];

/// A figure, a point, a figure: none is left where numbers have commas.
fn with_a_point(screen: &str) -> Option<String> {
    let chars: Vec<char> = screen.chars().collect();
    let at = chars
        .windows(3)
        .position(|three| three[0].is_ascii_digit() && three[1] == '.' && three[2].is_ascii_digit())?;
    Some(chars[at.saturating_sub(20)..(at + 20).min(chars.len())].iter().collect())
}

#[test]
fn every_number_that_is_read_has_the_readers_mark_and_what_is_written_has_a_point() {
    let (mut point, mut comma) = (room(Decimal::Point), room(Decimal::Comma));
    let mut seen = 0;
    for step in STEPS {
        point.keys(step);
        comma.keys(step);
        // What is being typed stands as it is typed, and a source is a citation.
        let typing = comma.state.over().is_some() && comma.state.place().takes_text();
        let screen = comma.screen(160, 45);
        // So do the studies that the whole arithmetic cites.
        if !typing && !screen.contains("Why, step by step") {
            // Why an entry was struck out is a text of the journal, an item with a par one of the protocol's file:
            // they stand as they were written.
            let made_here: Vec<&str> = screen
                .lines()
                .filter(|line| !line.contains("undone: ") && !line.contains(" have ×"))
                .collect();
            assert_eq!(with_a_point(&made_here.join("\n")), None, "after {step}:\n{screen}");
            seen += usize::from(with_a_point(&point.screen(160, 45)).is_some());
            assert_eq!(
                point.screen(160, 45).matches(char::is_numeric).count(),
                screen.matches(char::is_numeric).count(),
                "{step}"
            );
        }
    }
    assert!(seen > 10, "{seen} screens had a number with decimals");
    let body = |entry: &Entry| entry.body().expect("a body");
    let (written, as_ever): (Vec<String>, Vec<String>) =
        (comma.journal.iter().map(body).collect(), point.journal.iter().map(body).collect());
    assert_eq!(written, as_ever);
}

#[test]
fn either_mark_is_taken_whatever_is_shown() {
    for mark in [Decimal::Point, Decimal::Comma] {
        for typed in ["3.5 29", "3,5 28", "3,50x29"] {
            let mut hand = room(mark);
            hand.keys(&format!("<Esc>{typed}<Enter>"));
            let Some(Fact::Called { wanted, .. }) = hand.journal.last().map(|entry| &entry.fact) else {
                panic!("{typed}: {:?}", hand.journal.last())
            };
            assert_eq!(wanted.diameter.map(|d| d.mm()), Some(3.5), "{typed}");
        }
        for query in ["29 3.0 fell", "29 3,0 fell"] {
            let mut hand = room(mark);
            hand.keys(&format!("<Esc>/{query}"));
            let screen = hand.small();
            assert!(screen.contains("Find: ") && !screen.contains("nothing is spelt like that"), "{query}");
        }
    }
}

/// What the journal has in words is the same whoever reads the screen: why a size was called, and of which plan it is
/// a part.
#[test]
fn the_words_of_a_call_have_a_point_whatever_the_mark() {
    let bodies = |mark| -> Vec<String> {
        let mut hand = room(mark);
        hand.keys("<Esc>mo<Tab>2.7<Tab>3.005<Tab>3.2<Tab>3.6<Tab>20<Enter><Esc>3.0x29<Enter>");
        hand.keys("<F2>l<Esc>mo<Tab>2.7<Tab>3.1<Tab>3.2<Tab>3.6<Tab>62.5<Enter><Esc>s<Enter>");
        hand.journal.iter().map(|entry| entry.body().expect("a body")).collect()
    };
    let [point, comma] = [Decimal::Point, Decimal::Comma].map(bodies);
    assert_eq!(comma, point);
    assert!(point.iter().any(|body| body.contains("2.75 equally possible")), "{point:#?}");
    assert!(point.iter().any(|body| body.contains("one of a span: ")), "{point:#?}");
}
