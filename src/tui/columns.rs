//! Texts in columns of a terminal: names may hold wide and combining characters, and letters that run from right
//! to left.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// Characters that a terminal acts upon or that show nothing: controls, and what turns the direction of a text.
/// None of them is ever drawn. Sources: @bidi, @ignorable; the joiners are among them, since
/// no terminal agrees on what they join.
pub fn obeyed(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}'
            | '\u{e0000}'..='\u{e0fff}')
}

/// A text in exactly so many columns: cut with a mark where it is longer, filled up where it is shorter.
pub fn padded(text: &str, width: u16) -> String {
    let width = usize::from(width);
    let mut kept: String = text.chars().filter(|c| !obeyed(*c)).collect();
    if kept.width() > width {
        while kept.width() + 1 > width && kept.pop().is_some() {}
        if width > 0 {
            kept.push('…');
        }
    }
    let missing = width.saturating_sub(kept.width());
    kept + &" ".repeat(missing)
}

/// The end of a text in at most so many columns, with a mark in front where its beginning has no room: who types
/// sees what was typed last.
pub fn ending(text: &str, width: u16) -> String {
    let kept: Vec<char> = text.chars().filter(|c| !obeyed(*c)).collect();
    let shown = |chars: &[char]| chars.iter().collect::<String>();
    let fits = |chars: &[char], width: usize| shown(chars).width() <= width;
    let width = usize::from(width);
    if fits(&kept, width) {
        return shown(&kept);
    }
    let Some(room) = width.checked_sub(1) else { return String::new() };
    let first = (0..=kept.len()).find(|&first| fits(&kept[first..], room)).unwrap_or(kept.len());
    // What combines with the character that was cut off has nothing to stand on.
    let bare = kept[first..].iter().take_while(|c| c.width() == Some(0)).count();
    format!("…{}", shown(&kept[first + bare..]))
}

/// A text in at least so many columns.
pub fn padded_at_least(text: &str, width: u16) -> String {
    if text.width() > usize::from(width) { text.to_string() } else { padded(text, width) }
}

/// The columns that the widest of these takes, within bounds: one long name does not push all others away.
pub fn widest<'a>(texts: impl IntoIterator<Item = &'a str>, least: u16, most: u16) -> u16 {
    let shown = |text: &str| text.chars().filter(|c| !obeyed(*c)).collect::<String>().width();
    let widest = texts.into_iter().map(shown).max().unwrap_or(0);
    u16::try_from(widest).unwrap_or(u16::MAX).clamp(least, most.max(least))
}

/// Letters that run from right to left. Source: the ranges that the classes R and AL of @bidi
/// default to.
pub fn runs_left(c: char) -> bool {
    c.width().unwrap_or(0) > 0
        && matches!(c,
            '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{feff}'
            | '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_a_text_too_long_for_its_field_the_end_is_seen() {
        for (text, width, wanted) in [
            ("Fell", 4, "Fell"),
            ("Lowfell Fell", 5, "…Fell"),
            ("Lowfell Fell", 1, "…"),
            ("Lowfell Fell", 0, ""),
            ("山川Fell", 6, "…Fell"),
            ("山川Fell", 7, "…川Fell"),
            ("e\u{301}Fell", 4, "…ell"),
            ("Oe\u{301}Fell", 5, "…Fell"),
            ("a\u{7}Fell", 5, "aFell"),
        ] {
            assert_eq!(ending(text, width), wanted, "{text:?} in {width}");
        }
    }

    #[test]
    fn a_name_takes_its_columns_whatever_it_is_written_in() {
        for (name, wanted) in [
            ("Fell", "Fell    "),
            ("Lowfell Fell", "Lowfell…"),
            // Wide characters take two columns each (UAX 11).
            ("山の湖", "山の湖  "),
            ("山の湖の石", "山の湖… "),
            // One that combines takes none.
            ("Be\u{301}alach", "Be\u{301}alach "),
            ("אגם", "אגם     "),
            // What turns the text is left out, and so is what a terminal would obey.
            ("\u{202e}Fell\u{202c}", "Fell    "),
            ("Fe\u{1b}[2Jll", "Fe[2Jll "),
        ] {
            let got = padded(name, 8);
            assert_eq!(got, wanted);
            assert_eq!(got.width(), 8, "{name:?}");
        }
        assert_eq!(padded("Fell", 0), "");
        assert_eq!(padded_at_least("Fell", 2), "Fell");
        assert_eq!(widest(["Fell", "山の湖", "Hedgerow North"], 4, 8), 8);
        assert_eq!(widest(["Fell", "山の湖"], 4, 8), 6, "in columns, not in letters");
        assert_eq!(widest([], 4, 8), 4);
        assert_eq!(
            widest(["Fe\u{1b}[2Jll", "\u{202e}Fell\u{202c}"], 4, 10),
            7,
            "what is not drawn takes none"
        );
    }
}
