//! Facts on their way to the disk, and what waits while the disk refuses.
//!
//! Work goes on without the disk: what waits is shown as if it were in the journal, marked NOT SAVED, under the
//! numbers that it would have there. It is written in the order in which it was entered; nothing passes it.

use crate::case::entry_words;
use crate::journal::{CaseCode, Entry, Fact};
use chrono::{DateTime, FixedOffset};

/// Facts on their way to the disk.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// Which of this program's drafts it is, from 1.
    pub number: u64,
    /// Made before its first commit and kept, so that it is never written twice; none before the first try.
    pub id: Option<String>,
    pub entered: DateTime<FixedOffset>,
    pub case: Option<CaseCode>,
    pub facts: Vec<Fact>,
    /// The disk has refused it before.
    pub tried: bool,
}

impl Draft {
    pub fn begins_case(&self) -> bool {
        matches!(self.facts[..], [Fact::CaseBegun, ..])
    }
}

/// One draft with what it would be in the journal: for a file elsewhere.
#[derive(Debug, Clone, PartialEq)]
pub struct Waiting {
    pub draft: Draft,
    /// The numbers under which its facts are shown.
    pub seqs: Vec<u64>,
}

/// What waits, and why.
#[derive(Debug, Clone, Default)]
pub struct Unsaved {
    /// Oldest first.
    pub drafts: Vec<Draft>,
    /// What the disk said last.
    pub why: String,
    pub made: u64,
    pub tried_at: Option<DateTime<FixedOffset>>,
    /// Somebody has just asked for another try.
    pub asked: bool,
    /// Drafts up to this one are in a file elsewhere.
    pub kept_elsewhere: u64,
    /// The journal was gone, and was put back.
    pub put_back: bool,
}

impl Unsaved {
    pub fn count(&self) -> usize {
        self.drafts.iter().map(|draft| draft.facts.len()).sum()
    }

    pub fn all_kept_elsewhere(&self) -> bool {
        self.drafts.iter().all(|draft| draft.number <= self.kept_elsewhere)
    }

    /// What waits, as the entries that it would be behind this one.
    pub fn entries(&self, last: u64) -> Vec<Entry> {
        let facts = self.drafts.iter().flat_map(|draft| draft.facts.iter().map(move |fact| (draft, fact)));
        let entry = |((draft, fact), seq): ((&Draft, &Fact), u64)| Entry {
            seq,
            at: draft.entered,
            command: format!("not saved: {}", draft.number),
            case: draft.case.clone(),
            fact: fact.clone(),
        };
        facts.zip(last + 1..).map(entry).collect()
    }

    /// Entries that are struck out by what waits have new numbers.
    pub fn renumber(&mut self, new: impl Fn(u64) -> u64) {
        for fact in self.drafts.iter_mut().flat_map(|draft| &mut draft.facts) {
            if let Fact::StruckOut { entry, .. } = fact {
                *entry = new(*entry);
            }
        }
    }

    /// Each entry that waits in words: when it was entered, in which case, what.
    pub fn in_words(&self) -> Vec<String> {
        let words = |draft: &Draft, fact: &Fact| {
            let case = draft.case.as_ref().map(|case| format!("case {case}: ")).unwrap_or_default();
            format!("{}  {case}{}", draft.entered.format("%H:%M"), entry_words(fact))
        };
        let drafts = self.drafts.iter();
        drafts
            .flat_map(|draft| draft.facts.iter().map(|fact| words(draft, fact)).collect::<Vec<_>>())
            .collect()
    }
}
