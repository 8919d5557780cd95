//! The characters of a finished frame, fitted to the font: nothing that a terminal would obey, nothing it can't draw.

use super::look::Glyphs;
use crate::tui::columns::{obeyed, runs_left};
use ratatui::buffer::{Buffer, Cell};
use unicode_width::UnicodeWidthStr;

/// Stands before and after letters that run from right to left, so that a terminal which turns them leaves the
/// figures beside them where they are. Source: the left-to-right mark of @bidi.
const MARK: char = '\u{200e}';

/// Fits every cell of a frame.
pub fn finish(buffer: &mut Buffer, glyphs: Glyphs) {
    for cell in &mut buffer.content {
        drawable(cell, glyphs);
    }
    if glyphs == Glyphs::Full {
        let width = usize::from(buffer.area.width).max(1);
        buffer.content.chunks_mut(width).for_each(hold_apart);
    }
}

/// Closes each run of a row that runs left between two marks. A single blank between two words belongs to their
/// run; wider room stands between columns.
fn hold_apart(row: &mut [Cell]) {
    let turned = |cell: &Cell| cell.symbol().chars().any(runs_left);
    let mut place = 0;
    while place < row.len() {
        if !turned(&row[place]) {
            place += 1;
            continue;
        }
        let first = place;
        let mut last = place;
        loop {
            let goes_on = |by: usize| row.get(last + by).is_some_and(turned);
            if goes_on(1) {
                last += 1;
            } else if goes_on(2) && row[last + 1].symbol() == " " {
                last += 2;
            } else {
                break;
            }
        }
        let marked = format!("{MARK}{}", row[first].symbol());
        row[first].set_symbol(&marked);
        let marked = format!("{}{MARK}", row[last].symbol());
        row[last].set_symbol(&marked);
        place = last + 1;
    }
}

/// Leaves nothing in a cell that the terminal would obey or could not draw.
fn drawable(cell: &mut Cell, glyphs: Glyphs) {
    let symbol = cell.symbol();
    if symbol.is_ascii() && !symbol.bytes().any(|byte| byte.is_ascii_control()) {
        return;
    }
    let wide = symbol.width() > 1;
    let kept: String = symbol.chars().filter(|c| !obeyed(*c)).collect();
    let drawn = match glyphs {
        Glyphs::Full => kept,
        // One character a cell: what combines with it, and what has no likeness, is lost.
        Glyphs::Console => kept.chars().next().map(console).map(String::from).unwrap_or_default(),
        Glyphs::Ascii => kept.chars().next().map(ascii).map(String::from).unwrap_or_default(),
    };
    let drawn = if drawn.is_empty() { " ".to_string() } else { drawn };
    // What took two columns still does: the rest of the row stays where it is.
    let narrower = wide && drawn.width() < 2;
    cell.set_symbol(&if narrower { format!("{drawn} ") } else { drawn });
}

/// The nearest character in the font of a Linux console, of the same width. Such a font has 256 characters, by
/// default those of code page 437.
fn console(c: char) -> char {
    match c {
        '◆' => '♦',
        '◇' => 'o',
        '▿' => 'v',
        '○' => '°',
        '▸' => '►',
        '▾' => '▼',
        '▏' => '│',
        '·' | '█' | '░' | '▒' | '▀' | '▄' | '─' | '│' | '┌' | '┐' | '└' | '┘' | '├' | '┤' | '┬' | '┴'
        | '┼' => c,
        '←' | '↑' | '→' | '↓' | '♦' | '►' | '▼' | '°' | '²' | '±' | '≥' | '≤' | '½' | '¼' | '√' | 'π'
        | 'µ' => c,
        'à' | 'á' | 'â' | 'ä' | 'å' | 'æ' | 'ç' | 'è' | 'é' | 'ê' | 'ë' | 'ì' | 'í' | 'î' | 'ï' | 'ñ'
        | 'ò' | 'ó' | 'ô' | 'ö' | 'ù' | 'ú' | 'û' | 'ü' | 'ÿ' | 'Ä' | 'Å' | 'Æ' | 'Ç' | 'É' | 'Ñ' | 'Ö'
        | 'Ü' | 'ß' | '£' | '¥' => c,
        _ => ascii(c),
    }
}

/// The nearest ASCII character, of the same width.
fn ascii(c: char) -> char {
    match c {
        c if c.is_ascii() => c,
        '×' => 'x',
        '·' | '–' | '—' | '─' | '━' | '−' => '-',
        '│' | '┃' | '▏' => '|',
        '┌' | '┐' | '└' | '┘' | '├' | '┤' | '┬' | '┴' | '┼' | '╭' | '╮' | '╰' | '╯' => {
            '+'
        }
        '█' => '#',
        '░' => ':',
        '▒' => '%',
        // The halves of a large letter's dots: as one sign they would make blots of letters four rows high.
        '▀' => '"',
        '▄' => 'o',
        '◆' => '@',
        '◇' => '+',
        '▿' => 'v',
        '○' => '.',
        '…' => '.',
        '→' => '>',
        '←' => '<',
        '↑' => '^',
        '↓' => 'v',
        '▸' | '►' => '>',
        '▾' | '▼' => 'v',
        '“' | '”' | '„' => '"',
        '‘' | '’' => '\'',
        'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' | 'æ' => 'a',
        'À' | 'Á' | 'Â' | 'Ã' | 'Ä' | 'Å' | 'Æ' => 'A',
        'ç' => 'c',
        'Ç' => 'C',
        'è' | 'é' | 'ê' | 'ë' => 'e',
        'È' | 'É' | 'Ê' | 'Ë' => 'E',
        'ì' | 'í' | 'î' | 'ï' => 'i',
        'Ì' | 'Í' | 'Î' | 'Ï' => 'I',
        'ñ' => 'n',
        'Ñ' => 'N',
        'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'ø' => 'o',
        'Ò' | 'Ó' | 'Ô' | 'Õ' | 'Ö' | 'Ø' => 'O',
        'ù' | 'ú' | 'û' | 'ü' => 'u',
        'Ù' | 'Ú' | 'Û' | 'Ü' => 'U',
        'ý' | 'ÿ' => 'y',
        'ß' => 's',
        'µ' => 'u',
        '²' => '2',
        '≥' => '>',
        '≤' => '<',
        _ => '?',
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::layout::Rect;
    use ratatui::style::Style;

    #[test]
    fn nothing_that_a_terminal_obeys_is_left_in_a_cell() {
        for (symbol, full, plain) in [
            ("a\u{202e}", "a", "a"),
            ("\u{1b}", " ", " "),
            ("e\u{301}", "e\u{301}", "e"),
            ("山", "山", "? "),
            ("\u{200b}", " ", " "),
            ("é", "é", "e"),
        ] {
            for (glyphs, wanted) in [(Glyphs::Full, full), (Glyphs::Ascii, plain)] {
                let mut cell = Cell::default();
                cell.set_symbol(symbol);
                drawable(&mut cell, glyphs);
                assert_eq!(cell.symbol(), wanted, "{symbol:?}");
            }
        }
    }

    #[test]
    fn letters_that_run_left_are_held_apart_from_the_figures_beside_them() {
        for (row, wanted) in [
            ("3.00 אגם ×2", "3.00 \u{200e}אגם\u{200e} ×2"),
            ("אגם צפון  ×2", "\u{200e}אגם צפון\u{200e}  ×2"),
            ("אגם  צפון", "\u{200e}אגם\u{200e}  \u{200e}צפון\u{200e}"),
            ("Fell ×2", "Fell ×2"),
        ] {
            let mut buffer = Buffer::empty(Rect::new(0, 0, 12, 1));
            buffer.set_string(0, 0, row, Style::new());
            finish(&mut buffer, Glyphs::Full);
            let drawn: String = buffer.content.iter().map(Cell::symbol).collect();
            assert_eq!(drawn.trim_end(), wanted);
        }
    }
}
