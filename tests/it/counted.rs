//! "1 box", "3 boxes": a number and its noun agree, in the sources and in what is printed.

use crate::hand::text;
use crate::samples;
use crate::scenes;
use crate::words::prose;
use boxcall::tui::view::Look;

/// What is counted in this program.
const NOUNS: &str = "rows boxes pieces entries lots cases products sizes files lesions calls guides faults minutes \
    seconds hours days devices places items keys lines bytes characters cells digits segments balloons stents records \
    readings labels groups columns fields codes plans weeks months questions answers steps scans spans commands bodies \
    identifiers diameters lengths openings implants numbers changes overlaps gaps versions inflations tables lists";

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

fn is_noun(word: &str) -> bool {
    NOUNS.split_whitespace().any(|noun| noun == word)
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

/// Places where "1" and a word in the plural follow each other.
fn disagreeing(page: &str) -> Vec<String> {
    let words: Vec<&str> = page.split_whitespace().collect();
    let bare = |word: &str| word.trim_matches(|c: char| !c.is_alphanumeric()).to_string();
    let pairs = words.windows(2).filter(|pair| pair[0].trim_start_matches(['(', '"', '×']) == "1");
    pairs.map(|pair| bare(pair[1])).filter(|word| is_noun(word)).map(|word| format!("1 {word}")).collect()
}

/// Every command, in a room in which there is one of everything.
#[test]
fn one_of_everything_is_told_in_the_singular() {
    assert_eq!(disagreeing("so 1 rows, (1 boxes) and 21 rows"), ["1 rows", "1 boxes"]);
    let mut numbers = 0;
    for (sample, ran) in samples::in_words() {
        let page = format!("{}\n{}", ran.stdout(), ran.stderr());
        assert_eq!(disagreeing(&page), Vec::<String>::new(), "{}:\n{page}", sample.typed());
        numbers += page.split_whitespace().filter(|word| *word == "1").count();
    }
    assert!(numbers > 30, "{numbers}: the room has one of everything");
}

#[test]
fn no_screen_counts_one_in_the_plural() {
    for scene in scenes::all() {
        let screen = text(&scene.hand.buffer(160, 45, Look::default()));
        assert_eq!(disagreeing(&screen), Vec::<String>::new(), "{}:\n{screen}", scene.name);
    }
}
