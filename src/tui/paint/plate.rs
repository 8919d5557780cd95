//! The headline of a read-back, told apart across the room by form: a solid plate is the same, a striped frame is
//! against it, a thin frame asks for eyes.

use super::big::{self, Size};
use super::text::{put, rows};
use super::theme;
use crate::case::Bearing;
use ratatui::prelude::*;
use ratatui::widgets::{Block, BorderType, Widget};

/// A frame is never thicker, in rows.
const THICKEST: u16 = 4;

pub const fn style(bearing: Bearing) -> Style {
    match bearing {
        Bearing::Same => theme::GOOD,
        Bearing::Against => theme::STOP,
        Bearing::Eyes => theme::WARNING,
    }
}

/// Draws the headline across the area, as large as it fits; the rows that it took.
pub fn draw(buffer: &mut Buffer, area: Rect, words: &str, bearing: Bearing) -> u16 {
    let Some(fitting) = fitting(words, bearing, area) else {
        put(buffer, area, 0, 0, &in_one_line(words, bearing), style(bearing).patch(theme::BAR));
        return 1.min(area.height);
    };
    let (size, thick) = (fitting.size, fitting.thick);
    let high = size.rows(false) + 2 * thick;
    let plate = rows(area, 0, high);
    match if crate::control::holds("plates-differ") { bearing } else { Bearing::Eyes } {
        Bearing::Same => buffer.set_style(plate, theme::CURSOR.patch(style(bearing))),
        Bearing::Against => stripes(buffer, plate, &fitting),
        Bearing::Eyes => {
            Block::bordered()
                .border_type(BorderType::Plain)
                .border_style(style(bearing))
                .render(plate, buffer);
        }
    }
    let left = (area.width - size.columns(words)) / 2;
    let letters = Rect::new(plate.x + left, plate.y + thick, plate.width - left, size.rows(false));
    let ink = if bearing == Bearing::Same { theme::CURSOR.patch(style(bearing)) } else { style(bearing) };
    big::draw_at(buffer, letters, words, size, ink, &[]);
    high
}

/// How a headline stands in its area.
struct Fitting {
    size: Size,
    /// Rows of the frame above and below.
    thick: u16,
    /// Columns of stripes on either side.
    side: u16,
}

/// The largest letters with a frame that goes with them. A long headline on a small screen has its frame above and
/// below only.
fn fitting(words: &str, bearing: Bearing, area: Rect) -> Option<Fitting> {
    let try_one = |thick: u16, side: u16| {
        let blank =
            if bearing == Bearing::Eyes { 2 } else { u16::from(side > 0 || bearing == Bearing::Same) };
        let width = area.width.checked_sub(2 * (side + blank))?;
        let size = Size::fitting(words, false, width, area.height.checked_sub(2 * thick)?)?;
        (thick == 1 || size.frame() >= thick).then_some(Fitting { size, thick, side })
    };
    let side = |thick: u16| if bearing == Bearing::Against { 2 * thick } else { 0 };
    (1..=THICKEST).rev().find_map(|thick| try_one(thick, side(thick))).or_else(|| try_one(1, 0))
}

/// Stripes all around, aslant: they are seen where a colour is not. Half a row stays free beside the letters, or they
/// would grow into one another.
fn stripes(buffer: &mut Buffer, plate: Rect, fitting: &Fitting) {
    let (thick, side) = (fitting.thick, fitting.side);
    for y in 0..plate.height {
        let text: String = (0..plate.width)
            .map(|x| {
                let beside = x < side || x >= plate.width - side;
                let lit = ((x + 2 * y) / (2 * thick)).is_multiple_of(2);
                match (y, plate.height - 1 - y) {
                    _ if !lit => ' ',
                    _ if beside => '█',
                    (above, _) if above + 1 == thick => '▀',
                    (_, below) if below + 1 == thick => '▄',
                    (above, below) if above.min(below) < thick => '█',
                    _ => ' ',
                }
            })
            .collect();
        put(buffer, plate, 0, y, &text, style(Bearing::Against));
    }
}

fn in_one_line(words: &str, bearing: Bearing) -> String {
    match bearing {
        Bearing::Same => format!(" {words} "),
        Bearing::Against => format!("//// {words} ////"),
        Bearing::Eyes => format!("[ {words} ]"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::style::Modifier;

    fn drawn(words: &str, bearing: Bearing, width: u16, height: u16) -> Buffer {
        let area = Rect::new(0, 0, width, height);
        let mut buffer = Buffer::empty(area);
        draw(&mut buffer, area, words, bearing);
        buffer
    }

    /// Told apart by form alone: neither ink nor words are looked at.
    #[test]
    fn the_three_forms_differ_without_colour_and_without_the_words() {
        for (width, height) in [(78, 8), (78, 10), (158, 20), (398, 60)] {
            let edge = |bearing| {
                let buffer = drawn("SAME", bearing, width, height);
                let top: String = (0..width).map(|x| buffer[(x, 0)].symbol()).collect();
                (top, buffer[(0, 0)].modifier.contains(Modifier::REVERSED))
            };
            let (same, against, eyes) = (edge(Bearing::Same), edge(Bearing::Against), edge(Bearing::Eyes));
            assert!(same.1 && !against.1 && !eyes.1, "only SAME is a solid plate");
            let striped = against.0.contains("██") || against.0.contains("▀▀");
            assert!(striped && against.0.contains("  "), "stripes: {}", against.0);
            assert!(eyes.0.contains("──") && !eyes.0.contains('█'), "a thin line: {}", eyes.0);
        }
    }

    #[test]
    fn every_headline_is_in_large_letters_on_the_smallest_screen() {
        for (words, bearing) in [
            ("SAME AS CALL 12", Bearing::Same),
            ("DIFFERENT", Bearing::Against),
            ("STOP: NOT KNOWN", Bearing::Against),
            ("NO IDENTIFIER", Bearing::Against),
            ("CHECK BY EYE", Bearing::Eyes),
        ] {
            let area = Rect::new(0, 0, 78, 6);
            let high = draw(&mut Buffer::empty(area), area, words, bearing);
            assert_eq!(high, 6, "{words}: four rows and a frame");
        }
    }
}
