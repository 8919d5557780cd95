//! "1 box", "3 boxes": a number and its noun agree, in the sources and in what is printed.

use crate::hand::text;
use crate::said::{disagreeing, is_noun};
use crate::scenes;
use crate::words::prose;
use boxcall::tui::view::Look;

/// Texts that put a noun behind a number by themselves instead of asking `units::counted`. What always stands for the
/// same number has a name in capitals.
fn uncounted(string: &str) -> Option<&str> {
    string.match_indices('}').map(|(at, _)| at).find_map(|at| {
        let (before, rest) = (&string[..at], &string[at + 1..]);
        let name = before.rsplit('{').next().unwrap_or_default();
        let fixed = !name.is_empty() && name.chars().all(|c| c.is_ascii_uppercase() || "_:.".contains(c));
        let mut words = rest.strip_prefix(' ').unwrap_or_default().split_whitespace().peekable();
        let adjectives = ["more", "other", "open", "recalled", "new", "different", "waiting"];
        words.next_if(|word| adjectives.contains(word));
        let noun = words.next().unwrap_or_default().trim_end_matches([',', '.', ';', ':', ')']);
        // "F3 calls it" counts nothing.
        let verb = noun == "calls" && matches!(words.next(), Some("it" | "a"));
        (is_noun(noun) && !verb && !fixed).then_some(rest)
    })
}

#[test]
fn no_text_counts_by_itself() {
    assert!(uncounted("{} rows would change").is_some() && uncounted("{count} more lines").is_some());
    assert!(uncounted("{LINE} characters").is_none() && uncounted("{} would change").is_none());
    let wrong: Vec<String> = prose()
        .iter()
        .filter_map(|(file, text)| uncounted(text).map(|why| format!("{file}: {why:?} in {text:?}")))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_screen_counts_one_in_the_plural() {
    for scene in scenes::all() {
        let screen = text(&scene.hand.buffer(160, 45, Look::default()));
        assert_eq!(disagreeing(&screen), Vec::<String>::new(), "{}:\n{screen}", scene.name);
    }
}
