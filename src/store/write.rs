//! Appending: all facts of one command or none of them.

use super::{Store, StoreError};
use crate::journal::chain::{self, GENESIS};
use crate::journal::{CaseCode, Entry, Fact};
use chrono::{DateTime, FixedOffset, Offset};
use rusqlite::{OptionalExtension, Transaction, TransactionBehavior, params};

impl Store {
    /// Appends the facts of one command, in this order, and returns when they are on the disk.
    ///
    /// `command` is an id made before this call: where the same command is already in the journal (it was
    /// committed, and then the program was killed before it could say so), nothing is written and the entries
    /// that are there are returned. No facts: nothing is written.
    ///
    /// # Errors
    /// Nothing was written: the disk is full or can't be written, another program holds the journal, the
    /// journal is open for looking only, the same id stands for other facts, or a fact would not read back.
    pub fn append(
        &mut self,
        command: &str,
        at: DateTime<FixedOffset>,
        case: Option<&CaseCode>,
        facts: &[Fact],
    ) -> Result<Vec<Entry>, StoreError> {
        if self.read_only {
            let detail = "it is open for looking only".into();
            return Err(StoreError::CannotWrite { path: self.path.clone(), detail });
        }
        let refuse = |detail: String| StoreError::NotAppendable { path: self.path.clone(), detail };
        let at = whole_minutes(at);
        let failed = |error: rusqlite::Error| StoreError::from_database(&self.path, &error);

        let transaction =
            self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let there = super::read::entries(&transaction, &self.path, super::read::OF_COMMAND, &[&command])?;
        if !there.is_empty() {
            let same = there.iter().map(|entry| &entry.fact).eq(facts)
                && there.iter().all(|entry| entry.case.as_ref() == case);
            return if same {
                Ok(there)
            } else {
                Err(refuse(format!("the command {command} was already used for something else")))
            };
        }
        let (mut seq, mut previous) = head(&transaction).map_err(failed)?;
        let mut written = Vec::with_capacity(facts.len());
        for (part, fact) in facts.iter().enumerate() {
            seq += 1;
            let entry =
                Entry { seq, at, command: command.to_string(), case: case.cloned(), fact: fact.clone() };
            let body = entry.body().map_err(|error| refuse(error.to_string()))?;
            let hash = chain::hash(&previous, &body);
            transaction
                .prepare_cached(
                    "INSERT INTO journal(seq, at, command, part, case_code, what, prev, hash, body)
                     VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
                )
                .and_then(|mut statement| {
                    statement.execute(params![
                        seq as i64,
                        at.to_rfc3339(),
                        command,
                        part as i64,
                        case.map(CaseCode::as_str),
                        fact.what(),
                        &previous[..],
                        &hash[..],
                        body
                    ])
                })
                .map_err(failed)?;
            previous = hash;
            written.push(entry);
        }
        transaction.commit().map_err(failed)?;
        Ok(written)
    }
}

/// The last entry's number and hash.
pub(super) fn head(transaction: &Transaction) -> rusqlite::Result<(u64, [u8; 32])> {
    let last = transaction
        .prepare_cached("SELECT seq, hash FROM journal ORDER BY seq DESC LIMIT 1")?
        .query_row([], |row| Ok((row.get::<_, i64>(0)? as u64, row.get::<_, [u8; 32]>(1)?)))
        .optional()?;
    Ok(last.unwrap_or((0, GENESIS)))
}

/// The stored form has no seconds in its offset; a few historical time zones do.
fn whole_minutes(at: DateTime<FixedOffset>) -> DateTime<FixedOffset> {
    let seconds = at.offset().fix().local_minus_utc();
    match FixedOffset::east_opt(seconds - seconds % 60) {
        Some(offset) => at.with_timezone(&offset),
        None => at,
    }
}
