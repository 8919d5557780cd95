//! The balloon's clock in large digits.

use super::text::{put, rows};
use super::{big, theme};
use ratatui::prelude::*;

/// A balloon that is up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clock {
    /// Whole seconds since it went up.
    pub seconds: i64,
    /// The box: `3.00 × 29 Fell`.
    pub words: String,
}

impl Clock {
    /// Minutes and seconds: `1:05`.
    pub fn shown(&self) -> String {
        format!("{}:{:02}", self.seconds / 60, self.seconds % 60)
    }
}

/// Draws the clock of the balloon that is up longest as large as it fits, the others one line each; the rows taken.
pub fn draw(clocks: &[Clock], area: Rect, buffer: &mut Buffer) -> u16 {
    let Some((first, others)) = clocks.split_first() else { return 0 };
    let others = &others[..others.len().min(3)];
    let below = u16::try_from(others.len()).unwrap_or(0);
    put(buffer, area, 0, 0, &format!("BALLOON UP  {}", first.words), theme::STOP);
    let room = area.height.saturating_sub(below + 1);
    let mut taken = 1 + big::draw(buffer, rows(area, 1, room), &first.shown(), theme::STOP, &[]);
    for other in others {
        put(buffer, area, 0, taken, &format!("{}  {}", other.shown(), other.words), theme::STOP);
        taken += 1;
    }
    taken
}
