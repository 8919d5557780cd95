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
    "brae.toml", "estuary.toml", "fell.toml", "footpath.toml", "furrow.toml", "ginnel.toml", "gorse.toml",
    "guides.toml", "hedgerow.toml", "holm.toml", "outcrop.toml", "oxbow.toml", "sandbar.toml", "skerry.toml",
    "spinney.toml", "thicket.toml", "tussock.toml",
);

/// The demo room's stock file. Its dates suit a day near 2026-11-25.
pub fn stock() -> &'static str {
    include_str!("../../catalogues/room/stock.csv")
}

/// The demo room's protocol.
pub fn policy() -> &'static str {
    include_str!("../../catalogues/room/policy.toml")
}
