//! Every style and every glyph has its home here; no other file names a colour.
//!
//! Only the sixteen named colours are used, so that a terminal's own light or dark palette stays legible, and no
//! state is told by colour alone: each has a glyph, a word or a weight as well.

use crate::fit::Verdict;
use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier, Style};

/// What the terminal can show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    pub colour: bool,
    /// The locale is not UTF-8: only ASCII is drawn.
    pub ascii: bool,
}

impl Default for Look {
    fn default() -> Self {
        Look { colour: true, ascii: false }
    }
}

pub const PLAIN: Style = Style::new();
pub const QUIET: Style = Style::new().add_modifier(Modifier::DIM);
pub const STRONG: Style = Style::new().add_modifier(Modifier::BOLD);
pub const CURSOR: Style = Style::new().add_modifier(Modifier::REVERSED);
pub const TITLE: Style = Style::new().fg(Color::Cyan).add_modifier(Modifier::BOLD);
pub const KEY: Style = Style::new().fg(Color::Cyan);
pub const HEED: Style = Style::new().fg(Color::Yellow).add_modifier(Modifier::BOLD);
pub const GOOD: Style = Style::new().fg(Color::Green).add_modifier(Modifier::BOLD);
pub const STOP: Style = Style::new().fg(Color::Red).add_modifier(Modifier::BOLD);
/// A bar across the screen.
pub const BAR: Style = Style::new().add_modifier(Modifier::REVERSED).add_modifier(Modifier::BOLD);

/// The glyph and the brightness of a verdict: the brighter and fuller, the better it fits.
pub const fn verdict(verdict: Verdict) -> (&'static str, Style) {
    match verdict {
        Verdict::Fits => ("◆", Style::new().fg(Color::Green).add_modifier(Modifier::BOLD)),
        Verdict::FitsAfterPostDilatation => ("◇", Style::new().fg(Color::Green)),
        Verdict::Unknown => ("?", Style::new().fg(Color::Yellow)),
        Verdict::Undersized => ("▿", Style::new().add_modifier(Modifier::DIM)),
        Verdict::No => ("·", Style::new().add_modifier(Modifier::DIM)),
    }
}

/// What stands for a size that nothing is measured for.
pub const NOT_JUDGED: &str = "○";

/// Fits the finished frame to what the terminal can show.
pub fn finish(buffer: &mut Buffer, look: Look) {
    for cell in &mut buffer.content {
        if !look.colour {
            cell.fg = Color::Reset;
            cell.bg = Color::Reset;
        }
        if look.ascii && !cell.symbol().is_ascii() {
            let plain: String = cell.symbol().chars().map(ascii).collect();
            cell.set_symbol(&plain);
        }
    }
}

/// The nearest ASCII character, of the same width.
fn ascii(c: char) -> char {
    match c {
        '×' => 'x',
        '·' | '–' | '—' | '─' | '━' => '-',
        '│' | '┃' => '|',
        '┌' | '┐' | '└' | '┘' | '├' | '┤' | '┬' | '┴' | '┼' | '╭' | '╮' | '╰' | '╯' => {
            '+'
        }
        '█' => '#',
        '▀' => '"',
        '▄' => 'o',
        '◆' => '@',
        '◇' => 'o',
        '▿' => 'v',
        '○' => '.',
        '…' => '.',
        '→' => '>',
        '←' => '<',
        '↑' => '^',
        '↓' => 'v',
        '▸' => '>',
        '▾' => 'v',
        'é' | 'è' | 'ê' => 'e',
        _ => '?',
    }
}

/// The background of a picture.
pub const GROUND: &str = "#101014";

/// Colours of a picture of the screen: what a terminal with a dark background shows.
pub fn rgb(color: Color, foreground: bool) -> &'static str {
    match color {
        Color::Cyan => "#6cc5d9",
        Color::Green => "#86cf86",
        Color::Yellow => "#e6c35c",
        Color::Red => "#f07f74",
        _ if foreground => "#dcdcdc",
        _ => GROUND,
    }
}
