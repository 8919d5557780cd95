//! The headline of a read-back, told apart across the room by form: a solid plate is the same, a striped frame is
//! against it, a thin frame asks for eyes.

use super::big::{self, Size};
use super::{put, rows, theme};
use crate::case::Bearing;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::{Block, BorderType, Widget};

/// A frame is never thicker, in rows.
const THICKEST: u16 = 4;

pub const fn style(bearing: Bearing) -> Style {
    match bearing {
        Bearing::Same => theme::GOOD,
        Bearing::Against => theme::STOP,
        Bearing::Eyes => theme::HEED,
    }
}

/// Draws the headline across the area, as large as it fits; the rows that it took.
pub fn draw(buffer: &mut Buffer, area: Rect, words: &str, bearing: Bearing) -> u16 {
    let Some((size, thick)) = fitting(words, area) else {
        put(buffer, area, 0, 0, &in_one_line(words, bearing), style(bearing).patch(theme::BAR));
        return 1.min(area.height);
    };
    let high = size.rows(false) + 2 * thick;
    let plate = rows(area, 0, high);
    match bearing {
        Bearing::Same => buffer.set_style(plate, theme::CURSOR.patch(style(bearing))),
        Bearing::Against => stripes(buffer, plate, thick),
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

/// The largest letters with a frame that goes with them, and how thick that is.
fn fitting(words: &str, area: Rect) -> Option<(Size, u16)> {
    (1..=THICKEST).rev().find_map(|thick| {
        let width = area.width.checked_sub(2 * side(thick))?;
        let size = Size::fitting(words, false, width, area.height.checked_sub(2 * thick)?)?;
        (thick == 1 || size.frame() >= thick).then_some((size, thick))
    })
}

/// Columns of a frame that is so many rows thick, and of the blank beside it.
const fn side(thick: u16) -> u16 {
    2 * thick + 1
}

/// Stripes all around, aslant: they are seen where a colour is not.
fn stripes(buffer: &mut Buffer, plate: Rect, thick: u16) {
    let wide = 2 * thick;
    for y in 0..plate.height {
        let text: String = (0..plate.width)
            .map(|x| {
                let edge = y < thick || y >= plate.height - thick || x < wide || x >= plate.width - wide;
                let lit = ((x + 2 * y) / wide).is_multiple_of(2);
                if edge && lit { '█' } else { ' ' }
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
            assert!(against.0.contains("██") && against.0.contains("  "), "stripes: {}", against.0);
            assert!(eyes.0.contains("──") && !eyes.0.contains('█'), "a thin line: {}", eyes.0);
        }
    }

    #[test]
    fn every_headline_is_in_large_letters_on_the_smallest_screen() {
        for words in ["SAME AS CALL 12", "DIFFERENT", "STOP: NOT KNOWN", "NO IDENTIFIER", "CHECK BY EYE"] {
            let area = Rect::new(0, 0, 78, 6);
            let high = draw(&mut Buffer::empty(area), area, words, Bearing::Against);
            assert_eq!(high, 6, "{words}: four rows and a frame");
        }
    }
}
