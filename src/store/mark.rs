//! Up to where the journal was found to hold, kept in a small file beside it.
//!
//! The mark only says where a quick check may begin, and what was there: a whole check reads every entry whatever the
//! mark says. It also shows what a chain alone can't: a tail that was cut off, or a journal that was written afresh.

use super::files::{PRIVATE, write_whole};
use super::read::hash_of;
use super::{Broken, Store};
use crate::units::{by_count, counted};
use chrono::{DateTime, FixedOffset};
use std::path::PathBuf;

/// What was found to hold, and when.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark {
    /// So many entries.
    pub entries: u64,
    /// The hash of the last of them.
    pub head: [u8; 32],
    /// When every entry was checked last.
    pub whole: DateTime<FixedOffset>,
}

/// The first line of the file: anything else in its place is not a mark.
const HEADING: &str = "boxcall: up to here the journal was found to hold";

impl Mark {
    fn text(&self) -> String {
        let Mark { entries, head, whole } = self;
        format!("{HEADING}\nentries {entries}\nhead {}\nwhole {}\n", hex::encode(head), whole.to_rfc3339())
    }

    fn of(text: &str) -> Option<Mark> {
        let mut lines = text.lines();
        let mut value = |name: &str| lines.next()?.strip_prefix(name);
        value(HEADING)?;
        let entries = value("entries ")?.parse().ok()?;
        let digits = value("head ")?;
        let whole = DateTime::parse_from_rfc3339(value("whole ")?).ok()?;
        let mut head = [0; 32];
        hex::decode_to_slice(digits, &mut head).ok()?;
        Some(Mark { entries, head, whole })
    }
}

impl Store {
    /// Where the mark lies.
    fn mark_path(&self) -> PathBuf {
        self.path.with_extension("mark")
    }

    /// The mark; none where there is none, or where its file says something else.
    pub fn mark(&self) -> Option<Mark> {
        self.read_mark().ok().flatten()
    }

    /// The mark; none where there is none.
    ///
    /// # Errors
    /// Its file can't be read or says something else: then nothing shows whether entries are missing.
    pub fn read_mark(&self) -> Result<Option<Mark>, Broken> {
        let path = self.mark_path();
        let broken = |why: String| Broken {
            seq: 0,
            message: format!(
                "{} {why}, so nothing shows whether entries are missing at its end; once you know that it is whole, \
                 take that file away",
                path.display()
            ),
        };
        match std::fs::read(&path) {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(broken(format!("can't be read ({error})"))),
            Ok(bytes) => match std::str::from_utf8(&bytes).ok().and_then(Mark::of) {
                Some(mark) => Ok(Some(mark)),
                None => Err(broken("is not what boxcall wrote".into())),
            },
        }
    }

    /// Puts the mark there. Where that can't be done the next check is a whole one: nothing is lost.
    pub fn set_mark(&self, mark: &Mark) {
        let _ = write_whole(&self.mark_path(), &mark.text(), PRIVATE);
    }

    /// Whether what was at the mark is still there.
    ///
    /// # Errors
    /// The entry is another one, or it is gone.
    pub fn stands_at(&self, mark: &Mark) -> Result<(), Broken> {
        let way_out = || {
            let (day, path) = (mark.whole.format("%F"), self.mark_path());
            format!(
                "an older copy that was put back on purpose is taken as it is when {} is taken away; whole check of {day}",
                path.display()
            )
        };
        let broken = |seq: u64, message: String| Broken { seq, message };
        if mark.entries == 0 {
            return Ok(());
        }
        let last = self.last_seq().map_err(|error| broken(0, error.to_string()))?;
        if mark.entries > last {
            let gone = mark.entries - last;
            let (entries, are) = (counted(gone, "entry"), by_count(gone, "is", "are"));
            let message = format!("{entries} that stood from here on {are} gone ({})", way_out());
            return Err(broken(last + 1, message));
        }
        let hash = hash_of(&self.connection, mark.entries)
            .map_err(|error| broken(mark.entries, error.to_string()))?;
        if hash != Some(mark.head) {
            let message = format!("it is not the entry that stood here before ({})", way_out());
            return Err(broken(mark.entries, message));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_mark_reads_back(entries: u64, head: [u8; 32], minutes in 0i64..10_000_000) {
            let start = DateTime::parse_from_rfc3339("2026-11-25T10:30:00+01:00").unwrap();
            let mark = Mark { entries, head, whole: start + chrono::TimeDelta::minutes(minutes) };
            prop_assert_eq!(Mark::of(&mark.text()), Some(mark));
            let cut = mark.text();
            prop_assert_eq!(Mark::of(&cut[..cut.len() - 30]), None);
        }

        #[test]
        fn what_is_no_mark_is_none(text in ".{0,200}") {
            prop_assert_eq!(Mark::of(&text), None);
            let behind = format!("{HEADING}\nentries 1\nhead {text}\nwhole 2026-11-25T10:30:00+01:00\n");
            prop_assert_eq!(Mark::of(&behind), None);
        }
    }
}
