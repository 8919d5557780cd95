//! What a terminal can show, out of what its surroundings say of it. No query is sent: the answer of a terminal
//! arrives as typing, and could be taken for a scan.

use crate::tui::preferences::Background;

/// How many colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colours {
    None,
    /// The terminal's own palette on its own background.
    Sixteen,
    /// Fixed colours, ink and background both ours.
    Indexed,
    True,
}

/// Which characters are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Glyphs {
    Full,
    /// Those of the font of a Linux console, 256 in all.
    Console,
    Ascii,
}

/// What the terminal can show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    pub colours: Colours,
    pub background: Background,
    pub glyphs: Glyphs,
}

impl Default for Look {
    fn default() -> Self {
        Look { colours: Colours::True, background: Background::Dark, glyphs: Glyphs::Full }
    }
}

impl Look {
    /// Reads the environment, one variable at a time (an empty one counts as none); `wanted` is what somebody
    /// has set, and outranks it.
    pub fn of(variable: impl Fn(&str) -> Option<String>, wanted: Option<Background>) -> Self {
        let set = |name: &str| variable(name).filter(|value| !value.is_empty());
        let term = set("TERM").unwrap_or_default();
        let colours = if set("NO_COLOR").is_some() {
            Colours::None
        } else if set("COLORTERM").is_some_and(|value| value == "truecolor" || value == "24bit")
            || term.contains("direct")
        {
            Colours::True
        } else if term.contains("256color") {
            Colours::Indexed
        } else {
            Colours::Sixteen
        };
        let locale = set("LC_ALL").or_else(|| set("LC_CTYPE")).or_else(|| set("LANG")).unwrap_or_default();
        let utf8 = locale.to_lowercase().replace('-', "").contains("utf8");
        let glyphs = match (utf8, term == "linux") {
            (false, _) => Glyphs::Ascii,
            (true, true) => Glyphs::Console,
            (true, false) => Glyphs::Full,
        };
        let background = wanted.or_else(|| said_of_itself(&set("COLORFGBG")?)).unwrap_or(Background::Dark);
        Look { colours, background, glyphs }
    }
}

/// `15;0` or `0;default;15`: the last is the background's number among the sixteen. 7 and 9 to 15 are light
/// (common practice among editors, from memory).
fn said_of_itself(colorfgbg: &str) -> Option<Background> {
    let number: u8 = colorfgbg.rsplit(';').next()?.parse().ok()?;
    match number {
        0..=6 | 8 => Some(Background::Dark),
        7 | 9..=15 => Some(Background::Light),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(variables: &[(&str, &str)]) -> Look {
        let find =
            |name: &str| variables.iter().find(|(known, _)| *known == name).map(|(_, v)| v.to_string());
        Look::of(find, None)
    }

    const UTF8: (&str, &str) = ("LANG", "en_GB.UTF-8");

    #[test]
    fn colours_are_as_many_as_the_terminal_says() {
        for (variables, colours) in [
            (&[("TERM", "xterm")][..], Colours::Sixteen),
            (&[("TERM", "linux")], Colours::Sixteen),
            (&[], Colours::Sixteen),
            (&[("TERM", "xterm-256color")], Colours::Indexed),
            (&[("TERM", "tmux-256color"), ("COLORTERM", "")], Colours::Indexed),
            (&[("TERM", "xterm-256color"), ("COLORTERM", "truecolor")], Colours::True),
            (&[("TERM", "xterm"), ("COLORTERM", "24bit")], Colours::True),
            (&[("TERM", "xterm-direct")], Colours::True),
            (&[("TERM", "xterm-direct"), ("NO_COLOR", "1")], Colours::None),
            // An empty NO_COLOR counts as none (no-color.org).
            (&[("TERM", "xterm"), ("NO_COLOR", "")], Colours::Sixteen),
        ] {
            assert_eq!(of(variables).colours, colours, "{variables:?}");
        }
    }

    #[test]
    fn the_background_is_what_somebody_set_else_what_the_terminal_says() {
        for (value, background) in [
            ("15;0", Background::Dark),
            ("0;15", Background::Light),
            ("0;default;15", Background::Light),
            ("12;8", Background::Dark),
            ("0;7", Background::Light),
            ("default;default", Background::Dark),
            ("", Background::Dark),
        ] {
            assert_eq!(of(&[("COLORFGBG", value)]).background, background, "{value}");
        }
        let look = Look::of(|name| (name == "COLORFGBG").then(|| "15;0".into()), Some(Background::Light));
        assert_eq!(look.background, Background::Light);
    }

    #[test]
    fn characters_are_those_that_the_font_has() {
        assert_eq!(of(&[UTF8, ("TERM", "xterm")]).glyphs, Glyphs::Full);
        assert_eq!(of(&[UTF8, ("TERM", "linux")]).glyphs, Glyphs::Console);
        assert_eq!(of(&[("LANG", "C"), ("TERM", "linux")]).glyphs, Glyphs::Ascii);
        assert_eq!(of(&[UTF8, ("LC_ALL", "POSIX")]).glyphs, Glyphs::Ascii);
    }
}
