//! Products out of the public device database's delimited release: lines in, product files and a report out.
//!
//! A size is read where it is certain and listed with its reason where it is not; nothing is made up. What the
//! database does not hold (pressure charts, expansion limits, guides) stays unknown, and every product comes out
//! `verified = false`. Whoever opens the files feeds the lines: they are gigabytes, and no line is kept that is not
//! wanted.

mod believed;
mod devices;
pub mod free;
mod kinds;
mod lexed;
mod report;
pub mod row;
mod settle;
mod typed;
mod write;

pub use devices::Import;
pub use kinds::{CODES, ProductCode};
pub use report::{Count, Note, Outcome, Report};
pub use settle::Imported;
pub use write::ProductFile;

crate::measure::words! {
    /// The four files of a release that are read, in this order.
    Part {
        Codes = "productCodes.txt",
        Devices = "device.txt",
        Sizes = "deviceSizes.txt",
        Identifiers = "identifiers.txt",
    }
}
