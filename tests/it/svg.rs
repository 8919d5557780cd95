//! Finished frames as pictures: one still, or several one after the other.

use boxcall::tui::view::theme;
use ratatui::buffer::{Buffer, Cell};
use ratatui::style::Modifier;
use std::fmt::Write;

/// Pixels across and down of a cell, and of the letters' foot.
const CELL: (u16, u16) = (9, 18);
const FOOT: u16 = 14;
const FONT: &str = "font-family=\"'DejaVu Sans Mono',monospace\" font-size='15' xml:space='preserve'";
/// Ground and ink of the line under a film, in which no screen is drawn.
const BAND: (&str, &str) = ("#dcdcdc", "#202020");
/// The line under a film, in pixels, and how many of them its letters stand from the edge.
const BAND_HIGH: u16 = 28;
const BAND_FOOT: u16 = 19;

/// One frame of a film, and what happens in it.
pub struct Frame {
    pub words: &'static str,
    pub buffer: Buffer,
}

/// The same buffer gives the same bytes. Its colours are those that are the same everywhere; where a terminal
/// would use its own, grey on black stands for them.
pub fn picture(buffer: &Buffer) -> String {
    let (wide, high) = size(buffer);
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='{wide}' height='{high}' {FONT}>\n{}</svg>\n",
        drawn(buffer)
    )
}

/// The frames one after the other, each shown for so many seconds, over and over, with a line under it that counts
/// them and says what happens. They change by hard cuts. Who asks for less motion, and a program that draws stills
/// only, sees the first frame. The same frames give the same bytes.
pub fn film(frames: &[Frame], seconds: f64) -> String {
    let (wide, high) = frames.iter().map(|frame| size(&frame.buffer)).max().unwrap_or_default();
    let (count, whole) = (frames.len(), seconds * frames.len() as f64);
    let mut svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='{wide}' height='{}' {FONT}>\n<style>\n\
         .frame{{visibility:hidden}}\n.first{{visibility:visible}}\n\
         @media (prefers-reduced-motion:no-preference){{.frame{{animation:turn {whole}s step-end infinite}}}}\n\
         @keyframes turn{{0%{{visibility:visible}}{:.4}%{{visibility:hidden}}100%{{visibility:hidden}}}}\n</style>\n",
        high + BAND_HIGH,
        100.0 / count as f64,
    );
    for (number, Frame { words, buffer }) in frames.iter().enumerate() {
        let class = if number == 0 { "frame first" } else { "frame" };
        let foot = high + BAND_FOOT;
        // Writing into a string cannot fail, here and below.
        let _ = write!(
            svg,
            "<g class='{class}' style='animation-delay:{}s'>\n{}\
             <rect y='{high}' width='{wide}' height='{BAND_HIGH}' fill='{}'/>\
             <text x='{}' y='{foot}' fill='{}'>{} of {count} · {}</text>\n</g>\n",
            seconds * number as f64,
            drawn(buffer),
            BAND.0,
            CELL.0,
            BAND.1,
            number + 1,
            escaped(words),
        );
    }
    svg + "</svg>\n"
}

fn size(buffer: &Buffer) -> (u16, u16) {
    (buffer.area.width * CELL.0, buffer.area.height * CELL.1)
}

fn drawn(buffer: &Buffer) -> String {
    let behind = buffer.content.first().and_then(|cell| theme::rgb(cell.bg)).unwrap_or_default();
    let (wide, high) = size(buffer);
    let mut svg = rect((0, 0), (wide, high), behind);
    svg.push('\n');
    let columns = usize::from(buffer.area.width.max(1));
    for (row, cells) in buffer.content.chunks(columns).enumerate() {
        draw_row(&mut svg, cells, row as u16 * CELL.1, behind);
    }
    svg
}

/// What a cell comes to.
#[derive(PartialEq, Clone, Copy)]
struct Paint {
    ink: [u8; 3],
    ground: [u8; 3],
    bold: bool,
}

fn paint(cell: &Cell, behind: [u8; 3]) -> Paint {
    let (mut ink, mut ground) =
        (theme::rgb(cell.fg).unwrap_or([0xdc; 3]), theme::rgb(cell.bg).unwrap_or(behind));
    if cell.modifier.contains(Modifier::REVERSED) {
        (ink, ground) = (ground, ink);
    }
    Paint { ink, ground, bold: cell.modifier.contains(Modifier::BOLD) }
}

/// One row: first its grounds, then what is written on them.
fn draw_row(svg: &mut String, cells: &[Cell], top: u16, behind: [u8; 3]) {
    let before = svg.len();
    let left = |column: usize| column as u16 * CELL.0;
    for run in runs(cells, |a, b| paint(a, behind).ground == paint(b, behind).ground) {
        let ground = paint(&cells[run.start], behind).ground;
        if ground != behind {
            *svg += &rect((left(run.start), top), (left(run.len()), CELL.1), ground);
        }
    }
    let alike = |a: &Cell, b: &Cell| {
        let (one, other) = (block(a.symbol()), block(b.symbol()));
        let written = one.is_some() || plain(a.symbol()) && plain(b.symbol());
        paint(a, behind) == paint(b, behind) && one == other && written
    };
    for run in runs(cells, alike) {
        let Paint { ink, bold, .. } = paint(&cells[run.start], behind);
        if let Some((from, high)) = block(cells[run.start].symbol()) {
            *svg += &rect((left(run.start), top + from), (left(run.len()), high), ink);
            continue;
        }
        let words: String = cells[run.clone()].iter().map(Cell::symbol).collect();
        if words.trim().is_empty() {
            continue;
        }
        // Another font may be wider or narrower: the columns stay where they are.
        let long = match run.len() {
            1 => String::new(),
            _ => format!(" textLength='{}'", left(run.len())),
        };
        let weight = if bold { " font-weight='bold'" } else { "" };
        let _ = write!(
            svg,
            "<text x='{}' y='{}' fill='{}'{weight}{long}>{}</text>",
            left(run.start),
            top + FOOT,
            hex(ink),
            escaped(&words)
        );
    }
    if svg.len() > before {
        svg.push('\n');
    }
}

/// The stretches of a row in which each cell goes with the next.
fn runs(cells: &[Cell], alike: impl Fn(&Cell, &Cell) -> bool) -> Vec<std::ops::Range<usize>> {
    let mut start = 0;
    let mut runs = Vec::new();
    for run in cells.chunk_by(|a, b| alike(a, b)) {
        runs.push(start..start + run.len());
        start += run.len();
    }
    runs
}

/// Letters of a word: every font has them, all as wide as each other. Anything else stands in a text of its own.
fn plain(symbol: &str) -> bool {
    matches!(symbol.as_bytes(), [byte] if byte.is_ascii_graphic())
}

/// Of the blocks that big letters are made of, how far down one begins and how high it is, in pixels: drawn, not
/// written, they leave no seams.
fn block(symbol: &str) -> Option<(u16, u16)> {
    let half = CELL.1 / 2;
    match symbol {
        "█" => Some((0, CELL.1)),
        "▀" => Some((0, half)),
        "▄" => Some((half, half)),
        _ => None,
    }
}

fn rect((left, top): (u16, u16), (wide, high): (u16, u16), fill: [u8; 3]) -> String {
    format!("<rect x='{left}' y='{top}' width='{wide}' height='{high}' fill='{}'/>", hex(fill))
}

fn hex([red, green, blue]: [u8; 3]) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

fn escaped(words: &str) -> String {
    words.replace('&', "&amp;").replace('<', "&lt;")
}

#[test]
fn a_word_keeps_its_columns_and_a_block_is_drawn() {
    let svg = picture(&Buffer::with_lines(["a<b 3×██▄"]));
    assert!(svg.contains("<text x='0' y='14' fill='#dcdcdc' textLength='27'>a&lt;b</text>"), "{svg}");
    assert!(svg.contains("<text x='45' y='14' fill='#dcdcdc'>×</text>"), "{svg}");
    assert!(svg.contains("<rect x='54' y='0' width='18' height='18' fill='#dcdcdc'/>"), "{svg}");
    assert!(svg.contains("<rect x='72' y='9' width='9' height='9' fill='#dcdcdc'/>"), "{svg}");
}

#[test]
fn a_film_shows_each_frame_for_its_share_and_the_first_one_where_nothing_moves() {
    let frames = ["one", "two"].map(|words| Frame { words, buffer: Buffer::with_lines([words]) });
    let svg = film(&frames, 2.5);
    assert!(svg.contains("turn 5s step-end infinite"), "{svg}");
    assert!(svg.contains("50.0000%{visibility:hidden}"), "{svg}");
    assert!(svg.contains("<g class='frame first' style='animation-delay:0s'>"), "{svg}");
    assert!(svg.contains("<g class='frame' style='animation-delay:2.5s'>"), "{svg}");
    assert!(svg.contains("2 of 2 · two"), "{svg}");
}
