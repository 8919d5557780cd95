//! Where things are on the screen: said by whoever draws them, so that nothing is reckoned twice.

use crate::tui::keys::Action;
use ratatui::layout::{Position, Rect};

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

/// What can be pointed at in one frame; what was drawn later lies over what was drawn earlier.
#[derive(Debug, Clone, Default)]
pub struct Hits(Vec<(Rect, Spot)>);

impl Hits {
    pub fn add(&mut self, area: Rect, spot: Spot) {
        if !area.is_empty() {
            self.0.push((area, spot));
        }
    }

    /// So many columns of a row of an area.
    pub fn add_in_row(&mut self, area: Rect, x: u16, y: u16, width: u16, spot: Spot) {
        if x < area.width && y < area.height {
            self.add(Rect::new(area.x + x, area.y + y, width.min(area.width - x), 1), spot);
        }
    }

    /// Whole rows of an area, one an entry.
    pub fn add_rows(&mut self, area: Rect, from: u16, spots: impl IntoIterator<Item = Spot>) {
        for (row, spot) in (from..area.height).zip(spots) {
            self.add_in_row(area, 0, row, area.width, spot);
        }
    }

    /// What is at this place, columns and rows from 0.
    pub fn at(&self, column: u16, row: u16) -> Option<Spot> {
        let here = Position::new(column, row);
        self.0.iter().rev().find(|(area, _)| area.contains(here)).map(|(_, spot)| *spot)
    }

    pub fn iter(&self) -> impl Iterator<Item = &(Rect, Spot)> {
        self.0.iter()
    }
}
