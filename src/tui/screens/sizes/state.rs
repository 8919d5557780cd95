//! What the Sizes screen holds, and its keys.

use crate::case::CallState;
use crate::catalogue::Product;
use crate::fit::placed_device::PlacedDevice;
use crate::tui::keys::*;
use crate::tui::model::{Axes, Cell, CellBox, Grid, Session};
use crate::tui::paint::Drawn;
use crate::units::{Diameter, Length};

place! {
    PLACE: "Sizes", Shared, within EVERYWHERE;
    ACCEPT => "call", "call the size typed, or the one under the cursor";
    READY = new("size-ready", ["h"])
        => "have ready", "the same, but only have it ready: in the room, unopened";
    MEASURE = new("measure", ["m"]) => "measure", "type what was measured";
    WHY = new("why", ["w"]) => "why", "the whole arithmetic for the size under the cursor";
    FIND = new("find", ["/"]) => "find", "find any product, REF or size, spelt loosely";
    MARK_BOX = new("mark-box", ["c"])
        => "compare", "mark the box under the cursor: the next ones stand beside it";
    DRAW_VESSEL = new("draw-vessel", ["v"])
        => "vessel", "the measured vessel to scale in the grid's place, and back", wide;
    NEXT_PRODUCT = new("next-product", ["p"]) => "product", "show the next product alone, then all together", wide;
    NEXT_LESION = new("next-lesion", ["l"]) => "lesion", "the next lesion of this case: 1, 2, 3", wide;
    NEXT_BOX = new("next-box", ["b"])
        => "next product", "the next product that has the size under the cursor";
    OPEN_PLANS = new("open-plans", ["s"])
        => "span", "sets of overlapping devices for a long lesion, out of today's shelf";
    LONGER = new("longer", [">"]) => "", "call the next length up from the last call";
    SHORTER = new("shorter", ["<"]) => "", "call the next length down from the last call";
    WIDER = new("wider", ["+"]) => "", "call the next diameter up from the last call";
    NARROWER = new("narrower", ["-"]) => "", "call the next diameter down from the last call";
    SAME_AGAIN = new("same-again", ["="]) => "again", "call the same again";
    UP => "", "cursor to the smaller diameter";
    DOWN => "", "cursor to the larger diameter";
    LEFT => "", "cursor to the shorter length";
    RIGHT => "", "cursor to the longer length";
    ERASE => "", "take back the last character of the size typed";
    CLOSE => "", "forget the size typed, take the cursor off the grid";
}

/// The box that is marked to be held against others.
#[derive(Debug, Clone, PartialEq)]
pub struct Marked {
    pub product: String,
    pub diameter: Diameter,
    pub length: Length,
}

/// The grid and what is looked at in it.
#[derive(Debug, Clone, Default)]
pub struct Sizes {
    pub(super) grid: Grid,
    /// Where the measured values fall between the sizes.
    pub(super) axes: Option<Axes>,
    /// Row and column. No cursor stands anywhere by itself.
    pub(super) cursor: Option<(usize, usize)>,
    /// Which box of the cell under the cursor is looked at, best first.
    pub(super) box_at: usize,
    /// The box that others are held against.
    pub(super) marked: Option<Marked>,
    /// The vessel is drawn in the grid's place.
    pub(super) vessel_large: bool,
    /// The size that is being typed.
    pub(super) entry: String,
    /// A typed size that no product has was refused once: the same again is called all the same.
    pub(super) insisted: Option<String>,
    /// The judgement that the grid shows.
    judged: Option<u64>,
}

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

    pub fn move_cursor(&mut self, down: isize, right: isize) {
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
    pub fn step_back(&mut self) {
        if self.vessel_large {
            self.vessel_large = false;
        } else if self.marked.take().is_none() {
            self.entry.clear();
            self.cursor = None;
        }
    }

    /// The grid follows the judgement; the cursor stays on its size.
    pub fn follow(&mut self, session: &Session) {
        if self.judged == Some(session.work.judged) {
            return;
        }
        self.judged = Some(session.work.judged);
        let under_cursor = self.size();
        self.grid = Sizes::grid_of(session);
        self.cursor = under_cursor.and_then(|(diameter, length)| self.grid.place(diameter, length));
        self.axes = session.work.lesion.as_ref().map(|lesion| Axes::of(&self.grid, &lesion.target));
    }

    pub const fn grid(&self) -> &Grid {
        &self.grid
    }

    pub const fn axes(&self) -> Option<Axes> {
        self.axes
    }

    pub const fn cursor(&self) -> Option<(usize, usize)> {
        self.cursor
    }

    /// The product shown alone; else all of the kinds shown.
    fn grid_of(session: &Session) -> Grid {
        let kinds = session.kinds_shown();
        let shown = |product: &Product| match &session.work.product {
            Some(id) => product.id == *id,
            None => kinds.contains(&product.kind),
        };
        Grid::of(
            &session.world.catalogue,
            shown,
            session.work.judgement.as_ref(),
            &session.world.shelf,
            session.world.today(),
        )
    }

    /// Whether no single device is long enough for the lesion in work.
    pub fn needs_span(&self, session: &Session) -> bool {
        let Some(target) = session.work.lesion.as_ref().map(|lesion| &lesion.target) else { return false };
        let longest = self.grid.lengths.last();
        longest.is_some_and(|longest| longest.mm() < target.length_min.mm())
    }

    /// Whether plans are worth a key in the footer: nothing single is long enough, several lesions share one shelf, or
    /// something lies in the vessel already.
    pub fn offers_plans(&self, session: &Session) -> bool {
        let several = session.world.case.as_ref().is_some_and(|case| case.lesions.len() > 1);
        self.needs_span(session)
            || (session.work.lesion.is_some() && (several || !session.in_already().is_empty()))
    }

    /// The vessel of the lesion in work, once it is measured: with the size under the
    /// cursor, else the plan that was called, else what was called last.
    pub fn drawn<'a>(&self, session: &'a Session) -> Option<Drawn<'a>> {
        let lesion = session.work.lesion.as_ref()?;
        if let (Some((diameter, length)), Some(boxed)) = (self.size(), self.box_here())
            && boxed.kind.is_stent()
        {
            let devices = vec![PlacedDevice::single(diameter, length, &boxed.name)];
            return Some(Drawn { lesion, devices, whose: "under the cursor".into() });
        }
        if let Some(spanned) = session.work.spanned.as_ref().filter(|spanned| spanned.lesion == *lesion) {
            return Some(Drawn {
                lesion,
                devices: spanned.devices.clone(),
                whose: "called as a span".into(),
            });
        }
        let (devices, whose) = self.called_device(session).unwrap_or_default();
        Some(Drawn { lesion, devices, whose })
    }

    fn called_device(&self, session: &Session) -> Option<(Vec<PlacedDevice>, String)> {
        let calls = &session.world.case.as_ref()?.calls;
        let call = calls.iter().rev().find(|call| {
            call.lesion == Some(session.lesion)
                && call.state != CallState::Cancelled
                && call.wanted.kind.is_some_and(|kind| kind.is_stent())
        })?;
        let (diameter, length) = call.wanted.diameter.zip(call.wanted.length)?;
        let name = call.wanted.name.clone().unwrap_or_default();
        Some((vec![PlacedDevice::single(diameter, length, &name)], format!("call {}", call.number)))
    }
}

/// The pieces of a size as a sign that is no size; while the shelf is not known, nothing is said to be missing.
pub fn pieces(on_shelf: Option<u32>) -> String {
    match on_shelf {
        None => "?".to_string(),
        Some(0) => "–".to_string(),
        Some(pieces) => format!("×{pieces}"),
    }
}
