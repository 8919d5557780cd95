//! The integration tests, one binary: it links once.

mod entries;
mod handover;
mod readback;
mod record;
mod shelf;
