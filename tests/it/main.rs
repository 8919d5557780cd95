//! The integration tests, one binary: it links once.

mod label_conduct;
mod labels;
