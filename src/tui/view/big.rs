//! Letters that are read from three metres: five by seven dots, each as large as the room allows.

use super::theme;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Dots across and down of one letter.
const WIDE: u16 = 5;
const HIGH: u16 = 7;

/// No headline has more letters.
const MOST: usize = 40;

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

    /// One column of dots in one row of the screen.
    fn draw(self, column: u8, row: u16) -> Vec<char> {
        let lit = |y: u16| y < HIGH && column >> y & 1 == 1;
        let dot = match self {
            Dots::Half => match (lit(row * 2), lit(row * 2 + 1)) {
                (true, true) => '█',
                (true, false) => '▀',
                (false, true) => '▄',
                (false, false) => ' ',
            },
            _ if lit(row) => '█',
            _ => ' ',
        };
        vec![dot; usize::from(self.columns())]
    }
}

/// Draws the words as large as they fit, in the upper left corner, and says how many rows they took. `marked`
/// letters stand on a bar, so that a digit that differs stands out. Where not even the smallest letters
/// fit, plain bold text is drawn.
pub fn draw(buffer: &mut Buffer, area: Rect, words: &str, style: Style, marked: &[usize]) -> u16 {
    let letters: Vec<Vec<u8>> = words.chars().take(MOST).map(trimmed).collect();
    let dots_across = letters.iter().map(|letter| letter.len() + 1).sum::<usize>().saturating_sub(1);
    let fits = |dots: &Dots| {
        dots_across * usize::from(dots.columns()) <= usize::from(area.width) && dots.rows() <= area.height
    };
    let Some(dots) = [Dots::Double, Dots::Single, Dots::Half].into_iter().find(fits) else {
        super::put(buffer, area, 0, 0, words, style.patch(theme::STRONG));
        return 1.min(area.height);
    };
    let mut left = 0;
    for (index, columns) in letters.iter().enumerate() {
        for row in 0..dots.rows() {
            let text: String = columns.iter().flat_map(|column| dots.draw(*column, row)).collect();
            super::put(buffer, area, left, row, &text, style);
        }
        if marked.contains(&index) {
            let bar = "▀".repeat(columns.len() * usize::from(dots.columns()));
            super::put(buffer, area, left, dots.rows(), &bar, theme::HEED);
        }
        left += u16::try_from(columns.len() + 1).unwrap_or(0) * dots.columns();
    }
    dots.rows() + u16::from(!marked.is_empty())
}

/// A letter without its empty columns: narrow letters take less room. A space is one column.
fn trimmed(letter: char) -> Vec<u8> {
    let columns = glyph(letter);
    let first = columns.iter().position(|column| *column != 0);
    let last = columns.iter().rposition(|column| *column != 0);
    match first.zip(last) {
        Some((first, last)) => columns[first..=last].to_vec(),
        None => vec![0],
    }
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
        '.' => [0x00, 0x60, 0x60, 0x00, 0x00],
        ',' => [0x00, 0x40, 0x38, 0x18, 0x00],
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
        for words in ["STOP: NOT KNOWN", "STOP: RECALLED", "CHECK BY EYE", "SAME AS CALL 12", "2.25 × 15"] {
            let rows = draw(&mut buffer, Rect::new(1, 0, 78, 8), words, theme::PLAIN, &[]);
            assert_eq!(rows, HIGH, "{words} took {rows} rows");
        }
    }
}
