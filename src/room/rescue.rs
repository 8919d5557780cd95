//! What could not be saved, in a file elsewhere: to be read by people, and taken into the journal again.

use super::{Fault, Room, files};
use crate::journal::{CaseCode, Fact};
use crate::store::Stamp;
use chrono::{DateTime, FixedOffset};
use etcetera::BaseStrategy;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// The facts of one command that are not in the journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// The command's id: taken in twice, it is written once.
    pub id: String,
    /// When it was entered, by the clock of the machine that could not save it.
    pub entered: DateTime<FixedOffset>,
    /// The case that it belongs to; none for what belongs to the room.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub case: Option<CaseCode>,
    /// The numbers under which the screens showed its facts; a later strike-out may name them.
    pub numbers: Vec<u64>,
    /// For people: what each fact says.
    pub words: Vec<String>,
    /// In order, `numbers` and `words` beside them.
    pub facts: Vec<Fact>,
}

/// What the file holds.
#[derive(Debug, Serialize, Deserialize)]
struct File {
    schema: u32,
    what: String,
    room: String,
    commands: Vec<Kept>,
}

/// What came of taking a file in: the object of `journal take-in --json`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct TakenIn {
    /// Entries that were written now.
    pub written: usize,
    /// Entries that were in the journal already.
    pub already: usize,
}

const WHAT: &str =
    "Entries of boxcall that could not be saved. Take them in with: boxcall journal take-in FILE";

impl Room {
    /// Writes what is not saved into a folder: this one, or the user's own, or the system's temporary one, the first
    /// that takes it. A name is not used twice.
    ///
    /// # Errors
    /// None of them takes it.
    pub fn write_rescue(&self, folder: Option<&Path>, commands: Vec<Kept>) -> Result<PathBuf, Fault> {
        let folders = match folder {
            Some(folder) => vec![folder.to_path_buf()],
            None => {
                let home = etcetera::choose_base_strategy().map(|base| base.home_dir().to_path_buf());
                home.ok().into_iter().chain([std::env::temp_dir()]).collect()
            }
        };
        let (now, room) = (self.now(), self.dir.display().to_string());
        let file = File { schema: 1, what: WHAT.into(), room, commands };
        let text = serde_json::to_string_pretty(&file).map_err(|error| {
            Fault::could_not("cannot-write", format!("it can't be converted to JSON: {error}"))
        })?;
        let mut failed = Fault::could_not("cannot-write", "there is no folder for it");
        for folder in folders {
            let name = |extra: String| {
                folder.join(format!("boxcall-not-saved-{}{extra}.json", now.format("%Y%m%d-%H%M%S")))
            };
            let free = (0..100).map(|n| name(if n == 0 { String::new() } else { format!("-{n}") }));
            let Some(path) = free.into_iter().find(|path| !path.exists()) else { continue };
            match files::write_private(&path, &text) {
                Ok(()) => return Ok(path),
                Err(fault) => failed = fault,
            }
        }
        Err(failed)
    }

    /// Takes such a file into the journal, each command once, in its order.
    ///
    /// # Errors
    /// It can't be read, is something else, or the journal can't be written: what was taken in before that stays,
    /// and taking the file in again writes nothing twice.
    pub fn take_in(&mut self, path: &Path) -> Result<TakenIn, Fault> {
        let bad = |why: String| Fault::refused("bad-file", format!("{}: {why}", path.display()), None);
        let file: File = serde_json::from_str(&files::text(path)?)
            .map_err(|error| bad(format!("not a file of entries that were not saved: {error}")))?;
        if file.schema != 1 {
            return Err(bad(format!("written by a later version (schema {}); use that one", file.schema)));
        }
        let mut taken = TakenIn::default();
        let mut numbers: HashMap<u64, u64> = HashMap::new();
        for mut kept in file.commands {
            for fact in &mut kept.facts {
                if let Fact::StruckOut { entry, .. } = fact {
                    *entry = numbers.get(entry).copied().unwrap_or(*entry);
                }
            }
            let stamp = Stamp { id: kept.id, entered: kept.entered, now: self.now() };
            let appended = self.write_stamped(&stamp, kept.case.as_ref(), &kept.facts)?;
            let own: Vec<u64> =
                appended.entries.iter().filter(|e| !e.fact.is_notice()).map(|e| e.seq).collect();
            *(if appended.already { &mut taken.already } else { &mut taken.written }) += own.len();
            numbers.extend(kept.numbers.into_iter().zip(own));
        }
        Ok(taken)
    }
}
