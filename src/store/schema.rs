//! The tables of the journal and the guards in them. A table that refuses UPDATE can't be mended later, so
//! all of it is here from the first version on.

/// "bxcl": marks a file as ours.
pub(super) const APPLICATION_ID: i64 = 0x6278_636c;

/// The format that this version writes.
pub(super) const VERSION: i64 = 1;

/// From one version to the next.
#[derive(Debug)]
pub(super) struct Step {
    /// The version before it; the one after it is one more.
    pub from: i64,
    pub statements: &'static str,
}

/// What a file holds in one version, and how earlier ones come to it.
#[derive(Debug)]
pub(super) struct Format {
    pub version: i64,
    /// Name and statement, as SQLite keeps them.
    pub objects: &'static [(&'static str, &'static str)],
    pub steps: &'static [Step],
}

/// The format that this version writes.
pub(super) const TODAY: Format = Format { version: VERSION, objects: &OBJECTS, steps: STEPS };

/// One step for each earlier version: none, this is the first. A step needs a file of the version before it in
/// `tests/data/journals`, written by that version.
const STEPS: &[Step] = &[];

/// What the file holds: name and statement, as SQLite keeps them. On opening both are compared, so that a
/// journal without its guards is noticed.
///
/// `INSERT OR REPLACE` passes by the guards on UPDATE and DELETE (a replaced row fires no DELETE trigger while
/// `recursive_triggers` is off), so the guard on INSERT looks for every key that could be replaced.
pub(super) const OBJECTS: [(&str, &str); 5] = [
    (
        "journal",
        "CREATE TABLE journal(
  seq INTEGER PRIMARY KEY,
  at TEXT NOT NULL,
  command TEXT NOT NULL,
  part INTEGER NOT NULL CHECK(part >= 0),
  case_code TEXT,
  what TEXT NOT NULL,
  prev BLOB NOT NULL CHECK(length(prev) = 32),
  hash BLOB NOT NULL UNIQUE CHECK(length(hash) = 32),
  body TEXT NOT NULL,
  UNIQUE(command, part)
) STRICT",
    ),
    ("journal_by_case", "CREATE INDEX journal_by_case ON journal(case_code, seq)"),
    (
        "journal_no_update",
        "CREATE TRIGGER journal_no_update BEFORE UPDATE ON journal
BEGIN SELECT RAISE(ABORT, 'the journal is append-only: strike out instead'); END",
    ),
    (
        "journal_no_delete",
        "CREATE TRIGGER journal_no_delete BEFORE DELETE ON journal
BEGIN SELECT RAISE(ABORT, 'the journal is append-only: nothing is ever deleted'); END",
    ),
    (
        "journal_insert",
        "CREATE TRIGGER journal_insert BEFORE INSERT ON journal
WHEN NEW.seq IS NOT (SELECT ifnull(max(seq), 0) + 1 FROM journal)
  OR NEW.prev IS NOT ifnull((SELECT hash FROM journal ORDER BY seq DESC LIMIT 1), zeroblob(32))
  OR EXISTS(SELECT 1 FROM journal WHERE hash = NEW.hash)
  OR EXISTS(SELECT 1 FROM journal WHERE command = NEW.command AND part = NEW.part)
BEGIN SELECT RAISE(ABORT, 'the entry does not follow the last one'); END",
    ),
];

/// Compares type, name and statement of what a file holds with what belongs in it. SQLite's own indexes for UNIQUE have
/// no statement.
///
/// # Errors
/// In words the first part that is missing, changed or foreign.
pub(super) fn compare(
    found: &[(String, String, Option<String>)],
    objects: Option<&[(&str, &str)]>,
) -> Result<(), String> {
    // An earlier format is compared when it has been brought to this one.
    let Some(objects) = objects.filter(|_| crate::control::holds("objects-compared")) else { return Ok(()) };
    for (name, statement) in objects {
        let of_name = |part: &&(String, String, Option<String>)| part.1 == *name;
        match found.iter().find(of_name) {
            None => return Err(format!("its part {name:?} is missing")),
            Some((_, _, sql)) if sql.as_deref() != Some(*statement) => {
                return Err(format!("its part {name:?} was changed"));
            }
            Some(_) => {}
        }
    }
    let ours = |(kind, name, sql): &&(String, String, Option<String>)| {
        let own = objects.iter().any(|(own, _)| own == name);
        own || kind == "index" && sql.is_none() && name.starts_with("sqlite_autoindex_")
    };
    match found.iter().find(|part| !ours(part)) {
        Some((kind, name, _)) => Err(format!("the {kind} {name:?} in it does not belong there")),
        None if found.len() > objects.len() + found.iter().filter(|part| part.2.is_none()).count() => {
            Err("a part of it is there twice".into())
        }
        None => Ok(()),
    }
}
