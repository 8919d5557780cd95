//! The page for the wall: what is ready for a bail-out, what is missing, what expires, what is the last of its kind.

use crate::catalogue::{Catalogue, Piece, Product};
use crate::journal::same_text;
use crate::lesion::segment;
use crate::measure::Kind;
use crate::policy::Policy;
use crate::shelf::Shelf;
use crate::units::{Diameter, Length, plain};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// A heading and its lines, or what stands there where there are none.
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

/// Pieces that expire within so many days are told.
const SOON_DAYS: u32 = 7;

impl Wall {
    pub fn new(shelf: &Shelf, catalogue: &Catalogue, policy: &Policy, today: NaiveDate) -> Wall {
        let judged = |kind: Kind| policy.judged.contains(&kind);
        let name = |piece: &Piece| {
            let found = catalogue.find(&piece.di);
            match found.as_ref().and_then(|found| Some((found.size()?, found))) {
                Some(((diameter, length), found)) => {
                    format!("{} {} ({})", size(diameter, length), found.product().name, found.reference())
                }
                None => match found {
                    Some(found) => format!("{} ({})", found.product().name, found.reference()),
                    None => piece.di.to_string(),
                },
            }
        };
        let row = |piece: &&Piece| {
            let use_by = piece.use_by.map(|day| format!(", use by {day}")).unwrap_or_default();
            format!("{}: ×{} {}, lot {}{use_by}", piece.shelf, piece.count, name(piece), piece.lot)
        };

        let mut bail_out = Vec::new();
        for bail in shelf.bail_out(catalogue, None, today) {
            let words = bail.size.diameter.zip(bail.size.length).map(|(d, l)| size(d, l)).unwrap_or_default();
            bail_out.push(format!(
                "×{} {words} {} ({}), {}: {}",
                bail.size.in_date, bail.size.name, bail.size.reference, bail.size.place, bail.words
            ));
        }
        let levels = shelf.par_levels(&policy.par, catalogue, today);
        let is_size = |item: &str| policy.par.iter().any(|par| par.item == item && par.size().is_some());
        let free: Vec<String> = levels
            .iter()
            .filter(|level| !is_size(&level.item))
            .map(|level| {
                let missing = if level.have < level.wanted { "MISSING: " } else { "" };
                let place = if level.place.is_empty() { "no place known" } else { level.place.as_str() };
                let named = catalogue.products.iter().find(|product| has(product, &level.item));
                let name = named.map(|product| format!(" {}", product.name)).unwrap_or_default();
                format!("{missing}{}{name}, {place}: {} of {}", level.item, level.have, level.wanted)
            })
            .collect();
        let short: Vec<String> = levels
            .iter()
            .filter(|level| is_size(&level.item) && level.have < level.wanted)
            .map(|level| format!("{}: {} of {}", level.item, level.have, level.wanted))
            .collect();
        let bands: Vec<(&str, f64, f64)> = segment::NAMES
            .iter()
            .filter_map(|name| segment::band(name, None).map(|[from, to]| (*name, from, to)))
            .collect();
        let gaps = shelf.gaps(catalogue, today, &bands);
        let gaps = gaps
            .iter()
            .map(|gap| format!("segment {}: {} to {} mm", gap.segment, plain(gap.from_mm), plain(gap.to_mm)));
        let gaps = gaps.collect();
        let mut by_size: BTreeMap<(String, String), (u32, String)> = BTreeMap::new();
        for one in
            shelf.by_size(catalogue, None, today).iter().filter(|one| judged(one.kind) && one.in_date > 0)
        {
            let Some((diameter, length)) = one.diameter.zip(one.length) else { continue };
            // Padded, so that words stand in the order of numbers.
            let key = (format!("{diameter:>6}"), format!("{length:>6}"));
            let words = format!("{} {} ({}), {}", size(diameter, length), one.name, one.reference, one.place);
            by_size.entry(key).or_insert((0, words)).0 += one.in_date;
        }
        let last = by_size.into_values().filter(|(count, _)| *count == 1).map(|(_, words)| words).collect();
        let of_day = |piece: &&Piece| piece.use_by == Some(today);
        let soon = shelf.expiring(today, SOON_DAYS);
        let (expires_today, soon): (Vec<&Piece>, Vec<&Piece>) = soon.into_iter().partition(of_day);
        let expired = shelf.expired(today).iter().map(row).collect();
        let recalled = shelf.recalled_pieces().iter().map(row).collect();
        let part = |heading: &str, lines, nothing| Part { heading: heading.into(), lines, nothing };
        Wall {
            today,
            parts: vec![
                part("Bail-out: covered stents in date", bail_out, "NONE IN DATE"),
                part("Bail-out and other items with a par", free, "the policy names none"),
                part(
                    "Gaps: normal lumens without a drug-eluting stent in date",
                    gaps,
                    "none of the published segments",
                ),
                part("Below par", short, "nothing"),
                part("Expires today", expires_today.iter().map(row).collect(), "nothing"),
                part(&format!("Expires within {SOON_DAYS} days"), soon.iter().map(row).collect(), "nothing"),
                part("Expired and still there: pull", expired, "nothing"),
                part("Recalled and still there: pull", recalled, "nothing"),
                part("Last pieces: one of this size in date, whatever the product", last, "none"),
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
            lines.iter().for_each(|line| page.push_str(&format!("- [ ] {}\n", escaped(line))));
        }
        page.push_str(&format!("\n{}\n", super::CAUTION));
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
        page.push_str(&format!("\n{}\n", super::CAUTION));
        page
    }
}

fn size(diameter: Diameter, length: Length) -> String {
    format!("{diameter} × {length}")
}

fn has(product: &Product, reference: &str) -> bool {
    let packs = product.diameters.iter().flat_map(|platform| &platform.boxes).map(|pack| &pack.reference);
    packs.chain(product.sundries.iter().map(|sundry| &sundry.reference)).any(|own| same_text(own, reference))
}

/// Names come from files: none of them may format the page.
fn escaped(text: &str) -> String {
    let special = |c: char| matches!(c, '*' | '_' | '`' | '<' | '[' | ']' | '#' | '\\' | '|');
    text.chars().flat_map(|c| special(c).then_some('\\').into_iter().chain([c])).collect()
}
