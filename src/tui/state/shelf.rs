//! Shelf: what is there, what runs out or expires, which vessels it cannot serve.

use super::{Effect, Field, Form, Purpose, State};
use crate::catalogue::{Owner, Piece};
use crate::lesion::segment;
use crate::shelf::Owed;
use crate::tui::columns::{padded, padded_at_least};
use crate::tui::keys::Action;

/// How far ahead the page of what expires looks, in days.
const EXPIRES_WITHIN: u32 = 90;

/// One line of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    pub words: String,
    /// To be heeded.
    pub heed: bool,
}

impl Row {
    fn quiet(words: String) -> Self {
        Row { words, heed: false }
    }
}

/// What goes back into the cupboard, what is paid for, what is owed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CupboardLists {
    pub refill: Vec<String>,
    pub consigned: Vec<String>,
    pub to_return: Vec<String>,
}

/// The pages of the shelf.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Page {
    BySize,
    RunsOut,
    Expires,
    Gaps,
    BailOut,
}

/// In the order in which → goes through them.
pub const PAGES: &[(Page, &str)] = &[
    (Page::BySize, "by size"),
    (Page::RunsOut, "runs out"),
    (Page::Expires, "expires"),
    (Page::Gaps, "gaps"),
    (Page::BailOut, "bail-out"),
];

impl State {
    pub(super) fn act_shelf(&mut self, action: Action) -> Vec<Effect> {
        match action {
            Action::ShelfRight => self.turn_page(1),
            Action::ShelfLeft => self.turn_page(PAGES.len() - 1),
            Action::ShelfDown => self.shelf_scroll += 1,
            Action::ShelfUp => self.shelf_scroll = self.shelf_scroll.saturating_sub(1),
            Action::ShelfRecall => {
                let fields = vec![
                    Field::text("lot", "lot", "", "as on the notice"),
                    Field::text("di", "identifier", "", "empty: that lot of any product"),
                ];
                let intro = "From now on a box of this lot stops a read-back.";
                self.ask(Form::new(Purpose::Recall, "A lot is recalled", &[intro], fields));
            }
            _ => {}
        }
        Vec::new()
    }

    fn turn_page(&mut self, by: usize) {
        self.shelf_page = (self.shelf_page + by) % PAGES.len();
        self.shelf_scroll = 0;
    }

    /// The lines of the page that is shown.
    pub fn shelf_lines(&self) -> Vec<Row> {
        match self.page() {
            Page::BySize => self.by_size(),
            Page::RunsOut => self.runs_out(),
            Page::Expires => self.expires(),
            Page::Gaps => self.gaps(),
            Page::BailOut => self.bail_out_page(),
        }
    }

    fn by_size(&self) -> Vec<Row> {
        let world = &self.world;
        let sizes = world.shelf.by_size(&world.catalogue, None, world.today());
        let there = sizes.into_iter().filter(|size| size.in_date + size.expired + size.recalled > 0);
        there
            .map(|size| {
                let what = match (size.diameter, size.length) {
                    (Some(diameter), Some(length)) => format!("{diameter} × {length}"),
                    _ => String::new(),
                };
                let mut words = format!(
                    "{} {what:<10} {} ×{:<3} {}",
                    padded(&size.name, 12),
                    padded(&size.reference, 9),
                    size.in_date,
                    size.place
                );
                if size.expired > 0 {
                    words.push_str(&format!(" · EXPIRED ×{}", size.expired));
                }
                if size.recalled > 0 {
                    words.push_str(&format!(" · RECALLED ×{}", size.recalled));
                }
                Row { words, heed: size.expired + size.recalled > 0 }
            })
            .collect()
    }

    fn runs_out(&self) -> Vec<Row> {
        let world = &self.world;
        let short = world.shelf.short(&world.policy.par, &world.catalogue, world.today());
        if short.is_empty() {
            return vec![Row::quiet(format!(
                "Nothing is below par: {} items have one",
                world.policy.par.len()
            ))];
        }
        short
            .into_iter()
            .map(|short| {
                let words = format!(
                    "{:<12} have ×{:<3} want ×{:<3} {}",
                    short.item, short.have, short.wanted, short.place
                );
                Row { words, heed: short.have == 0 }
            })
            .collect()
    }

    fn expires(&self) -> Vec<Row> {
        let (world, today) = (&self.world, self.world.today());
        let expired = world.shelf.expired(today);
        let soon = world.shelf.expiring(today, EXPIRES_WITHIN);
        let row = |piece: &&Piece, gone: bool| {
            let found = world.catalogue.find(&piece.di);
            let what = found.map_or_else(
                || piece.di.to_string(),
                |found| match found.size() {
                    Some((diameter, length)) => format!("{diameter} × {length} {}", found.product().name),
                    None => found.product().name.clone(),
                },
            );
            let day = piece.use_by.map_or(String::new(), |day| day.to_string());
            let word = if gone { "EXPIRED" } else { "use by" };
            Row {
                words: format!(
                    "{word:<7} {day}  {} lot {} ×{:<2} {}",
                    padded(&what, 22),
                    padded_at_least(&piece.lot, 8),
                    piece.count,
                    piece.shelf
                ),
                heed: gone,
            }
        };
        let mut rows: Vec<Row> = expired.iter().map(|piece| row(piece, true)).collect();
        rows.push(Row::quiet(format!("within {EXPIRES_WITHIN} days:")));
        rows.extend(soon.iter().map(|piece| row(piece, false)));
        rows
    }

    fn gaps(&self) -> Vec<Row> {
        let world = &self.world;
        let bands: Vec<(&str, f64, f64)> = segment::NAMES
            .iter()
            .filter_map(|name| segment::band(name, None).map(|[from, to]| (*name, from, to)))
            .collect();
        let gaps = world.shelf.gaps(&world.catalogue, world.today(), &bands);
        let mut rows: Vec<Row> = gaps
            .iter()
            .map(|gap| Row {
                words: format!(
                    "segment {}: no drug-eluting stent in date is labelled {:.1} to {:.1} mm",
                    gap.segment, gap.from_mm, gap.to_mm
                ),
                heed: true,
            })
            .collect();
        if rows.is_empty() {
            let names: Vec<&str> = bands.iter().map(|(name, ..)| *name).collect();
            rows.push(Row::quiet(format!(
                "No gap: a drug-eluting stent in date is labelled within the band of segments {}",
                names.join(", ")
            )));
        }
        rows.push(Row::quiet(
            "Bands: mean ± 2 SD of Dodge 1992 Circulation 86:232; left main: hull of three series".into(),
        ));
        rows
    }

    fn bail_out_page(&self) -> Vec<Row> {
        let stents = self.bail_out();
        let mut rows: Vec<Row> = stents
            .iter()
            .map(|stent| {
                let size = &stent.size;
                let (diameter, length) = (
                    size.diameter.map_or(String::new(), |d| d.to_string()),
                    size.length.map_or(String::new(), |l| l.to_string()),
                );
                Row {
                    words: format!(
                        "{diameter} × {length:<3} {} ×{:<3} {} {}",
                        padded(&size.name, 12),
                        size.in_date,
                        padded(&size.place, 26),
                        stent.words
                    ),
                    heed: stent.guide_ok == Some(false),
                }
            })
            .collect();
        if rows.is_empty() {
            rows.push(Row { words: "NO covered stent in date".into(), heed: true });
        }
        rows.extend(self.bail_out_sundries().into_iter().map(Row::quiet));
        rows
    }

    /// What the case took out of the cupboard, for its end.
    pub fn cupboard_lists(&self) -> CupboardLists {
        let Some(case) = &self.world.case else { return CupboardLists::default() };
        let shelf = &self.world.shelf;
        let refill = shelf.refill(case).into_iter().map(|line| {
            let place = if line.place.is_empty() { "no place known".into() } else { line.place };
            format!("×{} {} {} ▸ {place}", line.count, line.words, line.reference)
        });
        let words = |owed: &Owed| match &owed.owner {
            Owner::Borrowed(from) => format!("{} to {from}", owed.item.words()),
            _ => owed.item.words(),
        };
        CupboardLists {
            refill: refill.collect(),
            consigned: shelf.consigned_used(case).iter().map(words).collect(),
            to_return: shelf.to_return(case).iter().map(words).collect(),
        }
    }

    pub fn page(&self) -> Page {
        PAGES[self.shelf_page % PAGES.len()].0
    }
}
