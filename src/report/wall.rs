//! The page for the wall: what is ready for a bail-out, what is missing, what expires, what is the last of its kind.

use super::escape::markdown_text;
use crate::case::size_words;
use crate::catalogue::Catalogue;
use crate::deference::LONG;
use crate::policy::Policy;
use crate::shelf::{Day, Lying, ParItem, Ready, Shelf, THIS_WEEK};
use crate::units::plain;
use chrono::NaiveDate;

/// A heading and its lines, or what is there where there are none.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Part {
    heading: String,
    lines: Vec<String>,
    nothing: &'static str,
}

/// What the page is made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wall {
    today: NaiveDate,
    parts: Vec<Part>,
}

impl Wall {
    /// Looks at the shelf as it is on this day.
    pub fn new(shelf: &Shelf, catalogue: &Catalogue, policy: &Policy, today: NaiveDate) -> Wall {
        let day = Day::new(shelf, catalogue, policy, None, today);
        let row = |lying: &Lying| {
            let piece = lying.piece;
            let use_by = piece.use_by.map(|day| format!(", use by {day}")).unwrap_or_default();
            format!("{}: ×{} {}, lot {}{use_by}", piece.shelf, piece.count, lying.what, piece.lot)
        };
        let bail_out = day.bail_out.iter().map(|bail| {
            format!(
                "×{} {} {} ({}), {}: {}",
                bail.size.in_date,
                size_words(bail.size.diameter, bail.size.length),
                bail.size.name,
                bail.size.reference,
                bail.size.place_words(),
                bail.words
            )
        });
        let items = day.items.iter().map(|item| {
            let ParItem { level, name, .. } = item;
            let missing = if item.is_missing() { "MISSING: " } else { "" };
            let name = name.as_ref().map(|name| format!(" {name}")).unwrap_or_default();
            let (item, place) = (&level.item, level.place_words());
            format!("{missing}{item}{name}, {place}: {} of {}", level.have, level.wanted)
        });
        let ready = match &day.ready {
            Ready::Complete => {
                vec!["COMPLETE: a covered stent in date, and every item at its par".to_string()]
            }
            Ready::Missing(missing) => missing.iter().map(|what| format!("MISSING: {what}")).collect(),
            Ready::NotSaid => vec!["a covered stent is in date; the policy names nothing else".to_string()],
        };
        let short =
            day.short_sizes().map(|level| format!("{}: {} of {}", level.item, level.have, level.wanted));
        let gaps = day
            .gaps
            .iter()
            .map(|gap| format!("segment {}: {} to {} mm", gap.segment, plain(gap.from_mm), plain(gap.to_mm)));
        let last = day.last.iter().map(|one| {
            let size = size_words(one.diameter, one.length);
            format!("{size} {} ({}), {}", one.name, one.reference, one.place_words())
        });
        let part = |heading: &str, lines, nothing| Part { heading: heading.into(), lines, nothing };
        Wall {
            today,
            parts: vec![
                part("Ready for a bail-out", ready, "nothing is known"),
                part("Bail-out: covered stents in date", bail_out.collect(), "NONE IN DATE"),
                part("Bail-out and other items with a par", items.collect(), "the policy names none"),
                part(
                    "Gaps: normal lumens without a drug-eluting stent in date",
                    gaps.collect(),
                    "none of the published segments",
                ),
                part("Below par", short.collect(), "nothing"),
                part("Expires today", day.expires_in(0, 0).map(row).collect(), "nothing"),
                part(
                    &format!("Expires within {THIS_WEEK} days"),
                    day.expires_in(1, THIS_WEEK).map(row).collect(),
                    "nothing",
                ),
                part("Expired and still there: pull", day.expired.iter().map(row).collect(), "nothing"),
                part("Recalled and still there: pull", day.recalled.iter().map(row).collect(), "nothing"),
                part("Last pieces: one of this size in date, whatever the product", last.collect(), "none"),
            ],
        }
    }

    /// For a page that is rendered.
    pub fn markdown(&self) -> String {
        let mut page = format!("# The shelf on {}\n", self.today);
        for Part { heading, lines, nothing } in &self.parts {
            page.push_str(&format!("\n## {heading}\n\n"));
            if lines.is_empty() {
                page.push_str(&format!("{nothing}\n"));
            }
            lines.iter().for_each(|line| page.push_str(&format!("- [ ] {}\n", markdown_text(line))));
        }
        page.push_str(&format!("\n{LONG}\n"));
        page
    }

    /// For a plain printer.
    pub fn text(&self) -> String {
        let mut page = format!("THE SHELF ON {}\n", self.today);
        for Part { heading, lines, nothing } in &self.parts {
            page.push_str(&format!("\n{}\n", heading.to_uppercase()));
            if lines.is_empty() {
                page.push_str(&format!("      {nothing}\n"));
            }
            lines.iter().for_each(|line| page.push_str(&format!("  [ ] {line}\n")));
        }
        page.push_str(&format!("\n{LONG}\n"));
        page
    }
}
