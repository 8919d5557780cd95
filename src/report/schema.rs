//! The shape of the JSON record, published: JSON Schema, draft 2020-12.

/// As `boxcall case export --format json-schema` prints it.
pub const SCHEMA: &str = include_str!("case.schema.json");
