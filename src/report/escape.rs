//! Texts out of labels, files and keyboards on a page: as they are, and of no power over it.

use crate::intake::steers;

/// For a plain page: what steers it becomes a blank.
pub(super) fn plain_text(text: &str) -> String {
    text.chars().map(|character| if steers(character) { ' ' } else { character }).collect()
}

/// For Markdown (CommonMark 0.31 and the tables and strikethrough of GitHub's): it must not turn into a table, a tag, a
/// link, an entity, a heading or a list, nor break its line.
pub(super) fn markdown_text(text: &str) -> String {
    let text = plain_text(text);
    let text = text.trim();
    let mut safe = String::with_capacity(text.len());
    let digits = text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    for (at, character) in text.char_indices() {
        let next = || text[at + 1..].chars().next();
        let special = match character {
            '\\' | '|' | '<' | '>' | '[' | ']' | '`' | '*' | '_' | '~' => true,
            '&' => next().is_some_and(|next| next.is_ascii_alphanumeric() || next == '#'),
            '#' => at == 0,
            '+' | '-' => at == 0 && next().is_none_or(|next| next == ' ' || next == '-'),
            '.' | ')' => digits > 0 && at == digits && next().is_none_or(|next| next == ' '),
            _ => false,
        };
        if special {
            safe.push('\\');
        }
        safe.push(character);
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CommonMark 0.31: ATX headings, bullet and ordered lists, setext underlines, thematic breaks, entities, backslash
    /// escapes; GitHub Flavored Markdown: tables, strikethrough.
    #[test]
    fn nothing_that_markdown_knows_is_left_of_a_text() {
        for (text, safe) in [
            ("# 4", "\\# 4"),
            ("- one", "\\- one"),
            ("+ one", "\\+ one"),
            ("---", "\\---"),
            ("12. shelf", "12\\. shelf"),
            ("3) shelf", "3\\) shelf"),
            ("    four blanks", "four blanks"),
            ("A&lt;B", "A\\&lt;B"),
            ("A&#65;B", "A\\&#65;B"),
            ("~~gone~~", "\\~\\~gone\\~\\~"),
            ("a|b", "a\\|b"),
            ("<b>[x](y)`*_", "\\<b\\>\\[x\\](y)\\`\\*\\_"),
            ("one\ntwo\u{2028}three", "one two three"),
            ("LOT\u{202e}321", "LOT 321"),
        ] {
            assert_eq!(markdown_text(text), safe);
        }
        for text in ["cupboard 2, shelf E", "3.00 × 29 Fell", "A & B", "a-b+c=d #5", "+A123/$$7", "-REF"] {
            assert_eq!(markdown_text(text), text);
        }
    }
}
