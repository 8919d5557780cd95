//! Where the measured values fall on the axes of the grid: between which sizes.

use super::grid::Grid;
use crate::lesion::Target;
use crate::units::{at_least, at_most};

/// Places between rows and columns of a grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Axes {
    /// What the rule aims at lies just before this row; one past the last where every size is smaller.
    pub aim_row: usize,
    /// The length that is needed lies just before this column; one past the last where every size is shorter.
    pub need_column: usize,
    /// The longest device wanted ends just before this column.
    pub limit_column: Option<usize>,
}

impl Axes {
    /// A size that is exactly the measure stands on the side that the rule takes: below the line for the rules that
    /// round down, above it for those that round up.
    pub fn of(grid: &Grid, target: &Target) -> Self {
        let aim = target.aim.mm();
        let beyond = |mm: f64| if target.rule.rounds_up() { at_least(mm, aim) } else { !at_most(mm, aim) };
        let row = grid.diameters.iter().position(|diameter| beyond(diameter.mm()));
        let column = grid.lengths.iter().position(|length| at_least(length.mm(), target.length_min.mm()));
        let past = |limit: f64| grid.lengths.iter().position(|length| !at_most(length.mm(), limit));
        Axes {
            aim_row: row.unwrap_or(grid.diameters.len()),
            need_column: column.unwrap_or(grid.lengths.len()),
            limit_column: target.limit.and_then(|limit| past(limit.mm())),
        }
    }
}
