//! Letters that are read from three metres: five by seven dots, each as large as the room allows.

use super::theme;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Dots across and down of one letter.
const WIDE: u16 = 5;
const HIGH: u16 = 7;

/// How large the dots are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Dots {
    /// A dot is two columns and one row: nearly square.
    Double,
    /// A dot is one column and one row.
    Single,
    /// A dot is one column and half a row.
    Half,
}

impl Dots {
    const fn columns(self) -> u16 {
        match self {
            Dots::Double => 2,
            Dots::Single | Dots::Half => 1,
        }
    }

    const fn rows(self) -> u16 {
        match self {
            Dots::Double | Dots::Single => HIGH,
            Dots::Half => HIGH.div_ceil(2),
        }
    }

    fn width(self, letters: usize) -> u16 {
        let letters = u16::try_from(letters).unwrap_or(u16::MAX / 16).min(u16::MAX / 16);
        (letters * (WIDE + 1)).saturating_sub(1) * self.columns()
    }
}

/// Draws the words as large as they fit, in the upper left corner, and says how many rows they took. `marked`
/// letters are drawn in reverse, so that a digit that differs stands out. Where not even the smallest letters
/// fit, plain bold text is drawn.
pub fn draw(buffer: &mut Buffer, area: Rect, words: &str, style: Style, marked: &[usize]) -> u16 {
    let letters = words.chars().count();
    let fits = |dots: &Dots| dots.width(letters) <= area.width && dots.rows() <= area.height;
    let Some(dots) = [Dots::Double, Dots::Single, Dots::Half].into_iter().find(fits) else {
        super::put(buffer, area, 0, 0, words, style.patch(theme::STRONG));
        return 1.min(area.height);
    };
    for (index, letter) in words.chars().enumerate() {
        let columns = glyph(letter);
        let left = dots.width(index + 1) - WIDE * dots.columns();
        let lit = |x: u16, y: u16| y < HIGH && columns[usize::from(x)] >> y & 1 == 1;
        let under = if marked.contains(&index) { theme::CURSOR } else { theme::PLAIN };
        for row in 0..dots.rows() {
            let mut text = String::new();
            for x in 0..WIDE {
                let dot = match dots {
                    Dots::Half => match (lit(x, row * 2), lit(x, row * 2 + 1)) {
                        (true, true) => '█',
                        (true, false) => '▀',
                        (false, true) => '▄',
                        (false, false) => ' ',
                    },
                    _ if lit(x, row) => '█',
                    _ => ' ',
                };
                (0..dots.columns()).for_each(|_| text.push(dot));
            }
            super::put(buffer, area, left, row, &text, style.patch(under));
        }
    }
    dots.rows()
}

/// The dots of a letter, column by column, the top dot in the lowest bit.
fn glyph(letter: char) -> [u8; WIDE as usize] {
    match letter.to_ascii_uppercase() {
        '0' => [0x3e, 0x41, 0x41, 0x41, 0x3e],
        '1' => [0x00, 0x42, 0x7f, 0x40, 0x00],
        '2' => [0x42, 0x61, 0x51, 0x49, 0x46],
        '3' => [0x22, 0x41, 0x49, 0x49, 0x36],
        '4' => [0x18, 0x14, 0x12, 0x7f, 0x10],
        '5' => [0x2f, 0x49, 0x49, 0x49, 0x31],
        '6' => [0x3e, 0x49, 0x49, 0x49, 0x32],
        '7' => [0x01, 0x61, 0x19, 0x05, 0x03],
        '8' => [0x36, 0x49, 0x49, 0x49, 0x36],
        '9' => [0x26, 0x49, 0x49, 0x49, 0x3e],
        'A' => [0x7c, 0x12, 0x11, 0x12, 0x7c],
        'B' => [0x7f, 0x49, 0x49, 0x49, 0x36],
        'C' => [0x3e, 0x41, 0x41, 0x41, 0x22],
        'D' => [0x7f, 0x41, 0x41, 0x22, 0x1c],
        'E' => [0x7f, 0x49, 0x49, 0x49, 0x41],
        'F' => [0x7f, 0x09, 0x09, 0x09, 0x01],
        'G' => [0x3e, 0x41, 0x41, 0x49, 0x7a],
        'H' => [0x7f, 0x08, 0x08, 0x08, 0x7f],
        'I' => [0x00, 0x41, 0x7f, 0x41, 0x00],
        'J' => [0x20, 0x40, 0x41, 0x3f, 0x01],
        'K' => [0x7f, 0x08, 0x14, 0x22, 0x41],
        'L' => [0x7f, 0x40, 0x40, 0x40, 0x40],
        'M' => [0x7f, 0x02, 0x0c, 0x02, 0x7f],
        'N' => [0x7f, 0x02, 0x0c, 0x10, 0x7f],
        'O' => [0x3e, 0x41, 0x41, 0x41, 0x3e],
        'P' => [0x7f, 0x09, 0x09, 0x09, 0x06],
        'Q' => [0x3e, 0x41, 0x51, 0x21, 0x5e],
        'R' => [0x7f, 0x09, 0x19, 0x29, 0x46],
        'S' => [0x26, 0x49, 0x49, 0x49, 0x32],
        'T' => [0x01, 0x01, 0x7f, 0x01, 0x01],
        'U' => [0x3f, 0x40, 0x40, 0x40, 0x3f],
        'V' => [0x1f, 0x20, 0x40, 0x20, 0x1f],
        'W' => [0x3f, 0x40, 0x38, 0x40, 0x3f],
        'X' => [0x63, 0x14, 0x08, 0x14, 0x63],
        'Y' => [0x07, 0x08, 0x70, 0x08, 0x07],
        'Z' => [0x61, 0x51, 0x49, 0x45, 0x43],
        '×' => [0x22, 0x14, 0x08, 0x14, 0x22],
        '.' | ',' => [0x00, 0x60, 0x60, 0x00, 0x00],
        ':' => [0x00, 0x36, 0x36, 0x00, 0x00],
        '-' | '–' => [0x08, 0x08, 0x08, 0x08, 0x08],
        '\'' => [0x00, 0x00, 0x07, 0x00, 0x00],
        '/' => [0x20, 0x10, 0x08, 0x04, 0x02],
        '+' => [0x08, 0x08, 0x3e, 0x08, 0x08],
        '!' => [0x00, 0x00, 0x5f, 0x00, 0x00],
        ' ' => [0; WIDE as usize],
        _ => [0x02, 0x01, 0x51, 0x09, 0x06],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_letters_of_the_room_are_all_drawn_and_all_differ() {
        let letters: Vec<char> = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ×.:-'".chars().collect();
        for (place, letter) in letters.iter().enumerate() {
            assert_ne!(glyph(*letter), glyph('?'), "{letter} has no dots of its own");
            for other in &letters[..place] {
                let alike = matches!((*other, *letter), ('0', 'O'));
                assert!(alike || glyph(*letter) != glyph(*other), "{letter} looks like {other}");
            }
        }
    }

    #[test]
    fn the_longest_headline_is_large_on_the_smallest_screen() {
        let mut buffer = Buffer::empty(Rect::new(0, 0, 80, 24));
        for words in ["STOP: EXPIRED", "CHECK BY EYE", "SAME AS CALL 2", "2.25 × 15"] {
            let rows = draw(&mut buffer, Rect::new(0, 0, 80, 8), words, theme::PLAIN, &[]);
            assert!(rows >= 4, "{words} took {rows} rows");
        }
    }
}
