//! The codes of the reader: what is wrong with a label, or doubtful in it.

use serde::Serialize;
use thiserror::Error;

crate::measure::words! {
    /// What is wrong with a label. Under a hard code nothing is taken from it; a soft one, from [`LabelCode::BadDate`] on,
    /// leaves out the field that is in doubt. The soft ones are in the order of their gravity, gravest first.
    LabelCode {
        /// It names or may name a person.
        PersonalData = "personal-data",
        /// The keys are those of another keyboard.
        KeyboardLayout = "keyboard-layout",
        /// A code of the command card that came through damaged.
        CardMisread = "card-misread",
        TwoLabels = "two-labels",
        NotALabel = "not-a-label",
        Truncated = "truncated",
        CheckDigit = "check-digit",
        BadCharset = "bad-charset",
        UnknownAi = "unknown-ai",
        TooLong = "too-long",
        EmptyField = "empty-field",
        DuplicateAiConflict = "duplicate-ai-conflict",
        /// HIBC: the second symbol belongs to another first one.
        LinkMismatch = "link-mismatch",
        MissingPair = "missing-pair",
        ForbiddenPair = "forbidden-pair",
        BadDate = "bad-date",
        AmbiguousNoSeparator = "ambiguous-no-separator",
        /// The device identifier is on another symbol of the box.
        SecondaryOnly = "secondary-only",
        PackagingLevel = "packaging-level",
        CapsLock = "caps-lock",
        NotGs1Marked = "not-gs1-marked",
        /// The identifier is that of what is inside a carton.
        ContentsNotItem = "contents-not-item",
    }
}

/// Something doubtful in a label that was read. In JSON `{"code","message"}`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Warning {
    /// A soft code.
    pub code: LabelCode,
    /// In words, and what to do.
    pub message: String,
}

/// A label from which nothing is taken.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{message}")]
pub struct Refusal {
    /// A hard code; a soft one where two labels can't be joined for it.
    pub code: LabelCode,
    /// What is wrong, and what to do.
    pub message: String,
    /// Bytes from 0; none where naming a place would echo a person's data.
    pub position: Option<usize>,
}

impl Refusal {
    /// Whether the bytes may tell of a person: they are then kept nowhere.
    pub fn is_of_a_person(&self) -> bool {
        self.code == LabelCode::PersonalData
    }
}
