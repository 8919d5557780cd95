//! Letters that are read from three metres: five by seven dots, each as large as the room allows.

use super::text::{put, put_lines, wrapped};
use super::theme;
use ratatui::prelude::*;

/// Dots across and down of one letter.
const WIDE: u16 = 5;
const HIGH: u16 = 7;

/// No line has more letters: the narrowest takes a column and the one after it, and no terminal has more than 400.
const MOST: usize = 200;

/// The widest dot, in columns.
const WIDEST: u16 = 12;

/// How large a dot is drawn. A column is about half as wide as a row is high, so that a dot of one column and one
/// half row is nearly square.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Columns of a dot.
    columns: u16,
    /// Half rows of a dot.
    halves: u16,
}

impl Size {
    /// The smallest letters: four rows high.
    pub const LEAST: Size = Size { columns: 1, halves: 1 };
    /// The largest.
    pub const MOST: Size = Size { columns: WIDEST, halves: WIDEST * 2 };

    /// Largest first: wide enough for its height, since strokes that stand close are what a far eye loses first.
    fn all() -> impl Iterator<Item = Size> {
        (1..=WIDEST).rev().flat_map(|columns| {
            let tallest = if columns == 1 { 2 } else { columns * 3 / 2 };
            (columns..=tallest).rev().map(move |halves| Size { columns, halves })
        })
    }

    /// The largest in which the words stand in one line within so many columns and rows, marks below included.
    pub fn fitting(words: &str, marked: bool, width: u16, height: u16) -> Option<Size> {
        let dots = dots_across(words);
        Size::all().find(|size| dots * size.columns <= width && size.rows(marked) <= height)
    }

    /// Rows that one line of letters takes.
    pub const fn rows(self, marked: bool) -> u16 {
        let halves = HIGH * self.halves + if marked { self.gap() + self.bar() } else { 0 };
        halves.div_ceil(2)
    }

    /// Columns that the words take.
    pub fn columns(self, words: &str) -> u16 {
        dots_across(words) * self.columns
    }

    /// Half rows between a letter and the bar that marks it, and of the bar.
    const fn gap(self) -> u16 {
        self.halves.div_ceil(2)
    }

    const fn bar(self) -> u16 {
        self.halves.div_ceil(2)
    }

    /// How thick a frame around such letters is, in rows.
    pub const fn frame(self) -> u16 {
        self.halves.div_ceil(3)
    }
}

fn letters(words: &str) -> Vec<Vec<u8>> {
    words.chars().take(MOST).map(trimmed).collect()
}

/// More than any screen has where the words have too many letters for a line: none of them is left out unseen.
fn dots_across(words: &str) -> u16 {
    if words.chars().nth(MOST).is_some() {
        return u16::MAX / WIDEST;
    }
    let dots = letters(words).iter().map(|letter| letter.len() + 1).sum::<usize>().saturating_sub(1);
    u16::try_from(dots).unwrap_or(u16::MAX).min(u16::MAX / WIDEST)
}

/// Draws the words as large as they fit, in the upper left corner, and says how many rows they took. `marked`
/// letters stand on a bar, so that a digit that differs stands out. Where not even the smallest letters
/// fit, plain bold text is drawn.
pub fn draw(buffer: &mut Buffer, area: Rect, words: &str, style: Style, marked: &[usize]) -> u16 {
    match Size::fitting(words, !marked.is_empty(), area.width, area.height) {
        Some(size) => draw_at(buffer, area, words, size, style, marked),
        None => {
            put(buffer, area, 0, 0, words, style.patch(theme::STRONG));
            1.min(area.height)
        }
    }
}

/// Draws the words at this size; what does not fit is cut off.
pub fn draw_at(
    buffer: &mut Buffer,
    area: Rect,
    words: &str,
    size: Size,
    style: Style,
    marked: &[usize],
) -> u16 {
    let mut left = 0u16;
    for (index, columns) in letters(words).iter().enumerate() {
        for row in 0..size.rows(false) {
            let halves = [row * 2, row * 2 + 1];
            let text: String = columns
                .iter()
                .map(|column| {
                    let lit = halves
                        .map(|half| half / size.halves < HIGH && column >> (half / size.halves) & 1 == 1);
                    block(lit).repeat(usize::from(size.columns))
                })
                .collect();
            put(buffer, area, left, row, &text, style);
        }
        let wide = u16::try_from(columns.len()).unwrap_or(WIDE) * size.columns;
        if marked.contains(&index) {
            let first = HIGH * size.halves + size.gap();
            let bar = first..first + size.bar();
            for row in bar.start / 2..bar.end.div_ceil(2) {
                let text = block([row * 2, row * 2 + 1].map(|half| bar.contains(&half)));
                put(buffer, area, left, row, &text.repeat(usize::from(wide)), theme::WARNING);
            }
        }
        left = left.saturating_add(wide + size.columns);
    }
    size.rows(!marked.is_empty())
}

/// Draws the words over several lines, at spaces, as large as all of them fit and no larger than `most`; the
/// rows that they took. None, and nothing is drawn, where not even the smallest letters fit.
pub fn draw_wrapped(buffer: &mut Buffer, area: Rect, words: &str, most: Size, style: Style) -> Option<u16> {
    let no_larger = |size: &Size| size.columns <= most.columns && size.halves <= most.halves;
    let (size, lines) = Size::all().filter(no_larger).find_map(|size| {
        let lines = broken(words, size, area.width)?;
        let rows = u16::try_from(lines.len()).unwrap_or(u16::MAX).saturating_mul(size.rows(false) + 1);
        (rows.saturating_sub(1) <= area.height).then_some((size, lines))
    })?;
    let mut row = 0;
    for line in &lines {
        row += draw_at(buffer, super::rows(area, row, area.height), line, size, style, &[]) + 1;
    }
    Some(row.saturating_sub(1))
}

/// Rows that the words take over several lines in the smallest letters; none where a word is too long for a line.
pub fn least_rows(words: &str, width: u16) -> Option<u16> {
    let lines = u16::try_from(broken(words, Size::LEAST, width)?.len()).ok()?;
    Some(lines.saturating_mul(Size::LEAST.rows(false) + 1).saturating_sub(1))
}

/// Draws several texts one below the other, each in letters as large as its share of the rows allows and no larger
/// than `most`, or as plain lines; the rows that they took.
pub fn stack(buffer: &mut Buffer, area: Rect, texts: &[(String, Style)], most: Size) -> u16 {
    let mut taken = 0;
    for (place, (words, style)) in texts.iter().enumerate() {
        let left = u16::try_from(texts.len() - place).unwrap_or(u16::MAX);
        let share = area.height.saturating_sub(taken) / left;
        let drawn =
            draw_wrapped(buffer, super::rows(area, taken, share.saturating_sub(1)), words, most, *style);
        taken += match drawn {
            Some(high) => high + 1,
            None => {
                let lines = wrapped(words, area.width).into_iter().map(|text| Line::styled(text, *style));
                put_lines(buffer, super::rows(area, taken, area.height), lines)
            }
        };
    }
    taken.min(area.height)
}

/// The words in lines of at most so many columns at this size; none where a word is too long.
fn broken(words: &str, size: Size, width: u16) -> Option<Vec<String>> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        let longer = lines.last().map(|line| format!("{line} {word}"));
        match longer.filter(|line| size.columns(line) <= width) {
            Some(longer) => *lines.last_mut()? = longer,
            None if size.columns(word) <= width => lines.push(word.to_string()),
            None => return None,
        }
    }
    Some(lines)
}

/// A row of the screen of which the upper and the lower half are lit or not.
const fn block([upper, lower]: [bool; 2]) -> &'static str {
    match (upper, lower) {
        (true, true) => "█",
        (true, false) => "▀",
        (false, true) => "▄",
        (false, false) => " ",
    }
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
    match plain(letter) {
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
        '·' => [0x00, 0x00, 0x08, 0x00, 0x00],
        '(' => [0x00, 0x1c, 0x22, 0x41, 0x00],
        ')' => [0x00, 0x41, 0x22, 0x1c, 0x00],
        '=' => [0x14, 0x14, 0x14, 0x14, 0x14],
        '▸' => [0x7f, 0x3e, 0x1c, 0x08, 0x00],
        '+' => [0x08, 0x08, 0x3e, 0x08, 0x08],
        '!' => [0x00, 0x00, 0x5f, 0x00, 0x00],
        ' ' => [0; WIDE as usize],
        _ => [0x02, 0x01, 0x51, 0x09, 0x06],
    }
}

/// A letter of a place's or a product's name without its accent, as a capital.
fn plain(letter: char) -> char {
    match letter {
        'à' | 'á' | 'â' | 'ä' | 'å' | 'À' | 'Á' | 'Â' | 'Ä' | 'Å' => 'A',
        'ç' | 'Ç' => 'C',
        'è' | 'é' | 'ê' | 'ë' | 'È' | 'É' | 'Ê' | 'Ë' => 'E',
        'ì' | 'í' | 'î' | 'ï' | 'Ì' | 'Í' | 'Î' | 'Ï' => 'I',
        'ñ' | 'Ñ' => 'N',
        'ò' | 'ó' | 'ô' | 'ö' | 'ø' | 'Ò' | 'Ó' | 'Ô' | 'Ö' | 'Ø' => 'O',
        'ù' | 'ú' | 'û' | 'ü' | 'Ù' | 'Ú' | 'Û' | 'Ü' => 'U',
        _ => letter.to_ascii_uppercase(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_letters_of_the_room_are_all_drawn_and_all_differ() {
        let letters: Vec<char> = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ×.:-'·()=▸".chars().collect();
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

    /// More room never gives smaller letters, and what is drawn stays inside the room that was given.
    #[test]
    fn letters_grow_with_the_room_and_stay_inside_it() {
        for words in ["3.00×29", "DIFFERENT", "1:05"] {
            let mut before = 0;
            for step in 1..40u16 {
                let (width, height) = (step * 10, step * 3);
                let Some(size) = Size::fitting(words, true, width, height) else { continue };
                assert!(size.columns(words) <= width && size.rows(true) <= height);
                assert!(size.rows(false) >= before, "{words} shrinks at {width}x{height}");
                before = size.rows(false);
                let mut buffer = Buffer::empty(Rect::new(0, 0, width + 2, height + 2));
                draw(&mut buffer, Rect::new(1, 1, width, height), words, theme::PLAIN, &[0]);
                for (x, y) in (0..width + 2).flat_map(|x| (0..height + 2).map(move |y| (x, y))) {
                    let edge = x == 0 || y == 0 || x == width + 1 || y == height + 1;
                    assert!(!edge || buffer[(x, y)].symbol() == " ", "{words} leaves {width}x{height}");
                }
            }
            assert!(before >= 30, "{words} on a wall: {before} rows");
        }
    }

    /// What to do next is no shorter because its line is long.
    #[test]
    fn no_letter_of_a_long_line_is_left_out() {
        let words = "first box of this kind in this room: type the size printed on it";
        let ink = |width: u16, words: &str| {
            let mut buffer = Buffer::empty(Rect::new(0, 0, 400, 60));
            let area = Rect::new(0, 0, width, 60);
            draw_wrapped(&mut buffer, area, words, Size::LEAST, theme::PLAIN).expect("there is room");
            let lit = |symbol: &str| match symbol {
                "█" => 2,
                "▀" | "▄" => 1,
                _ => 0,
            };
            buffer.content().iter().map(|cell| lit(cell.symbol())).sum::<usize>()
        };
        let apart: usize = words.split(' ').map(|word| ink(400, word)).sum();
        for width in [100, 198, 300, 400] {
            assert_eq!(ink(width, words), apart, "{width} columns");
        }
        let endless = "x".repeat(MOST + 1);
        assert_eq!(Size::fitting(&endless, false, 400, 60), None);
    }

    #[test]
    fn a_place_is_broken_at_its_spaces() {
        let mut buffer = Buffer::empty(Rect::new(0, 0, 80, 24));
        let rows = draw_wrapped(
            &mut buffer,
            Rect::new(0, 0, 78, 12),
            "cupboard 1, shelf A",
            Size::MOST,
            theme::PLAIN,
        );
        assert_eq!(rows, Some(9), "two lines of the smallest letters");
        let one = draw_wrapped(
            &mut buffer,
            Rect::new(0, 0, 78, 4),
            "cupboard 1, shelf A",
            Size::MOST,
            theme::PLAIN,
        );
        assert_eq!(one, None);
    }
}
