//! The integration tests, one binary: it links once.

mod entries;
mod fhir;
mod handover;
mod readback;
mod record;
mod shelf;
