//! The ledger of sources: what each figure, rule and check rests on, and the words for it.
//!
//! Invariant: knows nothing of the project; `sources.toml` in, citations out. Pure.

use serde::{Deserialize, Serialize, Serializer};
use std::collections::BTreeMap;
use std::fmt;
use std::sync::LazyLock;

const LEDGER: &str = include_str!("sources.toml");

/// Every entry by its id. A faulty ledger is a fault of the build, and a test finds it.
static ENTRIES: LazyLock<BTreeMap<String, Entry>> =
    LazyLock::new(|| toml::from_str(LEDGER).expect("src/sources.toml reads"));

/// How far anybody here can answer for an entry. The head of `sources.toml` explains each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Mark {
    /// The figures were read in the paper, or in what `read_as` names.
    Read,
    /// They were read in somebody else's account of it.
    Secondary,
    /// Nobody has checked the figures against it.
    Memory,
    /// Common practice, or a choice of this project.
    Practice,
    /// It follows from a definition, or another program computed it.
    Arithmetic,
    /// A published standard or law.
    Standard,
    /// The room's own facts.
    Given,
    /// Made up for tests and the demo.
    Invented,
}

/// One entry of the ledger.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// The citation as a screen shows it.
    pub short: String,
    /// The whole citation.
    pub full: String,
    /// How far anybody here can answer for it.
    pub mark: Mark,
    /// What was read where it was not the paper itself.
    pub read_as: Option<String>,
    /// The clause of a standard.
    pub clause: Option<String>,
}

/// An entry of the ledger, by its id: made by the macro `cite!`, so that a dangling id does not
/// compile.
///
/// Its `Display` and its JSON are the short words, never the id.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source(&'static str);

/// The source with this id; an id that the ledger lacks does not compile.
macro_rules! cite {
    ($id:literal) => {
        const { $crate::sources::Source::of($id) }
    };
}
pub(crate) use cite;

impl Source {
    /// # Panics
    /// No entry has this id: at compile time, where it is called through `cite!`.
    pub(crate) const fn of(id: &'static str) -> Source {
        assert!(is_entry(id.as_bytes()), "src/sources.toml has no entry of this id");
        Source(id)
    }

    fn entry(self) -> &'static Entry {
        &ENTRIES[self.0]
    }

    /// The whole citation, and what was read of it.
    pub fn full(self) -> String {
        self.entry().full_words()
    }
}

/// Whether a line of the ledger is the heading of this entry.
const fn is_entry(id: &[u8]) -> bool {
    let text = LEDGER.as_bytes();
    let mut at = 1;
    while at + id.len() + 1 < text.len() {
        if text[at - 1] == b'\n' && text[at] == b'[' && text[at + id.len() + 1] == b']' {
            let mut same = 0;
            while same < id.len() && text[at + 1 + same] == id[same] {
                same += 1;
            }
            if same == id.len() {
                return true;
            }
        }
        at += 1;
    }
    false
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(&self.entry().short_words())
    }
}

impl Serialize for Source {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl Entry {
    /// The citation as a screen shows it, and whether it is from memory or from a report.
    pub fn short_words(&self) -> String {
        let Entry { short, .. } = self;
        match (self.mark, &self.clause) {
            (Mark::Memory, _) => format!("{short}, from memory"),
            (Mark::Secondary, _) => format!("{short}, by a report"),
            (_, Some(clause)) => format!("{short}, {clause}"),
            _ => short.clone(),
        }
    }

    /// The whole citation, and what was read of it.
    pub fn full_words(&self) -> String {
        let Entry { full, .. } = self;
        match (self.mark, &self.read_as, &self.clause) {
            (Mark::Memory, ..) => format!("{full} (from memory, not checked)"),
            (_, Some(read), _) => format!("{full} (read: {read})"),
            (_, _, Some(clause)) => format!("{full}, {clause}"),
            _ => full.clone(),
        }
    }
}

/// Every entry by its id, in the order of the ids.
pub fn entries() -> &'static BTreeMap<String, Entry> {
    &ENTRIES
}

/// The ids that a text cites, as `@id`, each with the byte where it begins. A sign inside a word (an address,
/// `SIZE@MM`) cites nothing.
pub fn cited(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.match_indices('@').filter_map(|(at, _)| {
        let inside = text[..at].chars().next_back().is_some_and(char::is_alphanumeric);
        let id = &text[at + 1..];
        let end = id.find(|c: char| !(c.is_ascii_alphanumeric() || c == '-')).unwrap_or(id.len());
        let id = id[..end].trim_end_matches('-');
        (!inside && id.starts_with(|c: char| c.is_ascii_lowercase())).then_some((at, id))
    })
}

/// The sources that a text cites, in full and each once; what is practice has no more to say.
pub(crate) fn in_full(text: &str) -> Vec<String> {
    let mut ids: Vec<&str> = Vec::new();
    for (_, id) in cited(text) {
        if !ids.contains(&id) {
            ids.push(id);
        }
    }
    let entries = ids.iter().filter_map(|id| ENTRIES.get(*id)).filter(|entry| entry.mark != Mark::Practice);
    entries.map(Entry::full_words).collect()
}

/// The text with the short words in the place of each `@id`: for files that the program carries.
pub(crate) fn in_words(text: &str) -> String {
    let (mut words, mut from) = (String::with_capacity(2 * text.len()), 0);
    for (at, id) in cited(text) {
        let Some(entry) = ENTRIES.get(id) else { continue };
        words.push_str(&text[from..at]);
        words.push_str(&entry.short_words());
        from = at + 1 + id.len();
    }
    words.push_str(&text[from..]);
    words
}
