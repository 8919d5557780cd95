//! Every style and every glyph has its home here; no other file names a colour.
//!
//! The views speak in roles: four named colours, dim, bold and reversed. `finish` turns a finished frame into what
//! the terminal can show. With 256 or true colours ink and ground are both ours, and every pair has a contrast of at
//! least 4.5:1 (@wcag-contrast); with sixteen the terminal's own palette and ground stay, and only those of its
//! colours are used that common palettes keep legible. No state is told by colour alone: each has a glyph, a word or
//! a weight as well. Nothing blinks.

use super::look::{Colours, Glyphs, Look};
use crate::fit::Verdict;
use crate::tui::preferences::Background;
use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier, Style};

pub const PLAIN: Style = Style::new();
pub const QUIET: Style = Style::new().add_modifier(Modifier::DIM);
pub const STRONG: Style = Style::new().add_modifier(Modifier::BOLD);
pub const CURSOR: Style = Style::new().add_modifier(Modifier::REVERSED);
pub const TITLE: Style = Style::new().fg(Color::Cyan).add_modifier(Modifier::BOLD);
pub const KEY: Style = Style::new().fg(Color::Cyan);
pub const WARNING: Style = Style::new().fg(Color::Yellow).add_modifier(Modifier::BOLD);
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

/// The inks on one ground.
struct Palette {
    ground: Color,
    ink: Color,
    quiet: Color,
    /// Titles and keys.
    key: Color,
    good: Color,
    heed: Color,
    stop: Color,
}

const TRUE_DARK: Palette = Palette {
    ground: Color::Rgb(0x10, 0x10, 0x14),
    ink: Color::Rgb(0xdc, 0xdc, 0xdc),
    quiet: Color::Rgb(0x98, 0x98, 0xa0),
    key: Color::Rgb(0x6c, 0xc5, 0xd9),
    good: Color::Rgb(0x86, 0xcf, 0x86),
    heed: Color::Rgb(0xe6, 0xc3, 0x5c),
    stop: Color::Rgb(0xf0, 0x7f, 0x74),
};

const TRUE_LIGHT: Palette = Palette {
    ground: Color::Rgb(0xfb, 0xfa, 0xf6),
    ink: Color::Rgb(0x1c, 0x1c, 0x20),
    quiet: Color::Rgb(0x5c, 0x5c, 0x66),
    key: Color::Rgb(0x00, 0x5f, 0x73),
    good: Color::Rgb(0x1b, 0x6b, 0x2a),
    heed: Color::Rgb(0x7a, 0x4f, 0x00),
    stop: Color::Rgb(0xa6, 0x1b, 0x1b),
};

/// From 16 on the 256 colours are the same everywhere: a cube of 6 by 6 by 6, then 24 greys.
const INDEXED_DARK: Palette = Palette {
    ground: Color::Indexed(233),
    ink: Color::Indexed(252),
    quiet: Color::Indexed(246),
    key: Color::Indexed(80),
    good: Color::Indexed(114),
    heed: Color::Indexed(221),
    stop: Color::Indexed(210),
};

const INDEXED_LIGHT: Palette = Palette {
    ground: Color::Indexed(231),
    ink: Color::Indexed(234),
    quiet: Color::Indexed(240),
    key: Color::Indexed(24),
    good: Color::Indexed(22),
    heed: Color::Indexed(94),
    stop: Color::Indexed(124),
};

/// The bright ones, which common palettes keep legible on black.
const SIXTEEN_DARK: Palette = Palette {
    ground: Color::Reset,
    ink: Color::Reset,
    quiet: Color::Reset,
    key: Color::LightCyan,
    good: Color::LightGreen,
    heed: Color::LightYellow,
    stop: Color::LightRed,
};

/// Green, yellow and cyan can't be read on white in common palettes: blue, magenta and red can.
const SIXTEEN_LIGHT: Palette = Palette {
    ground: Color::Reset,
    ink: Color::Reset,
    quiet: Color::Reset,
    key: Color::Blue,
    good: Color::Blue,
    heed: Color::Magenta,
    stop: Color::Red,
};

impl Palette {
    const fn of(colours: Colours, background: Background) -> Option<&'static Palette> {
        match (colours, background) {
            (Colours::None, _) => None,
            (Colours::Sixteen, Background::Dark) => Some(&SIXTEEN_DARK),
            (Colours::Sixteen, Background::Light) => Some(&SIXTEEN_LIGHT),
            (Colours::Indexed, Background::Dark) => Some(&INDEXED_DARK),
            (Colours::Indexed, Background::Light) => Some(&INDEXED_LIGHT),
            (Colours::True, Background::Dark) => Some(&TRUE_DARK),
            (Colours::True, Background::Light) => Some(&TRUE_LIGHT),
        }
    }

    /// The ink of a role.
    const fn ink(&self, role: Color) -> Color {
        match role {
            Color::Cyan => self.key,
            Color::Green => self.good,
            Color::Yellow => self.heed,
            Color::Red => self.stop,
            _ => self.ink,
        }
    }
}

/// Gives the finished frame the colours that the terminal can show.
pub fn finish(buffer: &mut Buffer, look: Look) {
    let palette = Palette::of(look.colours, look.background);
    // Where the ground is the terminal's, faint letters may fade into a light one, and a console draws them dark.
    let keeps_dim = match look.colours {
        Colours::None => true,
        Colours::Sixteen => look.background == Background::Dark && look.glyphs != Glyphs::Console,
        Colours::Indexed | Colours::True => false,
    };
    if !crate::control::holds("forms-without-colour") {
        return;
    }
    for cell in &mut buffer.content {
        let dim = cell.modifier.contains(Modifier::DIM);
        cell.bg = palette.map_or(Color::Reset, |palette| palette.ground);
        cell.fg = match palette {
            None => Color::Reset,
            Some(palette) if dim && cell.fg == Color::Reset => palette.quiet,
            Some(palette) => palette.ink(cell.fg),
        };
        if !keeps_dim {
            cell.modifier.remove(Modifier::DIM);
        }
    }
}

/// Red, green and blue of a colour that is the same everywhere; none for those of a terminal's own palette.
pub fn rgb(colour: Color) -> Option<[u8; 3]> {
    match colour {
        Color::Rgb(red, green, blue) => Some([red, green, blue]),
        Color::Indexed(index @ 16..=231) => {
            let step = |level: u8| if level == 0 { 0 } else { 55 + 40 * level };
            let cube = index - 16;
            Some([step(cube / 36), step(cube / 6 % 6), step(cube % 6)])
        }
        Color::Indexed(index @ 232..=255) => {
            let grey = 8 + 10 * (index - 232);
            Some([grey; 3])
        }
        _ => None,
    }
}

/// The contrast of two colours, 1 to 21. Source: @wcag-contrast.
pub fn contrast(one: [u8; 3], other: [u8; 3]) -> f64 {
    let linear = |channel: u8| {
        let c = f64::from(channel) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    };
    let luminance = |[r, g, b]: [u8; 3]| 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values that contrast checkers print for these pairs (black on white is 21 by the formula's design).
    #[test]
    fn the_contrast_is_that_of_wcag() {
        for (one, other, wanted) in [
            ([0, 0, 0], [255, 255, 255], 21.0),
            ([0x77; 3], [255; 3], 4.48),
            ([0x76; 3], [255; 3], 4.54),
            ([255, 0, 0], [255; 3], 4.0),
            ([0, 0, 255], [255; 3], 8.59),
        ] {
            assert!(
                (contrast(one, other) - wanted).abs() < 0.005,
                "{one:?} {other:?}: {}",
                contrast(one, other)
            );
        }
    }

    #[test]
    fn every_ink_of_ours_is_read_on_its_ground() {
        for palette in [TRUE_DARK, TRUE_LIGHT, INDEXED_DARK, INDEXED_LIGHT] {
            let ground = rgb(palette.ground).expect("ours");
            for ink in [palette.ink, palette.quiet, palette.key, palette.good, palette.heed, palette.stop] {
                let ratio = contrast(rgb(ink).expect("ours"), ground);
                assert!(ratio >= 4.5, "{ink:?} on {:?}: {ratio:.2}", palette.ground);
            }
        }
    }

    /// With sixteen colours the palette is the terminal's. Three that are common, from memory: the console of
    /// PCs (VGA), the X Window terminal's, and the one of a common desktop's console.
    #[test]
    fn the_sixteen_that_are_used_are_legible_in_common_palettes() {
        let common: [[(Color, [u8; 3]); 7]; 3] = [
            [
                (Color::LightCyan, [85, 255, 255]),
                (Color::LightGreen, [85, 255, 85]),
                (Color::LightYellow, [255, 255, 85]),
                (Color::LightRed, [255, 85, 85]),
                (Color::Blue, [0, 0, 170]),
                (Color::Magenta, [170, 0, 170]),
                (Color::Red, [170, 0, 0]),
            ],
            [
                (Color::LightCyan, [0, 255, 255]),
                (Color::LightGreen, [0, 255, 0]),
                (Color::LightYellow, [255, 255, 0]),
                (Color::LightRed, [255, 0, 0]),
                (Color::Blue, [0, 0, 238]),
                (Color::Magenta, [205, 0, 205]),
                (Color::Red, [205, 0, 0]),
            ],
            [
                (Color::LightCyan, [97, 214, 214]),
                (Color::LightGreen, [22, 198, 12]),
                (Color::LightYellow, [249, 241, 165]),
                (Color::LightRed, [231, 72, 86]),
                (Color::Blue, [0, 55, 218]),
                (Color::Magenta, [136, 23, 152]),
                (Color::Red, [197, 15, 31]),
            ],
        ];
        for (palette, ground) in [(SIXTEEN_DARK, [0; 3]), (SIXTEEN_LIGHT, [255; 3])] {
            for ink in [palette.key, palette.good, palette.heed, palette.stop] {
                for known in &common {
                    let (_, seen) = known.iter().find(|(colour, _)| *colour == ink).expect("listed");
                    let ratio = contrast(*seen, ground);
                    assert!(ratio >= 4.5, "{ink:?} as {seen:?} on {ground:?}: {ratio:.2}");
                }
            }
        }
    }
}
