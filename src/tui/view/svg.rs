//! A finished frame as a picture: one text element a cell, so that no font can shift a column.

use super::theme;
use ratatui::buffer::Buffer;
use ratatui::style::Modifier;
use std::fmt::Write;

/// Pixels across and down of a cell, and of the letters' foot.
const CELL: (u16, u16) = (9, 18);
const FOOT: u16 = 14;

/// The same buffer gives the same bytes. Its colours are those that are the same everywhere; where a terminal
/// would use its own, grey on black stands for them.
pub fn picture(buffer: &Buffer) -> String {
    let (wide, high) = (buffer.area.width * CELL.0, buffer.area.height * CELL.1);
    let hex = |[red, green, blue]: [u8; 3]| format!("#{red:02x}{green:02x}{blue:02x}");
    let behind = buffer.content.first().and_then(|cell| theme::rgb(cell.bg)).unwrap_or_default();
    let mut svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='{wide}' height='{high}' \
         font-family='DejaVu Sans Mono' font-size='15'>\n<rect width='100%' height='100%' fill='{}'/>\n",
        hex(behind)
    );
    for y in 0..buffer.area.height {
        for x in 0..buffer.area.width {
            let Some(cell) = buffer.cell((buffer.area.x + x, buffer.area.y + y)) else { continue };
            let (mut ink, mut ground) =
                (theme::rgb(cell.fg).unwrap_or([0xdc; 3]), theme::rgb(cell.bg).unwrap_or(behind));
            if cell.modifier.contains(Modifier::REVERSED) {
                (ink, ground) = (ground, ink);
            }
            let (left, top) = (x * CELL.0, y * CELL.1);
            // Writing into a string cannot fail.
            if ground != behind {
                let _ = writeln!(
                    svg,
                    "<rect x='{left}' y='{top}' width='{}' height='{}' fill='{}'/>",
                    CELL.0,
                    CELL.1,
                    hex(ground)
                );
            }
            let symbol = cell.symbol();
            if symbol.trim().is_empty() {
                continue;
            }
            let symbol = symbol.replace('&', "&amp;").replace('<', "&lt;");
            let weight = if cell.modifier.contains(Modifier::BOLD) { " font-weight='bold'" } else { "" };
            let foot = top + FOOT;
            let _ = writeln!(svg, "<text x='{left}' y='{foot}' fill='{}'{weight}>{symbol}</text>", hex(ink));
        }
    }
    svg + "</svg>\n"
}
