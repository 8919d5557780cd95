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

/// Why a text is no device identifier.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault(String);

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl DeviceId {
    /// Reads an identifier as a file holds it. This small form stands until the whole reader is merged.
    pub fn parse(text: &str) -> Result<Self, Fault> {
        let text = text.trim();
        if !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit()) {
            if !matches!(text.len(), 8 | 12 | 13 | 14) {
                return Err(Fault(format!("{} digits; a GTIN has 8, 12, 13 or 14", text.len())));
            }
            let padded = format!("{text:0>14}");
            let sum: u32 = padded
                .bytes()
                .zip([3, 1].iter().cycle())
                .map(|(digit, weight)| u32::from(digit - b'0') * weight)
                .sum();
            return match sum % 10 {
                0 => Ok(DeviceId(padded)),
                _ => Err(Fault("the check digit does not match".into())),
            };
        }
        let good = (6..=23).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_alphanumeric());
        good.then(|| DeviceId(text.into()))
            .ok_or_else(|| Fault("neither a GTIN, nor HIBC, nor ISBT 128".into()))
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for DeviceId {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(&self.0)
    }
}
