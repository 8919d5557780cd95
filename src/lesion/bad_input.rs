//! Why a measurement is refused.

use std::fmt::Display;
use thiserror::Error;

/// One thing wrong with what was typed in.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{message}")]
pub struct BadInput {
    /// The field's name, as on the command line without its dashes: `distal-lumen`.
    pub field: String,
    /// As typed; empty where nothing was.
    pub value: String,
    /// Names field, value, what is believed, and what to do.
    pub message: String,
}

impl BadInput {
    pub(crate) fn new(field: &str, value: impl Display, message: String) -> Self {
        BadInput { field: field.into(), value: value.to_string(), message }
    }
}
