//! The integration tests, one binary: it links once.
mod cases_fit;
mod fit_answer;
mod fit_properties;
mod sizing;
