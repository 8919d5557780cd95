//! `/` over 50,000 boxes, keystroke by keystroke, next to one plain pass that looks for the same letters in the same text.
//!
//! `cargo bench --bench find`. The promise: under 10 ms at each keystroke.

mod timing;

use boxcall::catalogue::{Catalogue, Owner, Piece, Platform, Product};
use boxcall::journal::Fact;
use boxcall::shelf::Shelf;
use boxcall::shelf::find::{Index, Lots};
use boxcall::udi::{DeviceId, mod10_check};
use std::time::Duration;
use timing::timed;

const PRODUCTS: usize = 500;
const ROUNDS: usize = 15;
const QUERIES: [&str; 7] =
    ["27 3.0", "3x27", "fell42 3.25x17", "flel42", "lot1234", "p42-3-27", "drug 2.75 32"];

fn identifier(number: usize) -> DeviceId {
    let body = format!("0952{number:09}");
    let check = mod10_check(&body).expect("digits");
    DeviceId::parse(&format!("{body}{check}")).expect("an identifier")
}

fn catalogue() -> Catalogue {
    let names = ["Dale", "Fell", "Beck", "Scar", "Holm", "Outcrop", "Gorse", "Thicket", "Brae", "Skerry"];
    let product = |number: usize| Product {
        name: format!("{}{number}", names[number % names.len()]),
        ..Product::invented(format!("p{number:04}"), (0..10).map(|d| platform(number, d)).collect())
    };
    Catalogue { products: (0..PRODUCTS).map(product).collect(), ..Catalogue::default() }
}

fn platform(number: usize, d: usize) -> Platform {
    let lengths: Vec<f64> = (0..10).map(|l| 7.0 + 5.0 * f64::from(l)).collect();
    let mm = 2.0 + 0.25 * d as f64;
    let mut made = Platform::invented(mm, &lengths, |l| format!("P{number}-{d}-{l}"));
    for (l, pack) in made.boxes.iter_mut().enumerate() {
        pack.di = vec![identifier(number * 100 + d * 10 + l)];
    }
    made
}

/// 5,000 rows on hand.
fn shelf() -> Shelf {
    let piece = |number: usize| Piece {
        di: identifier(number * 10),
        lot: format!("LOT{number}"),
        serial: number.is_multiple_of(2).then(|| format!("S{number}")),
        use_by: None,
        shelf: format!("A{}", number % 40),
        count: 1,
        owner: Owner::Own,
    };
    let pieces = (0..5_000).map(piece).collect();
    Shelf::default().after(&[Fact::StockLoaded { from: "bench".into(), pieces }])
}

fn main() {
    let (catalogue, shelf) = (catalogue(), shelf());
    let (index, lots) = (Index::new(&catalogue), Lots::new(&catalogue, &shelf));
    let text: Vec<String> = catalogue
        .products
        .iter()
        .flat_map(|p| p.diameters.iter().map(move |d| (p, d)))
        .flat_map(|(p, d)| {
            d.boxes.iter().map(move |b| {
                format!("{} {} {:.2}x{}", p.name, b.reference, d.diameter.mm(), b.length.mm()).to_lowercase()
            })
        })
        .collect();
    println!("{} boxes, 5,000 rows on hand", text.len());
    println!(
        "gone through once: boxes {:.1?}, lots {:.1?}",
        timed(ROUNDS, || Index::new(&catalogue)),
        timed(ROUNDS, || Lots::new(&catalogue, &shelf))
    );
    println!("{:<18}{:>12}{:>12}{:>8}{:>9}", "keystroke", "find", "plain pass", "ratio", "answers");
    let mut worst = Duration::ZERO;
    for query in QUERIES {
        for end in 1..=query.len() {
            let typed = &query[..end];
            let time = timed(ROUNDS, || index.find(&lots, typed));
            worst = worst.max(time);
            if end < query.len() && end > 1 {
                continue;
            }
            let words: Vec<&str> = typed.split_whitespace().collect();
            let plain = timed(ROUNDS, || {
                text.iter().filter(|line| words.iter().all(|word| line.contains(word))).count()
            });
            let answers = index.find(&lots, typed).len();
            let ratio = time.as_secs_f64() / plain.as_secs_f64();
            println!("{typed:<18}{time:>12.1?}{plain:>12.1?}{ratio:>8.2}{answers:>9}");
        }
    }
    println!("the slowest of all keystrokes: {worst:.1?} (promise: under 10 ms)");
}
