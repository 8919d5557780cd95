//! Finding the latest entries of a box without folding the cases: the bodies are scanned as text.

use super::{Store, StoreError};
use crate::journal::Entry;
use std::collections::HashSet;

/// Kinds of facts that carry a label, as `Fact::what` has them.
const BOXES: &str = "what IN ('box-at-hand', 'box-opened', 'box-put-back')";

/// A field of a label by which boxes are looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Field {
    /// Batch or lot number.
    Lot,
    /// Serial number.
    Serial,
    /// Device identifier, as the label carried it.
    Di,
}

impl Field {
    /// Its name in a body.
    const fn name(self) -> &'static str {
        match self {
            Field::Lot => "\"lot\"",
            Field::Serial => "\"serial\"",
            Field::Di => "\"di\"",
        }
    }
}

/// What is looked for: any of these values in its field, neither case (of ASCII letters) nor blanks around them counting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sought {
    fields: Vec<(Field, HashSet<String>)>,
}

impl Sought {
    /// Blanks around the values and the case of their letters are let go of here.
    pub fn new<'a>(field: Field, values: impl IntoIterator<Item = &'a str>) -> Self {
        Sought { fields: vec![(field, values.into_iter().map(alike).collect())] }
    }

    /// Or what the other looks for.
    pub fn or(mut self, other: Sought) -> Self {
        for (field, values) in other.fields {
            match self.fields.iter_mut().find(|(known, _)| *known == field) {
                Some((_, known)) => known.extend(values),
                None => self.fields.push((field, values)),
            }
        }
        self
    }

    fn is_in(&self, body: &str) -> bool {
        self.fields.iter().any(|(field, values)| is_one_in(body, *field, values))
    }
}

fn is_one_in(body: &str, field: Field, values: &HashSet<String>) -> bool {
    let name = field.name();
    body.match_indices(name).any(|(at, _)| {
        // Another program may put blanks around the colon.
        let after = body[at + name.len()..].trim_start().strip_prefix(':').map(str::trim_start);
        let text = after.and_then(|rest| rest.strip_prefix('"')).and_then(value);
        text.is_some_and(|value| values.contains(&alike(&value)))
    })
}

fn alike(text: &str) -> String {
    text.trim().to_ascii_lowercase()
}

/// A JSON text up to its closing quote.
fn value(rest: &str) -> Option<String> {
    let mut escaped = false;
    let end = rest.bytes().position(|byte| {
        let end = byte == b'"' && !escaped;
        escaped = byte == b'\\' && !escaped;
        end
    })?;
    let text = &rest[..end];
    if text.contains('\\') { serde_json::from_str(&format!("\"{text}\"")).ok() } else { Some(text.into()) }
}

impl Store {
    /// Hands over the entries of boxes that hold what is sought, the latest first, until `each` says that it has seen
    /// enough (false).
    ///
    /// # Errors
    /// The journal can't be read, or an entry in it is damaged.
    pub fn latest_with_boxes(
        &self,
        sought: &Sought,
        each: &mut dyn FnMut(Entry) -> bool,
    ) -> Result<(), StoreError> {
        let failed = |error: rusqlite::Error| StoreError::from_database(&self.path, &error);
        let sql = format!("SELECT seq, body FROM journal WHERE {BOXES} ORDER BY seq DESC");
        let mut statement = self.connection.prepare_cached(&sql).map_err(failed)?;
        let mut rows = statement.query([]).map_err(failed)?;
        while let Some(row) = rows.next().map_err(failed)? {
            let damaged = |detail: String| {
                self.damaged(format!("entry {}: {detail}", row.get::<_, i64>(0).unwrap_or_default()))
            };
            let body =
                row.get_ref(1).map_err(failed)?.as_str().map_err(|error| damaged(error.to_string()))?;
            if sought.is_in(body)
                && !each(Entry::from_body(body).map_err(|error| damaged(error.to_string()))?)
            {
                break;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_is_found_whole_and_unescaped() {
        let body =
            r#"{"what":"box-opened","label":{"name":"say \"lot\":\"L9\"","lot":"L\"1 ","serial":"7"}}"#;
        for (field, value, there) in [
            (Field::Lot, "l\"1", true),
            (Field::Lot, "L\"1", true),
            (Field::Lot, "L", false),
            (Field::Lot, "L9", false),
            (Field::Serial, "7", true),
            (Field::Di, "7", false),
        ] {
            assert_eq!(Sought::new(field, [value]).is_in(body), there, "{field:?} {value}");
        }
        // Blanks may stand around the colon (@json-blanks).
        let spaced = r#"{"label" : {"name": "lot", "lot" : "A&lt;B"}}"#;
        assert!(Sought::new(Field::Lot, ["a&LT;b"]).is_in(spaced));
        assert!(!Sought::new(Field::Lot, ["lot"]).is_in(spaced));
    }
}
