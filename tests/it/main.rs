//! The integration tests, one binary: it links once.

mod cases;
mod catalogue;
mod charts;
mod policy_file;
mod stock_file;
