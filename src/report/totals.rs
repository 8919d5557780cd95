//! What many cases came to, as a table with bars and as CSV.

use super::csv_cell::{number, text};
use super::escape::plain_text;
use crate::case::unused_words;
use crate::intake::table;
use crate::journal::Statement;
use crate::ledger::Sums;
use crate::units::{counted, plain};

/// Columns of the longest bar.
const BAR: usize = 30;

/// For a terminal; a bar is as long as its share of the largest count of its table.
pub fn totals_table(sums: &Sums, currency: &str) -> String {
    let since = sums.since.map(|since| format!(" since {since}")).unwrap_or_default();
    let mut page = format!("{}{since}, {} signed\n", counted(sums.cases, "case"), sums.signed);
    let sizes = sums.sizes.iter().map(|size| {
        let parts = [
            ("implanted", size.implanted),
            ("used", size.used),
            ("not used", size.not_used),
            ("lost", size.lost),
            ("not found", size.not_found),
            ("not settled", size.unsettled),
        ];
        let parts =
            parts.iter().filter(|(_, count)| *count > 0).map(|(name, count)| format!("{name} {count}"));
        (size.words(), size.opened, parts.collect::<Vec<_>>().join(", "))
    });
    bars(&mut page, "Opened, by size", "no box was opened", sizes.collect());
    let missing = sums.missing.iter().map(|missing| (missing.words.clone(), missing.count, String::new()));
    let title = match sums.calls_unknown {
        0 => format!("Not on the shelf when asked for, of {}", counted(sums.calls, "call")),
        unknown => format!(
            "Not on the shelf when asked for, of {} ({unknown} before any stock was loaded: not known)",
            counted(sums.calls, "call")
        ),
    };
    bars(&mut page, &title, "every size that was asked for was there", missing.collect());
    let waste = sums.waste.iter().map(|wasted| {
        let unpriced = if wasted.unpriced > 0 {
            format!(", {} without a price", wasted.unpriced)
        } else {
            String::new()
        };
        (
            unused_words(wasted.why).to_string(),
            wasted.count,
            format!("{} {currency}{unpriced}", plain(wasted.cost)),
        )
    });
    bars(&mut page, "Opened and not used, by reason", "nothing was wasted", waste.collect());
    page
}

fn bars(page: &mut String, title: &str, nothing: &str, rows: Vec<(String, u32, String)>) {
    page.push_str(&format!("\n{title}\n"));
    if rows.is_empty() {
        page.push_str(&format!("  {nothing}\n"));
    }
    let most = rows.iter().map(|(_, count, _)| *count).max().unwrap_or(1).max(1) as usize;
    let wide = rows.iter().map(|(name, ..)| name.chars().count()).max().unwrap_or(0);
    for (name, count, rest) in rows {
        // Rounded up: what happened once is never a bar of no length.
        let bar = "#".repeat((count as usize * BAR).div_ceil(most));
        let name = plain_text(&name);
        let line = format!("  {name:<wide$}  {count:>4}  {bar:<BAR$}  {rest}");
        page.push_str(line.trim_end());
        page.push('\n');
    }
}

/// One row a size, a size that was missing, a reason, and one for the journal that they come from; `part` tells them
/// apart.
pub fn totals_csv(sums: &Sums, currency: &str, journal: &Statement) -> String {
    const WIDTH: usize = 15;
    const HEADER: [&str; WIDTH] = [
        "part", "what", "product", "diameter_mm", "length_mm", "count", "implanted", "used", "not_used",
        "lost", "not_found", "unsettled", "cost", "currency", "unpriced",
    ];
    let none = String::new;
    let sizes = sums.sizes.iter().map(|size| {
        [
            "opened".into(),
            text(&size.words()),
            text(size.product.as_deref().unwrap_or_default()),
            number(size.diameter_mm),
            number(size.length_mm),
            size.opened.to_string(),
            size.implanted.to_string(),
            size.used.to_string(),
            size.not_used.to_string(),
            size.lost.to_string(),
            size.not_found.to_string(),
            size.unsettled.to_string(),
            none(),
            none(),
            none(),
        ]
    });
    let missing = sums.missing.iter().map(|missing| {
        let mut row: [String; WIDTH] = Default::default();
        row[0] = "missing when asked for".into();
        row[1] = text(&missing.words);
        row[5] = missing.count.to_string();
        row
    });
    let waste = sums.waste.iter().map(|wasted| {
        let mut row: [String; WIDTH] = Default::default();
        row[0] = "opened and not used".into();
        row[1] = unused_words(wasted.why).into();
        row[5] = wasted.count.to_string();
        row[12] = number(Some(wasted.cost));
        row[13] = text(currency);
        row[14] = wasted.unpriced.to_string();
        row
    });
    let mut last: [String; WIDTH] = Default::default();
    last[0] = "journal".into();
    last[1] = text(&journal.to_string());
    table::write(HEADER, sizes.chain(missing).chain(waste).chain([last]))
}
