//! Device identifiers and their check digits.
//!
//! Invariant: knows `units` only; pure. What a label says beyond the identifier is `label`'s business.

use serde::{Deserialize, Serialize};
use std::fmt;

/// A UDI-DI in the form in which databases keep it: a GTIN padded with zeros to 14 digits, an HIBC
/// labeler + product + unit (6 to 23 characters, without `+` and check), or the 16 characters of ISBT 128 `=/`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct DeviceId(String);

impl DeviceId {
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for DeviceId {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(&self.0)
    }
}
