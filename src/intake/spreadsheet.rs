//! One cell of a table, so that a spreadsheet takes it for what it is.
//!
//! A spreadsheet guesses types as it opens a file: `0042` becomes 42, a device identifier becomes 9.52E+12, the lot
//! `MAR12` becomes a day in March (@ziemann-2016 found it in a fifth of published gene lists), and `=1+1` is
//! worked out. So a text that would be taken for anything else gets an apostrophe in front. A reader takes one
//! apostrophe off again and has what was written down.

/// A text as it is written: an apostrophe in front where it would not stay a text, or begins with one.
pub fn text(text: &str) -> String {
    if crate::control::holds("formula-made-harmless") && is_formula(text)
        || is_converted(text)
        || text.starts_with('\'')
    {
        format!("'{text}")
    } else {
        text.to_string()
    }
}

/// The other way: without the one apostrophe that [`text`] puts in front.
pub fn unquoted(text: &str) -> &str {
    text.strip_prefix('\'').unwrap_or(text)
}

/// OWASP, "CSV injection": = + - @, tab, carriage return, line feed and the full-width forms.
fn is_formula(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'])
}

/// Digits with whatever is in numbers, days and times, or a word that is a value of its own. Rather one
/// apostrophe too many than a lot that is another one.
fn is_converted(text: &str) -> bool {
    const MONTHS: [&str; 12] =
        ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
    let lower = text.trim().to_lowercase();
    if matches!(lower.as_str(), "true" | "false") {
        return true;
    }
    if !lower.contains(|c: char| c.is_ascii_digit()) {
        return false;
    }
    let words = lower.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty());
    let marks = |c: char| c.is_alphanumeric() || " .,:/-+%$€£'()".contains(c);
    let word = |word: &str| {
        matches!(word, "e" | "am" | "pm" | "a" | "p" | "t" | "z")
            || word.get(..3).is_some_and(|start| MONTHS.contains(&start))
    };
    lower.chars().all(marks) && words.into_iter().all(word)
}

#[cfg(test)]
mod tests {
    use super::{text, unquoted};

    /// OWASP, "CSV injection".
    #[test]
    fn a_formula_is_made_harmless() {
        for cell in ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "＝1"] {
            assert_eq!(text(cell), format!("'{cell}"));
        }
    }

    /// @ziemann-2016 for the months; the others were seen in a spreadsheet (from memory, no source).
    #[test]
    fn what_a_spreadsheet_would_change_stays_a_text() {
        for cell in [
            "0042", "09521001300292", "1E5", "12-03", "3/4", "MAR12", "1-Sep", "Sept 2", "true", "10:30",
            "'=1",
        ] {
            assert_eq!(text(cell), format!("'{cell}"));
        }
        for cell in [
            "", "L1", "HM68799", "FL30029", "cupboard 2, shelf E", "3.00 × 29 Fell", "call 1: 3.00 × 29",
            "MAR", "x",
        ] {
            assert_eq!(text(cell), cell);
        }
    }

    #[test]
    fn what_is_written_is_read_again() {
        for cell in ["", "0012", "'", "''", "'0012", "=1+1", "L1", "-", "3/4"] {
            assert_eq!(unquoted(&text(cell)), cell);
        }
    }
}
