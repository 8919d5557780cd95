//! What every answer, document and screen says of itself: who decides.
//!
//! Invariant: three strings and nothing else. No other module spells one of them. Pure.

/// For documents, help and the first page.
pub const LONG: &str = "Not a certified medical device. boxcall shows arithmetic, rules and their sources; the operator \
                        decides. Local protocol, each device's instructions for use and licensed practice come first.";

/// For answers, and for screens of 160 columns and more.
pub const LINE: &str = "Not a certified medical device: arithmetic and sources. The operator, local protocol, the \
                        instructions for use and licensed practice decide.";

/// For screens from 80 columns on.
pub const FOOTER: &str = "operator, protocol, IFU first";
