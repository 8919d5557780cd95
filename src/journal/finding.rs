//! What a read-back or the engine said, as the journal keeps it: words that this program knows as types, all others as
//! they were written.

use serde::{Deserialize, Serialize};
use std::fmt;

crate::measure::words! {
    /// The worst thing that is true of a box, worst first.
    Headline {
        /// The reader refused it; nothing is taken from it but its bytes, and of a person's data not even those.
        CannotRead = "CAN'T READ",
        /// Its lot, by any identifier of its box, was recalled.
        Recalled = "STOP: RECALLED",
        /// Its use-by date has passed.
        Expired = "STOP: EXPIRED",
        /// No product has the identifier.
        NotKnown = "STOP: NOT KNOWN",
        /// The label carries no identifier of this box.
        NoIdentifier = "NO IDENTIFIER",
        /// The label may mean more than one thing.
        Doubtful = "DOUBTFUL",
        /// Calls wait, and it answers none of them.
        Different = "DIFFERENT",
        /// As called as far as can be seen, on a day that nobody has confirmed: eyes must look at the use-by date.
        CheckDate = "CHECK THE DATE",
        /// As called as far as can be seen; eyes must settle the rest.
        CheckByEye = "CHECK BY EYE",
        /// Nothing waits.
        NoCall = "NO CALL",
        /// It answers a call that waits, and nothing speaks against it.
        Same = "SAME",
    }
}

impl Headline {
    /// It follows from the label alone, whatever else is known.
    pub const fn is_of_the_label(self) -> bool {
        matches!(self, Headline::CannotRead | Headline::NoIdentifier | Headline::Doubtful)
    }

    /// Goes on only after the size on the box and a reason were typed.
    pub const fn needs_reason(self) -> bool {
        !matches!(self, Headline::Same | Headline::NoCall) && !self.needs_eyes()
    }

    /// Goes on after somebody has looked and said so.
    pub const fn needs_eyes(self) -> bool {
        matches!(self, Headline::CheckByEye | Headline::CheckDate)
    }
}

/// The words before the number of the call that a box answers.
const SAME_AS_CALL: &str = "SAME AS CALL ";
/// The finding of a box of which no label could be read.
const NO_LABEL_READ: &str = "NO LABEL READ";

/// The finding of one box. In the journal its words in big letters.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "String", into = "String")]
pub enum Finding {
    /// Nothing was said; in the journal no words.
    #[default]
    NotSaid,
    /// No label could be read: the box was typed.
    NoLabelRead,
    /// It answers the call of this number: `SAME AS CALL 2`.
    SameAsCall(u32),
    /// A headline without a call.
    Said(Headline),
    /// Words of another version of this program.
    Other(String),
}

impl Finding {
    /// None where no read-back was made, or its words are not known here.
    pub const fn headline(&self) -> Option<Headline> {
        match self {
            Finding::SameAsCall(_) => Some(Headline::Same),
            Finding::Said(headline) => Some(*headline),
            Finding::NotSaid | Finding::NoLabelRead | Finding::Other(_) => None,
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Finding::NotSaid => Ok(()),
            Finding::NoLabelRead => f.write_str(NO_LABEL_READ),
            Finding::SameAsCall(call) => write!(f, "{SAME_AS_CALL}{call}"),
            Finding::Said(headline) => f.write_str(headline.name()),
            Finding::Other(words) => f.write_str(words),
        }
    }
}

impl From<String> for Finding {
    fn from(words: String) -> Finding {
        let call = words.strip_prefix(SAME_AS_CALL).and_then(|call| call.parse().ok());
        let known = match words.as_str() {
            "" => Some(Finding::NotSaid),
            NO_LABEL_READ => Some(Finding::NoLabelRead),
            _ => call.map(Finding::SameAsCall).or_else(|| Headline::from_name(&words).map(Finding::Said)),
        };
        // An entry that is read is written back byte for byte: `SAME AS CALL 07` is no words of ours.
        known.filter(|known| known.to_string() == words).unwrap_or(Finding::Other(words))
    }
}

impl From<&str> for Finding {
    fn from(words: &str) -> Finding {
        words.to_string().into()
    }
}

impl From<Finding> for String {
    fn from(finding: Finding) -> String {
        finding.to_string()
    }
}

/// A word of the journal: one that this program knows, or that of another version as it was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Recorded<T> {
    /// One of the closed list.
    Known(T),
    /// Any other.
    Other(String),
}

impl<T: Copy> Recorded<T> {
    /// None where the word is not known here.
    pub fn known(&self) -> Option<T> {
        match self {
            Recorded::Known(value) => Some(*value),
            Recorded::Other(_) => None,
        }
    }
}

impl<T: fmt::Display> fmt::Display for Recorded<T> {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Recorded::Known(value) => value.fmt(f),
            Recorded::Other(words) => f.write_str(words),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_finding_is_written_back_as_it_was_read() {
        let known = Headline::NAMES.iter().copied().chain(["", NO_LABEL_READ, "SAME AS CALL 12"]);
        let strange = ["same", "SAME AS CALL 07", "SAME AS CALL ", "SAME AS CALL +1", "STOP"];
        for words in known.clone().chain(strange) {
            let finding = Finding::from(words);
            assert_eq!(String::from(finding.clone()), words);
            assert_eq!(matches!(finding, Finding::Other(_)), strange.contains(&words), "{words}");
        }
        assert_eq!(Finding::from("SAME AS CALL 12"), Finding::SameAsCall(12));
        assert_eq!(Finding::from("STOP: EXPIRED").headline(), Some(Headline::Expired));
    }
}
