//! Why a measurement is refused.

use std::fmt::Display;
use thiserror::Error;

/// One thing wrong with what was typed in.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{message}")]
pub struct BadInput {
    /// The field's name, as on the command line without its dashes: `distal-lumen`.
    pub field: String,
    /// As typed; none where nothing was.
    pub value: Option<String>,
    /// Names field, value, what is believed, and what to do.
    pub message: String,
}

impl BadInput {
    pub(crate) fn new(field: &str, value: impl Display, message: String) -> Self {
        BadInput { field: field.into(), value: Some(value.to_string()), message }
    }

    /// Of a field that was not given, or of several values together.
    pub(crate) fn of_field(field: &str, message: impl Into<String>) -> Self {
        BadInput { field: field.into(), value: None, message: message.into() }
    }
}
