//! Sizes: the measures on the left, the grid in the middle, why the size under the cursor fits or doesn't, and, where
//! there is room, the measured vessel with what is chosen.

pub mod arithmetic;
mod call;
mod compare;
pub mod find;
mod grid;
mod measures;
mod order;
pub mod plans;
mod state;
mod why;

pub use state::*;

use crate::journal::Readiness;
use crate::measure::Kind;
use crate::tui::keys::*;
use crate::tui::model::{Canvas, Component, Effects, Session};
use crate::tui::paint::{Spot, columns, rows, vessel};
use find::find;
use measures::ask_measures;
use ratatui::layout::Rect;

/// Columns of the pane of measures, rows of the pane of reasons.
const MEASURES: u16 = 27;
const REASONS: u16 = 6;
/// From this width on the reasons and the vessel stand beside the grid, in so many columns.
const WIDE: u16 = 130;
const BESIDE: u16 = 56;
/// Rows that the reasons keep above a vessel beside the grid.
const ABOVE_VESSEL: u16 = 18;

const LONGEST_ENTRY: usize = 12;

/// The places of this screen and its overlays.
pub const PLACES: &[&Place] = &[&PLACE, &find::PLACE, &plans::PLACE, &arithmetic::PLACE];

impl Component for Sizes {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        match action {
            ACCEPT => return self.call_here(session, Readiness::Asked),
            READY => return self.call_here(session, Readiness::HaveReady),
            MEASURE => return ask_measures(session),
            FIND => return find(session),
            NEXT_LESION => {
                session.lesion = session.lesion % 3 + 1;
                session.resume_measurements();
                return session.say(format!("Lesion {}", session.lesion));
            }
            OPEN_PLANS => return plans::plan_this(session, &[]),
            WHY => return arithmetic::of(session, self.box_here().and_then(|boxed| boxed.judged)),
            MARK_BOX => return self.mark_box(session),
            NEXT_BOX => match self.cell().map_or(0, |cell| cell.boxes.len()) {
                0 | 1 => return session.say("Only one product has this size"),
                count => self.box_at = (self.box_at + 1) % count,
            },
            DRAW_VESSEL if session.work.lesion.is_none() => {
                return session.say("Measure the lesion first: then its vessel is drawn");
            }
            DRAW_VESSEL => self.vessel_large = !self.vessel_large,
            LONGER => return self.call_near(session, 0, 1, "the next length up"),
            SHORTER => return self.call_near(session, 0, -1, "the next length down"),
            WIDER => return self.call_near(session, 1, 0, "the next diameter up"),
            NARROWER => return self.call_near(session, -1, 0, "the next diameter down"),
            SAME_AGAIN => return self.call_near(session, 0, 0, "the same again"),
            NEXT_PRODUCT => next_product(session),
            UP => self.move_cursor(-1, 0),
            DOWN => self.move_cursor(1, 0),
            LEFT => self.move_cursor(0, -1),
            RIGHT => self.move_cursor(0, 1),
            ERASE => _ = self.entry.pop(),
            CLOSE => self.step_back(),
            _ => {}
        }
        Effects::new()
    }

    fn offers(&self, session: &Session, action: Action) -> bool {
        match action {
            OPEN_PLANS => self.offers_plans(session),
            WHY => session.work.judgement.is_some(),
            DRAW_VESSEL => session.work.lesion.is_some(),
            MARK_BOX => self.box_here().is_some(),
            NEXT_BOX => self.cell().is_some_and(|cell| cell.boxes.len() > 1),
            SAME_AGAIN => session.world.case.as_ref().is_some_and(|case| !case.calls.is_empty()),
            _ => true,
        }
    }

    fn typed(&mut self, session: &mut Session, c: char) -> Effects {
        let starts = c.is_ascii_digit();
        let goes_on = !self.entry.is_empty() && matches!(c, ' ' | 'x' | 'X' | '×' | '.' | ',');
        if !starts && !goes_on {
            let key = if c == ' ' { "Space".to_string() } else { c.to_string() };
            return session.say(format!("{key} does nothing here; {} shows the keys", session.key(HELP)));
        }
        if self.entry.chars().count() < LONGEST_ENTRY {
            self.entry.push(c);
        }
        Effects::new()
    }

    fn clicked(&mut self, _: &mut Session, spot: Spot) {
        if let Spot::Cell { row, column } = spot
            && row < self.grid.diameters.len()
            && column < self.grid.lengths.len()
        {
            self.cursor = Some((row, column));
        }
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, hits, over }: Canvas) {
        let (upper, reasons, drawing) = panes(area);
        let left = columns(upper, 1, MEASURES - 1);
        let form = over.and_then(|over| over.form());
        match form.filter(|form| form.is_in_pane()) {
            Some(form) => measures::fields(form, left, buffer, hits),
            None => measures::measures(session, left, buffer),
        }
        let middle = columns(upper, MEASURES + 1, upper.width);
        let over_it = over.and_then(|over| over.drawn(session));
        let elsewhere = self.vessel_large || over_it.is_some();
        let drawn = over_it.or_else(|| self.drawn(session));
        match &drawn {
            Some(drawn) if self.vessel_large => vessel::draw(drawn, middle, buffer),
            _ => grid::draw(self, session, middle, buffer, hits),
        }
        match self.compared(session) {
            Some(compared) => compare::draw(&compared, reasons, buffer),
            None => why::draw(self, session, form, reasons, buffer),
        }
        // Drawn once: large, or with the plans, it needs no second place.
        if let (Some(drawn), Some(drawing)) = (drawn.filter(|_| !elsewhere), drawing) {
            vessel::draw(&drawn, drawing, buffer);
        }
    }
}

fn next_product(session: &mut Session) {
    let ids: Vec<&String> =
        session.world.catalogue.products.iter().filter(|p| p.kind != Kind::Other).map(|p| &p.id).collect();
    let next = match &session.work.product {
        None => ids.first(),
        Some(shown) => ids.iter().skip_while(|id| **id != shown).nth(1),
    };
    session.work.product = next.map(|id| id.to_string());
    session.judge();
}

/// Measures and grid, the reasons, and the vessel where it has a place of its own.
fn panes(area: Rect) -> (Rect, Rect, Option<Rect>) {
    if area.width < WIDE {
        let high = area.height.saturating_sub(REASONS);
        let reasons = rows(area, high, REASONS);
        return (rows(area, 0, high), columns(reasons, 1, area.width.saturating_sub(2)), None);
    }
    let left = area.width - BESIDE;
    let right = columns(area, left, BESIDE - 1);
    let room = area.height.saturating_sub(ABOVE_VESSEL);
    if room < vessel::LEAST_ROWS {
        return (columns(area, 0, left), right, None);
    }
    let below = room.min(vessel::MOST_ROWS);
    let above = area.height - below;
    (columns(area, 0, left), rows(right, 0, above), Some(rows(right, above, below)))
}
