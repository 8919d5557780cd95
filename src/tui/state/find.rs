//! `/`: any product, REF or size, spelt loosely.

use super::{Effect, Overlay, State};
use crate::catalogue::Catalogue;
use crate::journal::{Readiness, Wanted};
use crate::measure::Kind;
use crate::tui::keys::Action;
use crate::units::plain;
use fuzzy_matcher::FuzzyMatcher;
use fuzzy_matcher::skim::SkimMatcherV2;

/// What is being looked for, and what answers.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Finding {
    pub query: String,
    pub cursor: usize,
    /// Places in `known`, best first.
    pub found: Vec<usize>,
    pub known: Vec<Known>,
}

/// One box that can be found.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    pub wanted: Wanted,
    /// The line that is shown.
    pub words: String,
    /// What the query is matched with.
    haystack: String,
}

/// Longest list of answers.
const MOST: usize = 200;

impl Finding {
    pub fn over(catalogue: &Catalogue) -> Self {
        let mut finding = Finding { known: known(catalogue), ..Finding::default() };
        finding.look();
        finding
    }

    /// Every word of the query must be found; the order of the words does not matter (`28 3.0` finds 3.00 × 28).
    fn look(&mut self) {
        let matcher = SkimMatcherV2::default();
        let query = self.query.replace(',', ".").to_lowercase();
        let words: Vec<&str> =
            query.split(|c: char| c.is_whitespace() || c == '×').filter(|w| !w.is_empty()).collect();
        let mut scored: Vec<(i64, usize)> = Vec::new();
        for (index, known) in self.known.iter().enumerate() {
            let scores: Option<Vec<i64>> =
                words.iter().map(|word| matcher.fuzzy_match(&known.haystack, word)).collect();
            if let Some(scores) = scores {
                scored.push((scores.iter().sum(), index));
            }
        }
        scored.sort_by_key(|(score, index)| (-score, *index));
        self.found = scored.into_iter().take(MOST).map(|(_, index)| index).collect();
        self.cursor = 0;
    }

    pub fn under_cursor(&self) -> Option<&Known> {
        self.found.get(self.cursor).and_then(|index| self.known.get(*index))
    }
}

fn known(catalogue: &Catalogue) -> Vec<Known> {
    let mut known = Vec::new();
    for product in &catalogue.products {
        for platform in &product.diameters {
            for pack in &platform.boxes {
                let (d, l) = (platform.diameter, pack.length);
                known.push(Known {
                    wanted: Wanted {
                        product: Some(product.id.clone()),
                        name: None,
                        diameter: Some(d),
                        length: Some(l),
                        kind: Some(product.kind),
                        reference: Some(pack.reference.clone()),
                    },
                    words: format!("{d} × {l:<3} {}  {}  {}", product.name, pack.reference, product.kind),
                    haystack: format!(
                        "{} {} {d}x{l} {} {l} {}",
                        product.name,
                        pack.reference,
                        plain(d.mm()),
                        product.kind
                    )
                    // A query's comma is a point as well.
                    .replace(',', ".")
                    .to_lowercase(),
                });
            }
        }
        for sundry in &product.sundries {
            known.push(Known {
                wanted: Wanted {
                    product: Some(product.id.clone()),
                    kind: Some(Kind::Other),
                    reference: Some(sundry.reference.clone()),
                    ..Wanted::default()
                },
                words: format!("{}  {}  {}", product.name, sundry.reference, product.kind),
                haystack: format!("{} {} {}", product.name, sundry.reference, product.kind)
                    .replace(',', ".")
                    .to_lowercase(),
            });
        }
    }
    known
}

impl State {
    pub(super) fn find_char(&mut self, c: char) -> Vec<Effect> {
        if let Some(Overlay::Find(finding)) = &mut self.overlay
            && finding.query.chars().count() < 60
        {
            finding.query.push(c);
            finding.look();
        }
        Vec::new()
    }

    pub(super) fn act_find(&mut self, action: Action) -> Vec<Effect> {
        let Some(Overlay::Find(finding)) = &mut self.overlay else { return Vec::new() };
        match action {
            Action::FindDown => {
                finding.cursor = (finding.cursor + 1).min(finding.found.len().saturating_sub(1))
            }
            Action::FindUp => finding.cursor = finding.cursor.saturating_sub(1),
            Action::FindErase => {
                finding.query.pop();
                finding.look();
            }
            Action::FindCall => {
                if let Some(known) = finding.under_cursor() {
                    let wanted = known.wanted.clone();
                    self.overlay = None;
                    return self.call(wanted, Readiness::Asked);
                }
            }
            _ => {}
        }
        Vec::new()
    }
}
