//! The chain: each entry's hash covers the one before it, so that a change anywhere shows from there on.
//!
//! The stored text is hashed, not the values in it: a later version may write the same values differently.
//! A chain alone cannot show a tail that was cut off; the head has to be kept somewhere else for that.

use super::{CaseCode, Entry, Fact};
use serde::Serialize;
use sha2::{Digest, Sha256};
use thiserror::Error;

/// What is before the first entry.
pub const GENESIS: [u8; 32] = [0; 32];

/// SHA-256 (FIPS 180-4) of the previous hash and the stored body, in this order.
pub fn hash(previous: &[u8; 32], body: &str) -> [u8; 32] {
    Sha256::new().chain_update(previous).chain_update(body.as_bytes()).finalize().into()
}

/// One entry as it is stored: what is hashed, and its hash.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Link {
    /// From 1, without a gap.
    #[serde(rename = "entry")]
    pub seq: u64,
    /// The hash of the link before; [`GENESIS`] in the first.
    #[serde(serialize_with = "hex::serialize")]
    pub previous: [u8; 32],
    /// [`hash`](fn@hash) of the two fields beside it.
    #[serde(serialize_with = "hex::serialize")]
    pub hash: [u8; 32],
    /// The entry's JSON, byte for byte as it was hashed.
    pub body: String,
}

/// A body that is not an entry of the journal.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("not an entry of this journal: {message}")]
pub struct BadBody {
    /// What the reader stumbled over, with its place in the text.
    pub message: String,
}

impl Entry {
    /// The JSON that is stored and hashed.
    ///
    /// # Errors
    /// An entry that would not read back as it was (a number that is not finite has no JSON).
    pub fn body(&self) -> Result<String, BadBody> {
        let body = serde_json::to_string(self).map_err(|error| BadBody { message: error.to_string() })?;
        match Entry::from_body(&body) {
            Ok(back) if back == *self => Ok(body),
            Ok(_) => Err(BadBody { message: "a value would change on its way to the disk".into() }),
            Err(error) => Err(error),
        }
    }

    /// Reads a stored body.
    ///
    /// # Errors
    /// No JSON of an entry of this version, or a case code that `CaseCode::parse` would not read so.
    pub fn from_body(body: &str) -> Result<Entry, BadBody> {
        let bad = |message: String| BadBody { message };
        let entry: Entry = serde_json::from_str(body).map_err(|error| bad(error.to_string()))?;
        if let Some(case) = &entry.case
            && CaseCode::parse(case.as_str()).as_ref() != Some(case)
        {
            return Err(bad(format!("{:?} is not a case code", case.as_str())));
        }
        Ok(entry)
    }
}

impl Fact {
    /// The kind of fact, by the word under which its body carries it.
    pub const fn what(&self) -> &'static str {
        match self {
            Fact::StockLoaded { .. } => "stock-loaded",
            Fact::StockReceived { .. } => "stock-received",
            Fact::StockMoved { .. } => "stock-moved",
            Fact::StockCounted { .. } => "stock-counted",
            Fact::StockPulled { .. } => "stock-pulled",
            Fact::ClockWentBack { .. } => "clock-went-back",
            Fact::ClockWentAhead { .. } => "clock-went-ahead",
            Fact::DateConfirmed { .. } => "date-confirmed",
            Fact::HeldBack { .. } => "held-back",
            Fact::LotRecalled { .. } => "lot-recalled",
            Fact::PrintedSizeTyped { .. } => "printed-size-typed",
            Fact::CaseBegun => "case-begun",
            Fact::LesionMeasured { .. } => "lesion-measured",
            Fact::Called { .. } => "called",
            Fact::ReadinessChanged { .. } => "readiness-changed",
            Fact::CallCancelled { .. } => "call-cancelled",
            Fact::BoxAtHand { .. } => "box-at-hand",
            Fact::BoxOpened { .. } => "box-opened",
            Fact::BoxPutBack { .. } => "box-put-back",
            Fact::BalloonUp { .. } => "balloon-up",
            Fact::BalloonDown { .. } => "balloon-down",
            Fact::Inflated { .. } => "inflated",
            Fact::AreasMeasured { .. } => "areas-measured",
            Fact::OverlapPlaced { .. } => "overlap-placed",
            Fact::FateGiven { .. } => "fate-given",
            Fact::BackOnTable { .. } => "back-on-table",
            Fact::UsedAgain { .. } => "used-again",
            Fact::StruckOut { .. } => "struck-out",
            Fact::SignedOff { .. } => "signed-off",
        }
    }
}

#[cfg(test)]
mod tests;
