//! What a click and a turn of the wheel do: never more than a key would, and never what takes something back.

use super::{Effect, Overlay, STEPS, State};
use crate::tui::keys::{Action, Place, turned};

/// What is drawn at a place of the screen and can be pointed at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spot {
    /// A key of the footer, a screen's name, an entry of a list of screens, an answer.
    Key(Action),
    /// A cell of the grid of sizes.
    Cell { row: usize, column: usize },
    /// An entry of the list that the screen, or what lies over it, has a cursor in.
    Row(usize),
    /// A field of a form.
    Field(usize),
    /// A page of the shelf.
    Page(usize),
    /// Part of what lies over a screen: what is beneath is not meant.
    Covered,
}

impl State {
    pub(super) fn clicked(&mut self, spot: Spot) -> Vec<Effect> {
        if matches!(self.overlay, Some(Overlay::CaseCode(_) | Overlay::Welcome)) {
            self.overlay = None;
            return Vec::new();
        }
        match spot {
            Spot::Key(action) if action.destroys() => {
                let key = self.key(action);
                self.say(format!("A click takes nothing back: {key} does"));
            }
            Spot::Key(action) if self.offers(action) => return self.act(action),
            Spot::Key(_) | Spot::Covered => {}
            Spot::Cell { row, column } => {
                let grid = &self.sizes.grid;
                if self.place() == Place::Sizes && row < grid.diameters.len() && column < grid.lengths.len() {
                    self.sizes.cursor = Some((row, column));
                }
            }
            Spot::Row(row) => self.row_clicked(row),
            Spot::Field(field) => {
                if let Some(Overlay::Form(form)) = &mut self.overlay {
                    form.cursor = field.min(form.fields.len().saturating_sub(1));
                }
            }
            Spot::Page(page) => {
                self.shelf.page = page;
                self.shelf.scroll = 0;
            }
        }
        Vec::new()
    }

    /// Sets the cursor of the list that is in front on this entry.
    fn row_clicked(&mut self, row: usize) {
        match (&mut self.overlay, self.screen.place()) {
            (Some(Overlay::Find(finding)), _) => {
                finding.cursor = row.min(finding.found.len().saturating_sub(1));
            }
            (Some(Overlay::Plans(offered)), _) => {
                offered.cursor = row.min(offered.plans.len().saturating_sub(1));
            }
            (Some(_), _) => {}
            (None, Place::Fetch) => self.fetch_shown = row,
            (None, Place::ReadBack) => self.readback.at_hand = row,
            (None, Place::Opened) => self.opened.shown = row,
            (None, Place::FirstSteps) => self.first.shown = row.min(STEPS.len() - 1),
            (None, Place::BailOut) => self.bail_shown = row.min(self.bail_out().len().saturating_sub(1)),
            (None, _) => {}
        }
        self.clamp();
    }

    /// The wheel does what the arrow up or down does here.
    pub(super) fn wheeled(&mut self, down: bool) -> Vec<Effect> {
        match turned(self.place(), down) {
            Some(action) if !matches!(self.overlay, Some(Overlay::CaseCode(_) | Overlay::Welcome)) => {
                self.act(action)
            }
            _ => Vec::new(),
        }
    }
}
