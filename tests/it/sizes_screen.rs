//! The Sizes screen as the operator and the nurse use it: axes, order, reasons, comparison, plans.

use crate::hand::{Hand, demo_catalogue, demo_pieces};
use boxcall::fit;
use boxcall::journal::Fact;
use boxcall::lesion::{Measurements, Reading, check};
use boxcall::measure::{Method, Rule};
use boxcall::policy::Policy;
use boxcall::tui::state::{Message, Screen, Spot, sizes};
use boxcall::units::{Diameter, Length};

const MEASURE: &str = "<Esc>mo<Tab>2.9<Tab>3.2<Tab>3.2<Tab>3.5<Tab>26";

fn measured() -> Hand {
    let mut hand = Hand::demo();
    hand.keys(MEASURE).keys("<Enter><Esc>");
    hand
}

fn on(hand: &mut Hand, diameter: f64, length: f64) {
    let place = hand.state.screens().sizes.grid().place(Diameter::from_mm(diameter), Length::from_mm(length));
    let (row, column) = place.expect("the grid has it");
    hand.send(Message::Click(Spot::Cell { row, column }));
}

#[test]
fn a_measured_lesion_is_called_within_twelve_keys_after_its_numbers() {
    let mut hand = Hand::demo();
    hand.keys(MEASURE);
    let keys = ["<Enter>", "<Esc>", "3", " ", "2", "8", "<Enter>"];
    for key in keys {
        hand.keys(key);
    }
    assert!(keys.len() <= 12);
    let called = hand.journal.iter().filter(|entry| matches!(entry.fact, Fact::Called { .. })).count();
    assert_eq!(called, 1, "{}", hand.small());
}

/// 3.20 lies between the labelled 3.00 and 3.25, and 26 mm are needed (design, section 6: rounding down, OCT has no
/// margins).
#[test]
fn the_measures_stand_between_the_sizes_where_they_fall() {
    let hand = measured();
    let (axes, grid) =
        (hand.state.screens().sizes.axes().expect("measured"), hand.state.screens().sizes.grid());
    assert!(grid.diameters[axes.aim_row - 1].mm() <= 3.2 && grid.diameters[axes.aim_row].mm() > 3.2);
    assert!(grid.lengths[axes.need_column - 1].mm() < 26.0 && grid.lengths[axes.need_column].mm() >= 26.0);
    let screen = hand.small();
    let rows: Vec<&str> = screen.lines().collect();
    let aim = rows.iter().position(|row| row.contains("distal EEM 3.20 ─")).expect("its line");
    assert!(rows[aim - 1].contains(" 3.00▸") && rows[aim + 1].contains(" 3.25"), "{screen}");
    assert!(rows[aim].contains("needs 26 mm"), "{screen}");
    // The rule stands before 26: everything behind it is long enough.
    let header = rows.iter().find(|row| row.contains("▾")).expect("the lengths");
    let behind = header.split('▾').nth(1).expect("lengths");
    assert!(behind.trim_start().starts_with("26 "), "{header}");
}

/// Rounding up takes a labelled diameter that is exactly the measure: the line stands before it (design, section 6).
#[test]
fn a_size_that_is_the_measure_itself_stands_on_the_side_that_the_rule_takes() {
    for (typed, below) in
        [("<Esc>mo<Tab>3.0<Tab><Tab><Tab><Tab>26", false), ("<Esc>mo<Tab><Tab>3.0<Tab><Tab><Tab>26", true)]
    {
        let mut hand = Hand::demo();
        hand.keys(typed);
        let sizes = &hand.state.screens().sizes;
        let row = sizes.grid().diameters.iter().position(|d| d.mm() == 3.0).expect("3.00");
        assert_eq!(sizes.axes().expect("measured").aim_row, if below { row + 1 } else { row }, "{typed}");
    }
}

#[test]
fn letters_follow_the_ranks_of_the_best_box_of_each_cell() {
    let hand = measured();
    let cells = hand.state.screens().sizes.grid().cells.iter().flatten();
    let mut ranked: Vec<(u32, u32)> = cells.filter_map(|cell| Some((cell.rank?, cell.order?))).collect();
    ranked.sort_unstable();
    assert!(ranked.len() > 3);
    assert!(ranked.iter().enumerate().all(|(place, (_, order))| *order as usize == place + 1), "{ranked:?}");
    let judgement = hand.state.work.judgement.as_ref().expect("measured");
    for cell in hand.state.screens().sizes.grid().cells.iter().flatten() {
        let verdicts: Vec<_> = cell
            .boxes
            .iter()
            .filter_map(|boxed| {
                boxed.judged.map(|index| {
                    (judgement.sizes[index].verdict, judgement.sizes[index].rank.unwrap_or(u32::MAX))
                })
            })
            .collect();
        assert!(verdicts.is_sorted(), "the best box of a cell comes first: {verdicts:?}");
        assert!(!cell.letter().is_some_and(|letter| "ilox".contains(letter)), "read as 1, 0 or a sign");
    }
}

/// Every size of the demo, for every rule: the reason is one line of 78 columns, or the source says where it is from.
#[test]
fn why_and_why_not_are_told_in_a_line_each() {
    let (catalogue, policy) = (demo_catalogue(), Policy::default());
    let pieces = demo_pieces(&catalogue);
    let mm = |value| Some(Reading::One(Diameter::from_mm(value)));
    let mut told = 0;
    for rule in Rule::ALL {
        for (distal, proximal, length, limit) in
            [(2.6, 3.4, 26.0, None), (3.0, 3.1, 34.0, Some(35.0)), (3.9, 4.6, 12.0, None)]
        {
            let measured = Measurements {
                method: Some(Method::Oct),
                rule: Some(*rule),
                distal_lumen: mm(distal),
                distal_eem: mm(distal + 0.3),
                proximal_lumen: mm(proximal),
                proximal_eem: mm(proximal + 0.3),
                length: Some(Length::from_mm(length)),
                limit: limit.map(Length::from_mm),
                ..Measurements::default()
            };
            let lesion = check(&measured, &policy, &catalogue.guides).expect("believed");
            let today = chrono::NaiveDate::from_ymd_opt(2026, 11, 25).expect("a day");
            let judged = fit::judge(&catalogue, &policy.judged, &lesion, &policy, Some(&pieces), today);
            for size in &judged.sizes {
                let why = size.short_reason(&catalogue, &lesion, &policy);
                let start = if size.verdict.is_fit() { "Why: " } else { "Why not: " };
                assert!(why.what.starts_with(start) && why.what.len() > start.len() + 8, "{why:?}");
                assert!(why.what.chars().count() <= 78, "{}", why.what);
                assert!(why.source.is_some(), "{why:?}");
                assert!(!why.what.contains("NaN") && !why.what.contains('?'), "{why:?}");
                told += 1;
            }
        }
    }
    assert!(told > 1000);
}

#[test]
fn two_boxes_stand_side_by_side_and_what_differs_comes_first() {
    let mut hand = measured();
    on(&mut hand, 3.0, 26.0);
    hand.keys("c");
    on(&mut hand, 3.0, 29.0);
    let compared = hand.state.screens().sizes.compared(&hand.state).expect("two boxes");
    let first_same = compared.rows.iter().position(|row| !row.differs()).unwrap_or(compared.rows.len());
    assert!(first_same > 0 && compared.rows[first_same..].iter().all(|row| !row.differs()));
    let row = |name: &str| compared.rows.iter().find(|row| row.name == name).expect(name).clone();
    let length = row("length");
    assert_eq!((length.one.as_str(), length.other.as_str()), ("exact", "3 mm over"));
    // The digit that tells 26 from 29 is marked in both.
    for (size, marked) in &compared.sizes {
        let digits: String = marked.iter().filter_map(|place| size.chars().nth(*place)).collect();
        assert_eq!(digits, if size.ends_with("26") { "6" } else { "9" }, "{size}");
    }
    assert!(hand.small().contains("exact") && hand.screen(160, 45).contains("3 mm over"));
    hand.keys("<Esc>");
    assert!(hand.state.screens().sizes.compared(&hand.state).is_none(), "one key ends the comparison");
    assert!(hand.state.screens().sizes.cursor().is_some(), "and leaves the cursor where it stands");
}

#[test]
fn another_product_of_the_size_is_one_key_away() {
    let mut hand = measured();
    let grid = hand.state.screens().sizes.grid();
    let several = (0..grid.diameters.len())
        .flat_map(|row| (0..grid.lengths.len()).map(move |column| (row, column)))
        .find(|(row, column)| grid.cell(*row, *column).is_some_and(|cell| cell.boxes.len() > 1));
    let (row, column) = several.expect("one that several have");
    hand.send(Message::Click(Spot::Cell { row, column }));
    let name = |hand: &Hand| hand.state.screens().sizes.box_here().expect("a box").name.clone();
    let first = name(&hand);
    hand.keys("b");
    assert_ne!(name(&hand), first);
    assert!(hand.small().contains(&format!("{} ", name(&hand))), "{}", hand.small());
}

#[test]
fn the_whole_arithmetic_is_one_key_away_and_left_by_one() {
    let mut hand = measured();
    on(&mut hand, 3.0, 29.0);
    hand.keys("w");
    assert!(hand.small().contains("Rule distal-EEM") && hand.small().contains("Labelled diameter"));
    hand.keys("<↓><↓><↓>w");
    assert!(hand.state.over().is_none());
}

#[test]
fn the_vessel_is_drawn_to_scale_with_what_stands_past_the_need() {
    let mut hand = measured();
    on(&mut hand, 3.0, 29.0);
    hand.keys("v");
    let screen = hand.small();
    for words in ["landing zones 26 mm", "3 mm past the need", "EEM 3.20 to 3.50 · lumen 2.90 to 3.20"] {
        assert!(screen.contains(words), "{words}\n{screen}");
    }
    // 26 of 29 mm: the ruler takes as large a share of the bar (a column is at most 0.6 mm here).
    let wide = |mark: char| {
        screen.lines().find(|line| line.contains(mark)).map(|line| {
            let columns: Vec<char> = line.chars().skip(28).collect();
            let last = columns.iter().rposition(|c| *c == mark).expect("there");
            last + 1
        })
    };
    let (need, device) = (wide('┤').expect("a ruler"), wide('━').expect("a bar"));
    let share = need as f64 / device as f64;
    assert!((share - 26.0 / 29.0).abs() < 0.03, "{share}");
    hand.keys("<Esc>");
    assert!(!hand.small().contains("3 mm past the need"));
}

#[test]
fn lesions_of_one_case_are_planned_out_of_one_shelf_and_called_together() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>mo<Tab>2.7<Tab>3.1<Tab>3.2<Tab>3.6<Tab>62<Enter><Esc>");
    hand.keys("lmo<Tab>2.9<Tab>3.2<Tab>3.2<Tab>3.5<Tab>26<Enter>s");
    assert_eq!(hand.state.overlay_place(), Some(&sizes::plans::PLACE));
    hand.keys("t");
    let screen = hand.small();
    assert!(screen.contains("2 lesions out of one shelf"), "{screen}");
    let all = screen.split("In all ").nth(1).and_then(|rest| rest.split(' ').next()).expect("how many");
    let devices: usize = all.parse().expect("a number");
    hand.keys("<Enter>");
    assert_eq!(hand.state.screen(), Screen::Fetch);
    let lesions: Vec<Option<u8>> = hand
        .journal
        .iter()
        .filter_map(|entry| match &entry.fact {
            Fact::Called { lesion, .. } => Some(*lesion),
            _ => None,
        })
        .collect();
    assert_eq!(lesions.len(), devices);
    assert!(lesions.contains(&Some(1)) && lesions.contains(&Some(2)));
}

#[test]
fn nothing_is_planned_or_called_by_leaving_the_plans() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>mo<Tab>2.7<Tab>3.1<Tab>3.2<Tab>3.6<Tab>62<Enter><Esc>s");
    let before = hand.journal.len();
    hand.keys("<Esc>");
    assert!(hand.state.over().is_none());
    assert_eq!(hand.journal.len(), before);
}

#[test]
fn no_cursor_stands_on_the_best_size_by_itself() {
    let hand = measured();
    assert_eq!(hand.state.screens().sizes.cursor(), None);
}

/// The order is the engine's own (design, section 6: rank); a large screen shows it with where each box lies.
#[test]
fn a_large_screen_lists_what_fits_in_its_order_with_its_place() {
    let mut hand = measured();
    let heading = "First by the rules";
    assert!(!hand.small().contains(heading), "no room for it: {}", hand.small());
    let screen = hand.screen(160, 45);
    assert!(screen.contains(heading), "{screen}");
    let judgement = hand.state.work.judgement.clone().expect("measured");
    let ranked = judgement.ranked();
    let listed = hand.state.screens().sizes.in_order(&hand.state, usize::MAX);
    assert_eq!(listed.len(), ranked.len());
    for (line, size) in listed.iter().zip(&ranked) {
        assert_eq!((line.diameter, line.length, line.verdict), (size.diameter, size.length, size.verdict));
        assert_eq!(line.pieces, size.on_shelf);
    }
    let first = &listed[0];
    let place = first.place.clone().expect("it lies somewhere");
    let y = screen.lines().position(|row| row.contains(heading)).expect("the heading") + 1;
    let row = screen.lines().nth(y).expect("its first line");
    assert!(row.contains(&format!("{} × {}", first.diameter, first.length)) && row.contains(&place), "{row}");
    // A click looks at it, and calls nothing.
    let before = hand.journal.len();
    let x = row.chars().take_while(|c| *c != '×').count();
    let spot = hand.hits(160, 45).at(x as u16, y as u16).expect("it can be pointed at");
    hand.send(Message::Click(spot));
    assert_eq!(hand.state.screens().sizes.cursor(), Some(first.cell));
    assert_eq!(hand.journal.len(), before);
    // One product alone lists its own.
    hand.keys("p");
    let alone = hand.state.work.product.clone().expect("one alone");
    let name = hand.state.world.catalogue.product(&alone).expect("known").name.clone();
    assert!(hand.state.screens().sizes.in_order(&hand.state, 99).iter().all(|line| line.name == name));
}
