//! The integration tests, one binary: it links once.

mod crash;
mod tidy;
