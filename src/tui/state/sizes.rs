//! Sizes: what was measured, the grid and its verdicts, where the cursor stands.

use super::{Axes, Cell, CellBox, Effect, Grid, Marked, Spanned, State};
use crate::catalogue::{Piece, Product};
use crate::fit::carina::Carina;
use crate::fit::{self, Judgement};
use crate::journal::Readiness;
use crate::lesion::{self, BadInput, Lesion, Measurements};
use crate::measure::Kind;
use crate::tui::keys::Action;
use crate::units::{Diameter, Length};

/// What the Sizes screen shows.
#[derive(Debug, Clone, Default)]
pub struct Sizes {
    pub measured: Measurements,
    /// Why nothing is judged.
    pub faults: Vec<BadInput>,
    pub lesion: Option<Lesion>,
    pub judgement: Option<Judgement>,
    /// The step of reference at a side branch, in words.
    pub carina: Vec<String>,
    /// The product shown alone; all together where it is none.
    pub product: Option<String>,
    pub grid: Grid,
    /// Where the measured values fall between the sizes.
    pub axes: Option<Axes>,
    /// Row and column. No cursor stands anywhere by itself.
    pub cursor: Option<(usize, usize)>,
    /// Which box of the cell under the cursor is looked at, best first.
    pub box_at: usize,
    /// The box that others are held against.
    pub marked: Option<Marked>,
    /// The vessel is drawn in the grid's place.
    pub vessel_large: bool,
    /// The plan that was called for the lesion in work.
    pub spanned: Option<Spanned>,
    /// The size that is being typed.
    pub entry: String,
    /// A typed size that no product has was refused once: the same again is called all the same.
    pub(super) insisted: Option<String>,
}

const LONGEST_ENTRY: usize = 12;

impl Sizes {
    pub fn cell(&self) -> Option<&Cell> {
        self.cursor.and_then(|(row, column)| self.grid.cell(row, column))
    }

    /// The box of that cell that is looked at: the best one, unless another was turned to.
    pub fn box_here(&self) -> Option<&CellBox> {
        let boxes = &self.cell()?.boxes;
        boxes.get(self.box_at).or(boxes.first())
    }

    /// The size under the cursor.
    pub fn size(&self) -> Option<(Diameter, Length)> {
        let (row, column) = self.cursor?;
        Some((*self.grid.diameters.get(row)?, *self.grid.lengths.get(column)?))
    }
}

impl State {
    /// What the case knows of the lesion in work comes back into the fields and the grid. Nothing does of a case that is
    /// signed off: the next call is another patient's.
    pub(super) fn resume_measurements(&mut self) {
        let open = self.world.case.as_ref().filter(|case| case.signed.is_none());
        let known = open.and_then(|case| case.lesions.get(&self.lesion).cloned());
        self.sizes.measured = known.unwrap_or_default();
        self.judge();
    }

    /// The kinds that the grid shows: the product's own, else those that the policy judges.
    pub(super) fn kinds_shown(&self) -> Vec<Kind> {
        match self.sizes.product.as_ref().and_then(|id| self.world.catalogue.product(id)) {
            Some(product) => vec![product.kind],
            None => self.world.policy.judged.clone(),
        }
    }

    /// The product shown alone; else all of the kinds shown.
    fn grid_of(&self, judgement: Option<&Judgement>) -> Grid {
        let kinds = self.kinds_shown();
        let shown = |product: &Product| match &self.sizes.product {
            Some(id) => product.id == *id,
            None => kinds.contains(&product.kind),
        };
        Grid::of(&self.world.catalogue, shown, judgement, &self.world.shelf, self.world.today())
    }

    /// Judges the catalogue against what stands in the fields now.
    pub(super) fn judge(&mut self) {
        let world = &self.world;
        let nothing_measured = self.sizes.measured == Measurements::default();
        let checked = lesion::check(&self.sizes.measured, &world.policy, &world.catalogue.guides);
        let (lesion, faults) = match checked {
            Ok(lesion) => (Some(lesion), Vec::new()),
            Err(_) if nothing_measured => (None, Vec::new()),
            Err(faults) => (None, faults),
        };
        let kinds: Vec<Kind> = self.kinds_shown().into_iter().filter(|kind| kind.is_stent()).collect();
        let judgement = lesion.as_ref().filter(|_| !kinds.is_empty()).map(|lesion| {
            // While the shelf is not known, nothing is ranked by it.
            let known = world.shelf.unread().is_none();
            let stock: Option<Vec<Piece>> =
                known.then(|| world.shelf.pieces().into_iter().cloned().collect());
            fit::judge(&world.catalogue, &kinds, lesion, &world.policy, stock.as_deref(), world.today())
        });
        let under_cursor = self.sizes.size();
        let grid = self.grid_of(judgement.as_ref());
        self.sizes.cursor = under_cursor.and_then(|(diameter, length)| grid.place(diameter, length));
        self.sizes.axes = lesion.as_ref().map(|lesion| Axes::of(&grid, &lesion.target));
        self.sizes.grid = grid;
        let carina = lesion.as_ref().map(|lesion| Carina::of(lesion, &self.world.policy.believed));
        self.sizes.carina = match carina {
            Some(Ok(Some(carina))) => carina.in_words(),
            Some(Err(bad)) => vec![bad.message],
            _ => Vec::new(),
        };
        self.sizes.lesion = lesion;
        self.sizes.faults = faults;
        self.sizes.judgement = judgement;
    }

    pub(super) fn size_char(&mut self, c: char) -> Vec<Effect> {
        let sizes = &mut self.sizes;
        let starts = c.is_ascii_digit();
        let goes_on = !sizes.entry.is_empty() && matches!(c, ' ' | 'x' | 'X' | '×' | '.' | ',');
        if (starts || goes_on) && sizes.entry.chars().count() < LONGEST_ENTRY {
            sizes.entry.push(c);
        } else if !starts && !goes_on {
            let key = if c == ' ' { "Space".to_string() } else { c.to_string() };
            self.say(format!("{key} does nothing here; {} shows the keys", self.key(Action::Help)));
        }
        Vec::new()
    }

    pub(super) fn act_sizes(&mut self, action: Action) -> Vec<Effect> {
        match action {
            Action::SizeCall => return self.call_here(Readiness::Asked),
            Action::SizeReady => return self.call_here(Readiness::HaveReady),
            Action::Measure => self.open_measure_form(),
            Action::Find => self.open_find(),
            Action::NextProduct => self.next_product(),
            Action::NextLesion => {
                self.lesion = self.lesion % 3 + 1;
                self.resume_measurements();
                self.say(format!("Lesion {}", self.lesion));
            }
            Action::OpenPlans => self.open_plans(),
            Action::Why => self.open_arithmetic(),
            Action::MarkBox => self.mark_box(),
            Action::NextBox => self.next_box(),
            Action::DrawVessel => self.draw_vessel(),
            Action::Longer => return self.call_near(0, 1, "the next length up"),
            Action::Shorter => return self.call_near(0, -1, "the next length down"),
            Action::Wider => return self.call_near(1, 0, "the next diameter up"),
            Action::Narrower => return self.call_near(-1, 0, "the next diameter down"),
            Action::SameAgain => return self.call_near(0, 0, "the same again"),
            Action::SizeUp => self.move_cursor(-1, 0),
            Action::SizeDown => self.move_cursor(1, 0),
            Action::SizeLeft => self.move_cursor(0, -1),
            Action::SizeRight => self.move_cursor(0, 1),
            Action::SizeErase => {
                self.sizes.entry.pop();
            }
            Action::SizeClear => self.step_back(),
            _ => {}
        }
        Vec::new()
    }

    fn move_cursor(&mut self, down: isize, right: isize) {
        let (rows, columns) = (self.sizes.grid.diameters.len(), self.sizes.grid.lengths.len());
        if rows == 0 || columns == 0 {
            return;
        }
        self.sizes.box_at = 0;
        let step = |at: usize, by: isize, count: usize| at.saturating_add_signed(by).min(count - 1);
        self.sizes.cursor = Some(match self.sizes.cursor {
            // The first arrow sets it down in the middle, on no particular size.
            None => (rows / 2, columns / 2),
            Some((row, column)) => (step(row, down, rows), step(column, right, columns)),
        });
    }

    /// One thing after the other, the latest first: a drawing, a comparison, what was typed with the cursor.
    fn step_back(&mut self) {
        let sizes = &mut self.sizes;
        if sizes.vessel_large {
            sizes.vessel_large = false;
        } else if sizes.marked.is_some() {
            sizes.marked = None;
        } else {
            sizes.entry.clear();
            sizes.cursor = None;
        }
    }

    fn next_box(&mut self) {
        let count = self.sizes.cell().map_or(0, |cell| cell.boxes.len());
        if count < 2 {
            self.say("Only one product has this size".to_string());
        } else {
            self.sizes.box_at = (self.sizes.box_at + 1) % count;
        }
    }

    fn draw_vessel(&mut self) {
        if self.sizes.lesion.is_some() {
            self.sizes.vessel_large = !self.sizes.vessel_large;
        } else {
            self.say("Measure the lesion first: then its vessel is drawn".to_string());
        }
    }

    fn next_product(&mut self) {
        let ids: Vec<&String> =
            self.world.catalogue.products.iter().filter(|p| p.kind != Kind::Other).map(|p| &p.id).collect();
        let next = match &self.sizes.product {
            None => ids.first(),
            Some(shown) => ids.iter().skip_while(|id| **id != shown).nth(1),
        };
        self.sizes.product = next.map(|id| id.to_string());
        self.judge();
    }
}
