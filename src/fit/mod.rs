//! What fits: window, reach, verdict, steadiness, rank.
//!
//! Invariant: knows no label and no journal; a pure function of catalogue, policy and lesion.

crate::measure::words! {
    /// What the engine says of one size for one lesion.
    Verdict {
        Fits = "fits",
        FitsAfterPostDilatation = "fits-after-post-dilatation",
        Undersized = "undersized",
        Unknown = "unknown",
        No = "no",
    }
}
