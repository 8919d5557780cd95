//! What a text says: its words without marks and line ends, and numbers that disagree with their noun.

/// What is counted in this program.
const NOUNS: &str = "rows boxes pieces entries lots cases products sizes files lesions calls guides faults minutes \
    seconds hours days devices places items keys lines bytes characters cells digits segments balloons stents records \
    readings labels groups columns fields codes plans weeks months questions answers steps scans spans commands bodies \
    identifiers diameters lengths openings implants numbers changes overlaps gaps versions inflations tables lists";

/// Whether it is the plural of what is counted.
pub fn is_noun(word: &str) -> bool {
    NOUNS.split_whitespace().any(|noun| noun == word)
}

/// Places where "1" and a word in the plural follow each other.
pub fn disagreeing(page: &str) -> Vec<String> {
    let words: Vec<&str> = page.split_whitespace().collect();
    let bare = |word: &str| word.trim_matches(|c: char| !c.is_alphanumeric()).to_string();
    let pairs = words.windows(2).filter(|pair| pair[0].trim_start_matches(['(', '"', '×']) == "1");
    pairs.map(|pair| bare(pair[1])).filter(|word| is_noun(word)).map(|word| format!("1 {word}")).collect()
}

/// The words alone: a document may break a sentence into lines, and a drawing puts marks around them.
fn squeezed(text: &str) -> String {
    let mut words = String::new();
    let mut in_mark = false;
    for c in text.chars() {
        match c {
            '<' => in_mark = true,
            '>' => in_mark = false,
            c if !in_mark && !c.is_whitespace() => words.push(c),
            _ => {}
        }
    }
    words
}

pub fn says(text: &str, words: &str) -> bool {
    squeezed(text).contains(&squeezed(words))
}
