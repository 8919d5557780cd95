//! The accounting holds whatever was written in whatever order, and whatever is struck out of it afterwards.

use crate::entries::*;
use boxcall::case::{Case, Totals, Unsettled};
use boxcall::journal::{Entry, Fact, Fate, struck};
use boxcall::ledger;
use boxcall::report::{self, CaseReport};
use boxcall::shelf::Shelf;
use proptest::prelude::*;
use serde_json::Value;

fn journal(facts: Vec<Fact>) -> Journal {
    let mut journal = Journal::case();
    for fact in facts {
        journal.push(fact);
    }
    journal
}

fn json(case: &Case, shelf: &Shelf) -> Value {
    let text = report::json(&CaseReport {
        case,
        currency: "EUR",
        refill: shelf.refill(case),
        consigned: shelf.consigned_used(case),
        to_return: shelf.to_return(case),
        program: "boxcall",
        head: "",
        anchor: boxcall::journal::Anchor { entry: 9, hash: [0; 32] },
        anchor_to_scan: "",
        journal: &boxcall::journal::Statement::of_nothing(),
        code_to_scan: "",
        links: &[],
        written: Journal::at(900),
    });
    serde_json::from_str(&text).unwrap()
}

/// The equation of a record, as whoever gets the JSON works it out.
fn equation(totals: &Value) -> (u64, u64) {
    let number = |name: &str| totals[name].as_u64().unwrap();
    let unused: u64 = totals["opened_not_used"].as_object().unwrap().values().filter_map(Value::as_u64).sum();
    let told = ["implanted", "used", "lost", "not_found", "unsettled"].map(number).iter().sum::<u64>();
    (number("opened"), told + unused)
}

/// Every way in which the boxes of a case are counted comes to the same.
fn holds(journal: &Journal) -> Result<(), TestCaseError> {
    let case = journal.fold();
    let totals = case.totals();
    prop_assert_eq!(counted(&totals), totals.opened);
    let mut by_product = Totals::default();
    case.totals_by_product().values().for_each(|one| by_product.add(one));
    prop_assert_eq!(&by_product, &totals);
    // Counted once more, without the program's own counters.
    let with = |wanted: fn(&Fate) -> bool| {
        let fates = case.items.iter().filter(|item| item.is_opened()).filter_map(|item| item.fate.as_ref());
        fates.filter(|kept| wanted(&kept.fate)).count() as u32
    };
    prop_assert_eq!(with(|fate| matches!(fate, Fate::Implanted)), totals.implanted);
    prop_assert_eq!(with(|fate| matches!(fate, Fate::OpenedNotUsed { .. })), totals.unused_in_all());
    prop_assert_eq!(case.opened_not_used().len() as u32, totals.unused_in_all());
    prop_assert_eq!(case.opened().len() as u32, totals.opened);
    let open = case.unsettled().iter().filter(|one| matches!(one, Unsettled::Fate { .. })).count() as u32;
    prop_assert_eq!(open, totals.unsettled);
    prop_assert!(case.waste().cost <= case.cost().cost && case.waste().unpriced <= case.cost().unpriced);
    // What goes out says the same, and so do the totals over all cases.
    let shelf = Shelf::fold(&journal.entries);
    let record = json(&case, &shelf);
    let (opened, told) = equation(&record["totals"]);
    prop_assert_eq!((opened, told), (u64::from(totals.opened), u64::from(totals.opened)));
    for product in record["totals_by_product"].as_object().unwrap().values() {
        let (opened, told) = equation(product);
        prop_assert_eq!(opened, told);
    }
    let refilled: u32 = shelf.refill(&case).iter().map(|line| line.count).sum();
    prop_assert_eq!(refilled, totals.opened, "every opened box leaves a place to fill");
    let sums = ledger::sums(&journal.entries, &catalogue(), None);
    prop_assert_eq!(sums.sizes.iter().map(|size| size.opened).sum::<u32>(), totals.opened);
    for size in &sums.sizes {
        let told = size.implanted + size.used + size.not_used + size.lost + size.not_found + size.unsettled;
        prop_assert_eq!(size.opened, told);
    }
    prop_assert_eq!(sums.waste.iter().map(|one| one.count).sum::<u32>(), totals.unused_in_all());
    // An overlap speaks of two boxes that are open.
    for kept in &case.overlaps {
        for number in [kept.overlap.distal, kept.overlap.proximal] {
            prop_assert!(case.item(number).is_some_and(|item| item.is_opened()));
        }
    }
    Ok(())
}

/// Openings that stand are the boxes that are open, and those that are said to be loose.
fn standing_openings(entries: &[Entry]) -> usize {
    let struck = struck(entries);
    let opening =
        |entry: &&Entry| matches!(entry.fact, Fact::BoxOpened { .. }) && !struck.contains(&entry.seq);
    entries.iter().filter(opening).count()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_equation_holds_at_every_step(facts in prop::collection::vec(any_fact(), 0..40)) {
        let mut journal = Journal::case();
        holds(&journal)?;
        for fact in facts {
            journal.push(fact);
            holds(&journal)?;
        }
    }

    #[test]
    fn whatever_is_struck_out_the_equation_holds(
        facts in prop::collection::vec(any_fact(), 1..40), order in prop::collection::vec(any::<prop::sample::Index>(), 1..12)
    ) {
        let mut journal = journal(facts);
        for at in order {
            let entry = at.index(journal.entries.len()) as u64 + 1;
            journal.strike(entry);
            holds(&journal)?;
            let case = journal.fold();
            let loose = case.orphans.iter().filter(|loose| {
                matches!(journal.entries[loose.seq as usize - 1].fact, Fact::BoxOpened { .. })
            });
            prop_assert_eq!(standing_openings(&journal.entries), case.opened().len() + loose.count());
        }
    }

    /// No case is so muddled that later entries could not settle it.
    #[test]
    fn what_is_unsettled_is_settled_by_new_entries(facts in prop::collection::vec(any_fact(), 0..40)) {
        let mut journal = journal(facts);
        let opened = journal.fold().totals().opened;
        for _ in 0..4 {
            for one in journal.fold().unsettled() {
                match one {
                    Unsettled::Fate { item, .. } => journal.fate(item, Fate::NotFound),
                    Unsettled::AtHand { item, .. } => journal.put_back(item, Default::default()),
                    Unsettled::Call { call, .. } => journal.push(Fact::CallCancelled { call }),
                    Unsettled::Orphan { entry, .. } => journal.strike(entry),
                };
            }
        }
        let case = journal.fold();
        prop_assert_eq!(case.unsettled(), []);
        prop_assert_eq!(case.totals().opened, opened, "settling opens and closes no box");
        holds(&journal)?;
    }
}

#[test]
fn put_back_is_counted_apart() {
    let mut journal = Journal::case();
    journal.put_back(1, fell(FELL_30029, 3.0, 29.0, "L1"));
    journal.at_hand(2, None, fell(FELL_30029, 3.0, 29.0, "L2"));
    let totals = journal.fold().totals();
    assert_eq!((totals.opened, totals.put_back, totals.at_hand), (0, 1, 1));
}

/// 900 and 150.5 are the prices of the two in `entries.rs`; a box without one is counted, never guessed.
#[test]
fn cost_is_told_when_prices_are_there() {
    let mut journal = Journal::case();
    journal.open(1, None, fell(FELL_30029, 3.0, 29.0, "L1"));
    journal.fate(1, Fate::Implanted);
    journal.open(2, None, beck());
    journal.fate(2, Fate::OpenedNotUsed { why: boxcall::journal::Unused::Damaged });
    journal.open(3, None, boxcall::journal::BoxRead { price: None, ..beck() });
    journal.fate(3, Fate::OpenedNotUsed { why: boxcall::journal::Unused::Damaged });
    let case = journal.fold();
    assert_eq!((case.cost().cost, case.cost().unpriced), (1050.5, 1));
    assert_eq!((case.waste().cost, case.waste().unpriced), (150.5, 1));
    let record = json(&case, &Shelf::default());
    assert_eq!(record["opened_cost"]["cost"], 1050.5);
    assert_eq!(record["opened_not_used"]["unpriced"], 1);
}
