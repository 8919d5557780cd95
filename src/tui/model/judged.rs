//! A box that is offered for use: whose label was read, what is known of it, what was shown of it.

use super::screen::Screen;
use crate::case::Signal;
use crate::case::finding::Shown;
use crate::case::readback::{Headline, ReadBack};
use crate::journal::{CaseCode, Finding};
use crate::label::{Label, Raw, Refusal};
use crate::units::{Diameter, Length};
use chrono::{DateTime, FixedOffset};
use std::collections::BTreeMap;

/// A box about which something is to be decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// The one whose label was read last.
    Held,
    /// A box at hand, by its number in the case.
    Item(u32),
    /// An opened device that can still be used, by its number in the case.
    Device(u32),
}

/// What is known now of a box that is offered.
#[derive(Debug, Clone)]
pub struct Judged {
    pub of: Subject,
    pub back: ReadBack,
    /// The one reading that the shelf supports, of a label whose separator was lost: its lot is to be read by eye.
    pub doubtful: Option<Label>,
    /// The size that was typed from the box is not the catalogue's, in words.
    pub disagrees: Option<String>,
    /// It came into the room with this finding or a graver one, and somebody let it.
    pub accepted: bool,
    /// Why it came into the room although it was not what was called.
    pub reason: Option<String>,
    /// How the finding has changed since it was shown first.
    pub change: Option<String>,
    /// The call that a box at hand was brought for.
    pub brought_for: Option<u32>,
}

/// What was shown of the boxes, and of which case.
#[derive(Debug, Clone, Default)]
pub struct Watched {
    /// The case whose boxes these are.
    pub case: Option<CaseCode>,
    pub seen: BTreeMap<Subject, Seen>,
    /// Until then keys and codes that decide rest.
    pub rest_until: Option<DateTime<FixedOffset>>,
    /// The screen that a scan has brought up: there they rest. None: a finding has changed, and they rest everywhere.
    pub rest_on: Option<Screen>,
    /// The box and the finding that the question in front was asked about.
    pub asked: Option<(Subject, Finding)>,
    /// The box whose printed size was typed last.
    pub typed: Option<(Subject, Diameter, Length)>,
    /// An opened device that was refused once, and in what words.
    pub warned: Option<(u32, Finding)>,
}

#[derive(Debug, Clone)]
pub struct Seen {
    pub shown: Shown,
    pub change: Option<String>,
}

/// A label that was read last and about whose box nothing is decided yet. What it comes to is worked out when it is
/// asked for: [`super::Session::held`].
#[derive(Debug, Clone)]
pub struct Held {
    /// As it was read; of a lost separator all readings.
    pub label: Result<Label, Refusal>,
    pub raw: Raw,
    pub complete: bool,
}

impl Judged {
    /// What of it is large, here and on a second monitor.
    pub fn signal(&self) -> Signal {
        let mut signal = self.back.signal(self.disagrees.as_deref());
        signal.differing.splice(0..0, self.change.clone());
        signal
    }

    /// The words in big letters; what the journal gets when something is decided now.
    pub fn finding(&self) -> Finding {
        self.back.finding_where(self.disagrees.is_some())
    }

    /// No product file has its identifier.
    pub fn is_unknown(&self) -> bool {
        self.of == Subject::Held && self.back.headline == Headline::NotKnown
    }

    /// The call that the box is for: the oldest that it answers, else the one that it was brought for or comes nearest.
    pub fn call(&self) -> Option<u32> {
        self.back.matching.first().copied().or(self.brought_for).or(self.back.nearest)
    }

    /// Something speaks against it, and nobody has accepted that.
    pub fn stops(&self) -> bool {
        !self.accepted && (self.disagrees.is_some() || self.back.headline.needs_reason())
    }
}

/// The boxes about which something is to be decided.
#[derive(Debug, Clone, Default)]
pub struct Findings {
    pub held: Option<Held>,
    /// Which of the boxes at hand is meant when no label is held.
    pub at_hand: usize,
    /// This scanner has sent a separator: from now on a missing one means that there is none.
    pub sends_separators: bool,
    pub watched: Watched,
}
