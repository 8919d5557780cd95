//! The page for the wall, on the demo room's shelf. What must stand there is read off catalogues/room/stock.csv and
//! policy.toml by hand.

use boxcall::catalogue::{self, Catalogue, demo};
use boxcall::journal::{Entry, Fact};
use boxcall::policy;
use boxcall::report::Wall;
use boxcall::shelf::Shelf;

fn demo_catalogue() -> Catalogue {
    let files: Vec<_> = demo::files().into_iter().map(|(name, text)| (name.into(), text.into())).collect();
    catalogue::read(&files).unwrap()
}

fn entry(seq: u64, fact: Fact) -> Entry {
    let at = "2026-11-25T07:00:00+01:00".parse().unwrap();
    Entry { seq, at, command: format!("c{seq}"), case: None, fact }
}

fn wall(today: &str, more: &[Fact]) -> Wall {
    let catalogue = demo_catalogue();
    let stock = catalogue::stock::read("stock.csv", demo::stock(), &catalogue).unwrap();
    let mut entries = vec![entry(1, Fact::StockLoaded { from: "demo".into(), pieces: stock.pieces })];
    entries.extend(more.iter().enumerate().map(|(at, fact)| entry(at as u64 + 2, fact.clone())));
    let policy = policy::read("policy.toml", demo::policy()).unwrap();
    let shelf = Shelf::fold_with(&catalogue, &entries);
    Wall::new(&shelf, &catalogue, &policy, today.parse().unwrap())
}

/// The lines under a heading of the plain page.
fn under(page: &str, heading: &str) -> Vec<String> {
    let rest = page.split_once(&format!("\n{}", heading.to_uppercase())).expect(heading).1;
    let lines = rest.lines().skip(1).take_while(|line| !line.is_empty());
    lines.map(|line| line.trim_start().trim_start_matches("[ ] ").to_string()).collect()
}

#[test]
fn the_page_says_what_is_there_and_what_is_not() {
    let recall = Fact::LotRecalled { di: None, lot: "FL55693".into() };
    let page = wall("2026-12-01", &[recall]).text();
    assert_eq!(
        under(&page, "expires today"),
        ["cupboard 1, shelf A: ×1 2.25 × 20 Fell (FL22520), lot FL56409, use by 2026-12-01"]
    );
    assert_eq!(under(&page, "expires within 7 days").len(), 3, "two on 2026-12-03, one on 2026-12-04");
    assert!(under(&page, "expired and").iter().any(|line| line.contains("lot FL62068, use by 2026-10-15")));
    assert_eq!(under(&page, "recalled and").len(), 1);
    let items = under(&page, "bail-out and other");
    assert!(items.contains(&"MISSING: OX30021 Oxbow, cupboard 5, shelf A: 0 of 1".to_string()), "{items:?}");
    assert!(items.contains(&"ES-2 Estuary, cupboard 5, shelf B: 2 of 1".to_string()));
    let covered = under(&page, "bail-out: covered");
    assert!(covered.iter().any(|line| line.ends_with("needs 7 Fr")));
    assert!(covered.iter().all(|line| !line.contains("OX30021")), "its only piece is past its date");
    assert!(under(&page, "below par").contains(&"3.00x39: 1 of 2".to_string()));
}

#[test]
fn an_empty_shelf_is_said_to_be_empty() {
    let none = Fact::StockLoaded { from: "nothing".into(), pieces: Vec::new() };
    let page = wall("2026-12-02", &[none]).text();
    assert_eq!(under(&page, "bail-out: covered"), ["NONE IN DATE"]);
    assert_eq!(under(&page, "gaps").len(), 5, "every segment with a published band");
    assert!(under(&page, "bail-out and other").iter().all(|line| line.starts_with("MISSING")));
    assert_eq!(under(&page, "last pieces"), ["none"]);
}

#[test]
fn names_cannot_format_the_page() {
    let mut piece = catalogue::stock::read("s", demo::stock(), &demo_catalogue()).unwrap().pieces.remove(0);
    piece.lot = "*L_1*".into();
    piece.use_by = Some("2026-12-02".parse().unwrap());
    let page = wall("2026-12-02", &[Fact::StockLoaded { from: "x".into(), pieces: vec![piece] }]).markdown();
    assert!(page.contains("lot \\*L\\_1\\*"));
}
