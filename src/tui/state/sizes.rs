//! Sizes: what was measured, the grid and its verdicts, where the cursor stands.

use super::{Axes, Cell, CellBox, EVERYWHERE, Effects, Front, Grid, Marked, Spanned, State};
use crate::catalogue::{Piece, Product};
use crate::fit::carina::Carina;
use crate::fit::{self, Judgement};
use crate::journal::Readiness;
use crate::lesion::{self, BadInput, Lesion, Measurements};
use crate::measure::Kind;
use crate::tui::keys::*;
use crate::units::{Diameter, Length};

pub const READY: Action = Action::new("size-ready", &["h"]);
pub const MEASURE: Action = Action::new("measure", &["m"]);
pub const WHY: Action = Action::new("why", &["w"]);
pub const FIND: Action = Action::new("find", &["/"]);
pub const MARK_BOX: Action = Action::new("mark-box", &["c"]);
pub const DRAW_VESSEL: Action = Action::new("draw-vessel", &["v"]);
pub const NEXT_PRODUCT: Action = Action::new("next-product", &["p"]);
pub const NEXT_LESION: Action = Action::new("next-lesion", &["l"]);
pub const NEXT_BOX: Action = Action::new("next-box", &["b"]);
pub const OPEN_PLANS: Action = Action::new("open-plans", &["s"]);
pub const LONGER: Action = Action::new("longer", &[">"]);
pub const SHORTER: Action = Action::new("shorter", &["<"]);
pub const WIDER: Action = Action::new("wider", &["+"]);
pub const NARROWER: Action = Action::new("narrower", &["-"]);
pub const SAME_AGAIN: Action = Action::new("same-again", &["="]);

pub static PLACE: Place = Place::new(
    "Sizes",
    Letters::Shared,
    &[
        ACCEPT.row("call", "call the size typed, or the one under the cursor"),
        READY.row("have ready", "the same, but only have it ready: in the room, unopened"),
        MEASURE.row("measure", "type what was measured"),
        WHY.row("why", "the whole arithmetic for the size under the cursor"),
        FIND.row("find", "find any product, REF or size, spelt loosely"),
        MARK_BOX.row("compare", "mark the box under the cursor: the next ones stand beside it"),
        DRAW_VESSEL.row("vessel", "the measured vessel to scale in the grid's place, and back"),
        NEXT_PRODUCT.row("product", "show the next product alone, then all together"),
        NEXT_LESION.row("lesion", "the next lesion of this case: 1, 2, 3"),
        NEXT_BOX.row("next product", "the next product that has the size under the cursor"),
        OPEN_PLANS.row("span", "sets of overlapping devices for a long lesion, out of today's shelf"),
        LONGER.row("", "call the next length up from the last call"),
        SHORTER.row("", "call the next length down from the last call"),
        WIDER.row("", "call the next diameter up from the last call"),
        NARROWER.row("", "call the next diameter down from the last call"),
        SAME_AGAIN.row("again", "call the same again"),
        UP.row("", "cursor to the smaller diameter"),
        DOWN.row("", "cursor to the larger diameter"),
        LEFT.row("", "cursor to the shorter length"),
        RIGHT.row("", "cursor to the longer length"),
        ERASE.row("", "take back the last character of the size typed"),
        CLOSE.row("", "forget the size typed, take the cursor off the grid"),
    ],
)
.within(&EVERYWHERE);

pub const FRONT: Front = Front {
    offers: |state, action| match action {
        OPEN_PLANS => state.offers_plans(),
        WHY => state.sizes.judgement.is_some(),
        DRAW_VESSEL => state.sizes.lesion.is_some(),
        MARK_BOX => state.sizes.box_here().is_some(),
        NEXT_BOX => state.sizes.cell().is_some_and(|cell| cell.boxes.len() > 1),
        SAME_AGAIN => state.world.case.as_ref().is_some_and(|case| !case.calls.is_empty()),
        _ => true,
    },
    typed: State::size_char,
    ..Front::new(&PLACE, State::act_sizes)
};

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

    fn move_cursor(&mut self, down: isize, right: isize) {
        let (rows, columns) = (self.grid.diameters.len(), self.grid.lengths.len());
        if rows == 0 || columns == 0 {
            return;
        }
        self.box_at = 0;
        let step = |at: usize, by: isize, count: usize| at.saturating_add_signed(by).min(count - 1);
        self.cursor = Some(match self.cursor {
            // The first arrow sets it down in the middle, on no particular size.
            None => (rows / 2, columns / 2),
            Some((row, column)) => (step(row, down, rows), step(column, right, columns)),
        });
    }

    /// One thing after the other, the latest first: a drawing, a comparison, what was typed with the cursor.
    fn step_back(&mut self) {
        if self.vessel_large {
            self.vessel_large = false;
        } else if self.marked.take().is_none() {
            self.entry.clear();
            self.cursor = None;
        }
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

    fn size_char(&mut self, c: char) -> Effects {
        let sizes = &mut self.sizes;
        let starts = c.is_ascii_digit();
        let goes_on = !sizes.entry.is_empty() && matches!(c, ' ' | 'x' | 'X' | '×' | '.' | ',');
        if !starts && !goes_on {
            let key = if c == ' ' { "Space".to_string() } else { c.to_string() };
            return self.say(format!("{key} does nothing here; {} shows the keys", self.key(HELP)));
        }
        if sizes.entry.chars().count() < LONGEST_ENTRY {
            sizes.entry.push(c);
        }
        Effects::new()
    }

    fn act_sizes(&mut self, action: Action) -> Effects {
        match action {
            ACCEPT => return self.call_here(Readiness::Asked),
            READY => return self.call_here(Readiness::HaveReady),
            MEASURE => return self.open_measure_form(),
            FIND => return self.open_find(),
            NEXT_LESION => {
                self.lesion = self.lesion % 3 + 1;
                self.resume_measurements();
                return self.say(format!("Lesion {}", self.lesion));
            }
            OPEN_PLANS => return self.plan_this(&[]),
            WHY => return self.open_arithmetic(),
            MARK_BOX => return self.mark_box(),
            NEXT_BOX => match self.sizes.cell().map_or(0, |cell| cell.boxes.len()) {
                0 | 1 => return self.say("Only one product has this size"),
                count => self.sizes.box_at = (self.sizes.box_at + 1) % count,
            },
            DRAW_VESSEL if self.sizes.lesion.is_none() => {
                return self.say("Measure the lesion first: then its vessel is drawn");
            }
            DRAW_VESSEL => self.sizes.vessel_large = !self.sizes.vessel_large,
            LONGER => return self.call_near(0, 1, "the next length up"),
            SHORTER => return self.call_near(0, -1, "the next length down"),
            WIDER => return self.call_near(1, 0, "the next diameter up"),
            NARROWER => return self.call_near(-1, 0, "the next diameter down"),
            SAME_AGAIN => return self.call_near(0, 0, "the same again"),
            NEXT_PRODUCT => self.next_product(),
            UP => self.sizes.move_cursor(-1, 0),
            DOWN => self.sizes.move_cursor(1, 0),
            LEFT => self.sizes.move_cursor(0, -1),
            RIGHT => self.sizes.move_cursor(0, 1),
            ERASE => _ = self.sizes.entry.pop(),
            CLOSE => self.sizes.step_back(),
            _ => {}
        }
        Effects::new()
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
