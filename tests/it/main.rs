//! The integration tests, one binary: it links once.

mod entries;
mod readback;
mod record;
