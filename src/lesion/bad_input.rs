//! Why a measurement is refused.

use std::fmt;

/// One thing wrong with what was typed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BadInput {
    /// The field's name, as on the command line without its dashes: `distal-lumen`.
    pub field: String,
    /// As typed; empty where nothing was.
    pub value: String,
    /// Names field, value, what is believed, and what to do.
    pub message: String,
}

impl BadInput {
    pub(crate) fn new(field: &str, value: impl fmt::Display, message: String) -> Self {
        BadInput { field: field.into(), value: value.to_string(), message }
    }
}

impl fmt::Display for BadInput {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for BadInput {}
