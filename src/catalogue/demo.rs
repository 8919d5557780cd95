//! The demo room's files, carried in the program: invented products, guides, stock and protocol.
//!
//! `tests/reference/demo_catalogue.py` writes them, the protocol apart.

macro_rules! embedded {
    ($($file:literal),+ $(,)?) => {
        /// The catalogue files by name, byte for byte as in the folder `catalogues`.
        pub fn files() -> Vec<(&'static str, &'static str)> {
            vec![$(($file, include_str!(concat!("../../catalogues/", $file)))),+]
        }
    };
}

embedded!(
    "brae.toml",
    "cairn.toml",
    "carr.toml",
    "eddy.toml",
    "ginnel.toml",
    "guides.toml",
    "holm.toml",
    "levee-large.toml",
    "levee.toml",
    "mere.toml",
    "rill.toml",
    "scree.toml",
    "sluice.toml",
    "spinney.toml",
    "tarn.toml",
    "tor.toml",
    "wold.toml",
);

/// The demo room's stock file. Its dates suit a day near 2026-11-25.
pub fn stock() -> &'static str {
    include_str!("../../catalogues/room/stock.csv")
}

/// The demo room's protocol.
pub fn policy() -> &'static str {
    include_str!("../../catalogues/room/policy.toml")
}
