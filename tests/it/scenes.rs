//! The moments of a case that are looked at: each is reached by a hand at the keyboard.

use crate::hand::Hand;
use crate::overlap::two_stents;
use boxcall::catalogue::Piece;
use boxcall::shelf::scan_of;
use boxcall::tui::state::{Message, Spot, welcome};
use std::sync::LazyLock;

/// A moment, and what it is called in snapshots.
pub struct Scene {
    pub name: &'static str,
    pub hand: Hand,
}

fn measured(hand: &mut Hand) -> &mut Hand {
    hand.keys(
        "<Esc>mo<Tab>2.9<Tab>3.2<Tab>3.2<Tab>3.5<Tab>27<Tab><Tab><Tab><Tab>6<Tab><Tab>6<Tab><Enter><Esc>",
    )
}

fn with_cursor(hand: &mut Hand) -> &mut Hand {
    let grid = hand.state.screens().sizes.grid();
    let row = grid.diameters.iter().position(|d| d.mm() == 3.0).expect("3.00 is in the grid");
    let column = grid.lengths.iter().position(|l| l.mm() == 29.0).expect("29 is in the grid");
    hand.send(Message::Click(Spot::Cell { row, column }));
    hand
}

fn fell(hand: &mut Hand) -> &mut Hand {
    while hand.state.work.product.as_deref() != Some("fell") {
        hand.keys("p");
    }
    hand
}

fn called(hand: &mut Hand) -> &mut Hand {
    fell(measured(hand)).keys("3 29<Enter>2.5 29h<F3>")
}

fn brought(hand: &Hand) -> Piece {
    hand.state.card().and_then(|card| card.bring).expect("it lies on the shelf").piece
}

fn scanned(hand: &mut Hand, which: impl Fn(&Piece, &Hand) -> bool) -> &mut Hand {
    let pieces = hand.state.world.shelf.pieces().into_iter().cloned().collect::<Vec<_>>();
    let piece = pieces.into_iter().find(|piece| which(piece, hand)).expect("the demo shelf has one");
    let label = String::from_utf8(scan_of(&piece)).expect("text");
    hand.scan(&label)
}

fn right_box(hand: &mut Hand) -> &mut Hand {
    let wanted = brought(hand);
    scanned(hand, |piece, _| *piece == wanted)
}

fn opened(hand: &mut Hand) -> &mut Hand {
    right_box(called(hand)).keys("o3.0x29<Enter>i14<Tab><Tab>20<Enter>")
}

/// Boxes of a delivery, each with a serial number of its own; returns the last one's label.
fn receiving(hand: &mut Hand) -> String {
    hand.keys("<Esc><F7>icupboard 9<Tab>c<Enter><Enter>");
    let pieces: Vec<Piece> = hand.state.world.shelf.pieces().into_iter().take(17).cloned().collect();
    let mut label = String::new();
    for (number, piece) in pieces.into_iter().enumerate() {
        let new = Piece { serial: Some(format!("R{number:03}")), ..piece };
        label = String::from_utf8(scan_of(&new)).expect("text");
        hand.scan(&label);
    }
    label
}

fn two_stents_overlapping() -> Hand {
    let mut hand = two_stents();
    hand.keys("3");
    hand
}

/// Every moment, in the order of a case; walked to once for all tests.
pub fn all() -> &'static [Scene] {
    static SCENES: LazyLock<Vec<Scene>> = LazyLock::new(walked);
    &SCENES
}

fn walked() -> Vec<Scene> {
    let scene = |name, walk: &dyn Fn(&mut Hand)| {
        let mut hand = Hand::demo();
        walk(&mut hand);
        Scene { name, hand }
    };
    let bare = |name, walk: &dyn Fn(&mut Hand)| {
        let mut hand = Hand::bare();
        walk(&mut hand);
        Scene { name, hand }
    };
    vec![
        scene("welcome", &|hand| hand.state.open(welcome::Welcome)),
        bare("first-steps", &|_| {}),
        bare("first-steps-shown-before", &|hand| {
            hand.keys("<Enter>");
        }),
        bare("first-steps-faults", &|hand| {
            hand.keys("<Enter><Enter><Enter>tests/data/products_with_slips.csv<Enter>");
        }),
        bare("first-steps-half", &|hand| {
            hand.keys("<Enter><Enter><Enter>tests/data/products.csv<Enter><Enter>");
        }),
        bare("first-steps-scanner", &|hand| {
            hand.keys("<↓><↓><↓><↓><↓><Enter>").scan("]d201095210013002921728022810LOT721S0001");
        }),
        scene("tour", &|hand| {
            hand.state.open(welcome::Welcome);
            hand.keys("<Enter>mo<Tab>2.8<Tab>3.1<Tab>3.3<Tab>3.6<Tab>27<Enter><Esc>3 29<Enter><F3>W");
        }),
        scene("sizes-nothing-measured", &|hand| {
            hand.keys("<Esc>");
        }),
        scene("sizes-measuring", &|hand| {
            hand.keys("<Esc>mo<Tab>2.9<Tab>3.2<Tab>3.2<Tab>3.5<Tab>27");
        }),
        scene("sizes-judged", &|hand| {
            with_cursor(fell(measured(hand)));
        }),
        scene("sizes-why", &|hand| {
            with_cursor(fell(measured(hand))).keys("w");
        }),
        scene("sizes-why-not", &|hand| {
            with_cursor(fell(measured(hand))).keys("<↑><↑>");
        }),
        scene("sizes-compared", &|hand| {
            with_cursor(fell(measured(hand))).keys("c<→><→>");
        }),
        scene("sizes-vessel", &|hand| {
            with_cursor(fell(measured(hand))).keys("v");
        }),
        scene("sizes-lesions-together", &|hand| {
            hand.keys("<Esc>mo<Tab>2.7<Tab>3.1<Tab>3.2<Tab>3.6<Tab>62<Enter><Esc>");
            hand.keys("lmo<Tab>2.9<Tab>3.2<Tab>3.2<Tab>3.5<Tab>27<Enter>st");
        }),
        scene("sizes-beside-what-is-in", &|hand| {
            opened(hand).keys("f1<F2>m<Tab><Tab><Tab><Tab><Tab><Backspace><Backspace>50<Enter>si0<Enter>");
        }),
        scene("sizes-side-branch", &|hand| {
            hand.keys("<Esc>mo<Tab>2.9<Tab>3.2<Tab>3.4<Tab>3.7<Tab>27<Tab>2.5<Tab>10<Enter><Esc>");
        }),
        scene("sizes-span", &|hand| {
            hand.keys("<Esc>mo<Tab>2.7<Tab>3.1<Tab>3.2<Tab>3.6<Tab>62<Tab>2.5<Tab>30<Enter><Esc>s");
        }),
        scene("sizes-find", &|hand| {
            hand.keys("<Esc>/29 3.0 fell");
        }),
        scene("case-code", &|hand| {
            hand.keys("<Esc>n");
        }),
        scene("fetch", &|hand| {
            called(hand);
        }),
        scene("read-back-same", &|hand| {
            right_box(called(hand)).keys("o3.0x29<Enter><F2>=<F3>");
            right_box(hand);
        }),
        scene("read-back-different", &|hand| {
            let wanted = |piece: &Piece, hand: &Hand| {
                piece.di != brought(hand).di && piece.in_date(hand.state.world.today())
            };
            scanned(called(hand), wanted);
        }),
        scene("read-back-expired", &|hand| {
            scanned(called(hand), |piece, hand| !piece.in_date(hand.state.world.today()));
        }),
        scene("read-back-not-known", &|hand| {
            called(hand).scan("]d20109521234543213172802281042K");
        }),
        scene("opened", &|hand| {
            opened(hand);
        }),
        scene("opened-inflating", &|hand| {
            opened(hand).keys("i16");
        }),
        scene("opened-balloon-up", &|hand| {
            opened(hand).keys("c<↓><↓><↓><↓><↓>");
        }),
        scene("opened-fate", &|hand| {
            opened(hand).keys("f");
        }),
        scene("opened-balloon", &|hand| {
            opened(hand).keys("b<Backspace><Backspace><Backspace><Backspace>3.3<Enter>");
        }),
        scene("opened-expansion", &|hand| {
            opened(hand).keys("f1e<Tab>6.1<Tab>6.4<Tab>7.4<Enter>");
        }),
        Scene { name: "opened-overlap", hand: two_stents_overlapping() },
        scene("case-end", &|hand| {
            opened(hand).keys("f1<F6>");
        }),
        scene("case-end-signed", &|hand| {
            opened(hand).keys("f1<F3><Delete><F6>s<Enter>");
        }),
        scene("case-end-drawn", &|hand| {
            *hand = two_stents_overlapping();
            hand.keys("<Enter>i12<Enter><F6><PgDn>");
        }),
        scene("shelf", &|hand| {
            hand.keys("<Esc><F7>");
        }),
        scene("shelf-by-size", &|hand| {
            hand.keys("<Esc><F7><→>");
        }),
        scene("shelf-expires", &|hand| {
            hand.keys("<Esc><F7><→><→><→>");
        }),
        scene("shelf-receiving", &|hand| {
            receiving(hand);
        }),
        scene("shelf-not-counted", &|hand| {
            let label = receiving(hand);
            hand.scan(&label);
        }),
        scene("shelf-sum", &|hand| {
            receiving(hand);
            hand.keys("d");
        }),
        scene("bail-out", &|hand| {
            measured(hand).keys("<F9>");
        }),
        scene("go-to", &|hand| {
            hand.keys("<Esc>g");
        }),
        scene("help", &|hand| {
            hand.keys("<Esc><F1>");
        }),
    ]
}
