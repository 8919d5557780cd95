//! Finding the few cases that hold a box, without folding them all.
//!
//! A table that can't be changed gets no index later, and an index in a file of its own would be one more thing that
//! can be wrong. So the bodies are scanned as text, split over the processor's cores, and only the cases that are
//! found are read. `benches/trace.rs` measures it.

use super::read::{STRIKES_OF_ROOM, number};
use super::{Store, StoreError};
use crate::journal::{CaseCode, Entry};
use rusqlite::params_from_iter;
use std::collections::{BTreeSet, HashSet};
use std::num::NonZero;

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

/// Takes case and body of an entry; false: enough was seen.
type EachBox<'a> = dyn FnMut(Option<String>, &str) -> Result<bool, String> + 'a;

impl Store {
    /// The entries of every case into which such a box came, in order, and with them every strike that belongs to
    /// no case: one may strike out an entry of any.
    ///
    /// # Errors
    /// The journal can't be read, or an entry in it is damaged.
    pub fn entries_with_boxes(&self, sought: &Sought) -> Result<Vec<Entry>, StoreError> {
        let last = self.last_seq()?;
        let parts = std::thread::available_parallelism().map_or(1, NonZero::get).min(8) as u64;
        let size = last.div_ceil(parts).max(1);
        let ranges: Vec<(u64, u64)> = (0..parts).map(|part| (part * size, (part + 1) * size)).collect();
        let (own, others) = ranges.split_first().unwrap_or((&(0, u64::MAX), &[]));
        let mut cases = BTreeSet::new();
        // A connection stays with its thread: each search opens its own.
        let beside =
            others.iter().map(|range| Ok((*range, self.beside()?))).collect::<Result<Vec<_>, _>>()?;
        std::thread::scope(|scope| {
            let searches: Vec<_> = beside
                .into_iter()
                .map(|(range, store)| scope.spawn(move || store.cases_within(range, sought)))
                .collect();
            cases.extend(self.cases_within(*own, sought)?);
            for search in searches {
                let found = search.join().map_err(|_| self.damaged("a search in it broke off"))?;
                cases.extend(found?);
            }
            Ok::<(), StoreError>(())
        })?;
        if cases.is_empty() {
            return Ok(Vec::new());
        }
        let mut entries = self.entries(STRIKES_OF_ROOM, &[])?;
        for case in &cases {
            entries.extend(self.case_entries(case)?);
        }
        entries.sort_by_key(|entry| entry.seq);
        Ok(entries)
    }

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
        let sql = format!("SELECT seq, case_code, body FROM journal WHERE {BOXES} ORDER BY seq DESC");
        self.each_box(&sql, &[], sought, &mut |_, body| {
            Ok(each(Entry::from_body(body).map_err(|error| error.to_string())?))
        })
    }

    /// Cases of entries numbered from after the first number up to the second.
    fn cases_within(&self, range: (u64, u64), sought: &Sought) -> Result<BTreeSet<CaseCode>, StoreError> {
        let sql =
            format!("SELECT seq, case_code, body FROM journal WHERE seq > ?1 AND seq <= ?2 AND {BOXES}");
        let mut cases = BTreeSet::new();
        self.each_box(&sql, &[number(range.0), number(range.1)], sought, &mut |code, _| {
            // A box that belongs to no case went to nobody.
            if let Some(code) = code {
                let case = CaseCode::parse(&code);
                cases.insert(case.ok_or_else(|| format!("{code:?} is not a case code"))?);
            }
            Ok(true)
        })?;
        Ok(cases)
    }

    /// Hands over case and body of the entries that hold what is sought, until `each` says that it has seen enough
    /// (false) or what is damaged. The statement gives number, case and body.
    fn each_box(
        &self,
        sql: &str,
        values: &[i64],
        sought: &Sought,
        each: &mut EachBox,
    ) -> Result<(), StoreError> {
        let failed = |error: rusqlite::Error| StoreError::from_database(&self.path, &error);
        let mut statement = self.connection.prepare_cached(sql).map_err(failed)?;
        let mut rows = statement.query(params_from_iter(values)).map_err(failed)?;
        while let Some(row) = rows.next().map_err(failed)? {
            let damaged = |detail: String| {
                self.damaged(format!("entry {}: {detail}", row.get::<_, i64>(0).unwrap_or_default()))
            };
            let body =
                row.get_ref(2).map_err(failed)?.as_str().map_err(|error| damaged(error.to_string()))?;
            if sought.is_in(body) && !each(row.get(1).map_err(failed)?, body).map_err(damaged)? {
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
