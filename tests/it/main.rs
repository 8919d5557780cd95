//! The integration tests, one binary: it links once.

mod labels;
