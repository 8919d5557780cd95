//! A finished frame as a picture: one text element a cell, so that no font can shift a column.

use super::theme;
use ratatui::buffer::Buffer;
use ratatui::style::Modifier;
use std::fmt::Write;

/// Pixels across and down of a cell, and of the letters' foot.
const CELL: (u16, u16) = (9, 18);
const FOOT: u16 = 14;

/// The same buffer gives the same bytes.
pub fn picture(buffer: &Buffer) -> String {
    let (wide, high) = (buffer.area.width * CELL.0, buffer.area.height * CELL.1);
    let dark = theme::GROUND;
    let mut svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='{wide}' height='{high}' \
         font-family='DejaVu Sans Mono' font-size='15'>\n<rect width='100%' height='100%' fill='{dark}'/>\n"
    );
    for y in 0..buffer.area.height {
        for x in 0..buffer.area.width {
            let Some(cell) = buffer.cell((buffer.area.x + x, buffer.area.y + y)) else { continue };
            let (mut ink, mut ground) = (theme::rgb(cell.fg, true), theme::rgb(cell.bg, false));
            if cell.modifier.contains(Modifier::REVERSED) {
                (ink, ground) = (ground, ink);
            }
            let (left, top) = (x * CELL.0, y * CELL.1);
            // Writing into a string cannot fail.
            if ground != dark {
                let _ = writeln!(
                    svg,
                    "<rect x='{left}' y='{top}' width='{}' height='{}' fill='{ground}'/>",
                    CELL.0, CELL.1
                );
            }
            let symbol = cell.symbol();
            if symbol.trim().is_empty() {
                continue;
            }
            let symbol = symbol.replace('&', "&amp;").replace('<', "&lt;");
            let weight = if cell.modifier.contains(Modifier::BOLD) { " font-weight='bold'" } else { "" };
            let faint = if cell.modifier.contains(Modifier::DIM) { " fill-opacity='0.62'" } else { "" };
            let foot = top + FOOT;
            let _ = writeln!(svg, "<text x='{left}' y='{foot}' fill='{ink}'{weight}{faint}>{symbol}</text>");
        }
    }
    svg + "</svg>\n"
}
