//! What a command prints: words or JSON on standard output, errors on standard error as well.

use crate::deference::LINE;
use crate::intake::steers;
use crate::journal::Statement;
use crate::room::{Fault, Room};
use serde::Serialize;
use std::borrow::Cow;
use std::io::{self, Write};
use std::path::Path;

/// Standard output, in words or in JSON.
#[derive(Debug)]
pub(super) struct Out {
    json: bool,
    /// What was found out about the journal that the answer comes from; none where none is asked.
    journal: Option<Statement>,
}

/// What a command came to, where nothing was wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outcome {
    /// Exit status 0.
    Answered,
    /// A clean no: exit status 1.
    No,
    /// What was read is at fault, and it has been said: exit status 2.
    AtFault,
    /// The journal was checked and does not hold, and it has been said: exit status 1.
    DoesNotHold,
}

impl Outcome {
    /// Answered, or a clean no.
    pub(super) const fn answered(yes: bool) -> Self {
        if yes { Outcome::Answered } else { Outcome::No }
    }
}

/// Who reads the text of an answer, and so where it says who decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reader {
    /// A person: the text ends with the line.
    Person,
    /// A program, which would take the line for data: it goes to standard error.
    Program,
    /// Whoever has the document: the text carries the caution itself.
    OfDocument,
    /// boxcall: a table or a settings file that it reads back says nothing of a vessel or a device, and nothing is
    /// added.
    Boxcall,
}

/// An answer under `--json`, what was found out about the journal that it comes from, and who decides.
#[derive(Debug, Serialize)]
struct Deferring<'a, T> {
    #[serde(flatten)]
    answer: &'a T,
    #[serde(skip_serializing_if = "Option::is_none")]
    journal: Option<&'a Statement>,
    deference: &'static str,
}

/// An error under `--json`: no answer, so nobody acts on it, and its shape stays as it was promised.
#[derive(Debug, Serialize)]
struct ErrorAnswer<'a> {
    error: ErrorWords<'a>,
    /// Only where it does not hold.
    #[serde(skip_serializing_if = "Option::is_none")]
    journal: Option<&'a Statement>,
}

/// A word for programs, words for people, and where it was met: bytes from 0.
#[derive(Debug, Serialize)]
pub(super) struct ErrorWords<'a> {
    pub code: &'a str,
    pub message: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub position: Option<usize>,
}

impl<'a> ErrorWords<'a> {
    pub(super) fn of(fault: &'a Fault) -> Self {
        ErrorWords { code: fault.code(), message: fault.message(), position: fault.position() }
    }
}

/// Text for a terminal or a file: what has power over either is written as its number, so that no name out of a file, a
/// label or a journal moves a cursor or turns letters about. In JSON by its own escape, so that the value stays.
pub(super) fn harmless(text: &str, json: bool) -> Cow<'_, str> {
    let kept = |c: char| !steers(c) || c == '\n' || c == '\t';
    if !crate::control::holds("output-without-power") || text.chars().all(kept) {
        return Cow::Borrowed(text);
    }
    let written = text.chars().map(|c| match (kept(c), json) {
        (true, _) => c.to_string(),
        (false, true) => format!("\\u{:04x}", u32::from(c)),
        (false, false) => format!("<U+{:04X}>", u32::from(c)),
    });
    Cow::Owned(written.collect())
}

impl Out {
    pub(super) const fn new(json: bool) -> Self {
        Out { json, journal: None }
    }

    pub(super) const fn is_json(&self) -> bool {
        self.json
    }

    /// Prints the answer as JSON where that was asked for, else its words for a person.
    ///
    /// # Errors
    /// Standard output can't be written. A reader that has seen enough and gone is no error.
    pub(super) fn answer(
        &mut self,
        answer: &impl Serialize,
        words: impl FnOnce() -> String,
    ) -> Result<Outcome, Fault> {
        self.answer_for(Reader::Person, answer, words)
    }

    /// The same, its words for this reader.
    ///
    /// # Errors
    /// As of [`Out::answer`].
    pub(super) fn answer_for(
        &mut self,
        reader: Reader,
        answer: &impl Serialize,
        words: impl FnOnce() -> String,
    ) -> Result<Outcome, Fault> {
        if self.json { self.json(answer) } else { self.words(reader, &words()) }
    }

    /// Prints a whole file for others to save, which boxcall reads back; as JSON under this key.
    ///
    /// # Errors
    /// As of [`Out::answer`].
    pub(super) fn file(&mut self, key: &str, text: &str) -> Result<Outcome, Fault> {
        self.answer_for(Reader::Boxcall, &serde_json::json!({ key: text }), || text.into())
    }

    /// Prints an object with one key more, `deference`.
    pub(super) fn json(&mut self, answer: &impl Serialize) -> Result<Outcome, Fault> {
        let journal = self.journal.clone();
        self.object(&Deferring { answer, journal: journal.as_ref(), deference: LINE })
    }

    fn object(&mut self, object: &impl Serialize) -> Result<Outcome, Fault> {
        let text = serde_json::to_string_pretty(object)
            .map_err(|error| Fault::could_not("cannot-write", format!("no JSON came of it: {error}")))?;
        self.print(&text)
    }

    /// Prints a text, before it whether its journal does not hold, and who decides where its reader has to be told.
    pub(super) fn words(&mut self, reader: Reader, text: &str) -> Result<Outcome, Fault> {
        if let (Some(warning), Reader::Person) = (self.warning(), reader) {
            self.print(&warning)?;
        }
        self.print(text)?;
        match reader {
            Reader::Person if !crate::control::holds("answer-says-who-decides") => {}
            Reader::Person => return self.print(LINE),
            Reader::Program => self.aside(LINE),
            Reader::OfDocument | Reader::Boxcall => {}
        }
        Ok(Outcome::Answered)
    }

    /// Prints text and the end of its last line.
    pub(super) fn print(&mut self, text: &str) -> Result<Outcome, Fault> {
        let text = &harmless(text, self.json);
        let mut stdout = io::stdout().lock();
        let end: &[u8] = if text.is_empty() || text.ends_with('\n') { b"" } else { b"\n" };
        let written = stdout
            .write_all(text.as_bytes())
            .and_then(|()| stdout.write_all(end))
            .and_then(|()| stdout.flush());
        match written {
            Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(Fault::cannot_print(&error)),
            _ => Ok(Outcome::Answered),
        }
    }

    /// Something that stops nothing, on standard error.
    pub(super) fn aside(&self, text: &str) {
        // Nobody is left to be told when standard error is gone.
        let _ = writeln!(io::stderr().lock(), "{}", harmless(text, false));
    }

    /// Opens a room for looking, and checks its journal. Commands get a room in no other way, so that no answer comes
    /// out of a journal that does not hold without saying so.
    ///
    /// # Errors
    /// As of [`Room::look`].
    pub(super) fn look(&mut self, dir: &Path) -> Result<Room, Fault> {
        Room::look(dir).map(|room| self.checked(room))
    }

    /// A room for what its product files and its protocol say: nothing is read of its journal.
    ///
    /// # Errors
    /// As of [`Room::look`].
    pub(super) fn room_of_files(dir: &Path) -> Result<Room, Fault> {
        Room::look(dir)
    }

    /// Opens a room for writing, and checks its journal.
    ///
    /// # Errors
    /// As of [`Room::open`].
    pub(super) fn open(&mut self, dir: &Path) -> Result<Room, Fault> {
        Room::open(dir).map(|room| self.checked(room))
    }

    /// A room of which the journal is asked, whatever is wrong in its other files.
    ///
    /// # Errors
    /// There is no room, or its journal can't be read.
    pub(super) fn room_of_journal(&mut self, dir: &Path) -> Result<Room, Fault> {
        let (room, fault) = Room::look_past_faults(dir)?;
        if let Some(fault) = fault {
            self.aside(&format!(
                "caution: told from the journal alone, without the room's files that are at fault: {}",
                fault.message()
            ));
        }
        Ok(self.checked(room))
    }

    /// The journal of a room alone.
    ///
    /// # Errors
    /// As of [`Room::journal_alone`].
    pub(super) fn journal_alone(&mut self, dir: &Path) -> Result<Room, Fault> {
        Room::journal_alone(dir).map(|room| self.checked(room))
    }

    /// The journal of a room, for the command that checks it itself.
    ///
    /// # Errors
    /// As of [`Room::journal_alone`].
    pub(super) fn journal_to_check(dir: &Path) -> Result<Room, Fault> {
        Room::journal_alone(dir)
    }

    /// Checks the journal of a room that a command has made itself.
    pub(super) fn checked(&mut self, room: Room) -> Room {
        if crate::control::holds("journal-checked-first") {
            self.journal = Some(room.check());
        }
        if let Some(warning) = self.warning() {
            self.aside(&warning);
        }
        room
    }

    fn warning(&self) -> Option<String> {
        self.journal.as_ref().and_then(Statement::warning)
    }

    /// Whether an answer was given out of a journal that does not hold.
    pub(super) fn is_in_doubt(&self) -> bool {
        self.journal.as_ref().is_some_and(|found| !found.holds)
    }

    pub(super) fn fault(&mut self, fault: &Fault) {
        if self.json {
            // Should standard output be what failed, the words below still tell.
            let journal = self.journal.clone().filter(|found| !found.holds);
            let _ = self.object(&ErrorAnswer { error: ErrorWords::of(fault), journal: journal.as_ref() });
        }
        self.aside(&format!("boxcall: {}", fault.message()));
    }
}
