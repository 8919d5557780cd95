//! The record of a case, written beside the journal: whole or not at all.

use super::{Fault, Room, clock, files};
use crate::case::Case;
use crate::deference::LONG;
use crate::journal::chain::{Link, hash};
use crate::journal::{Anchor, CaseCode, Statement};
use crate::label::write::{Ground, plain_matrix};
use crate::ledger;
use crate::report::{self, CaseReport};
use crate::store::files::beside;
use std::path::{Path, PathBuf};

crate::measure::words! {
    /// A form in which a case is handed over.
    Format { Markdown = "markdown", Csv = "csv", Json = "json", Fhir = "fhir" }
}

impl Format {
    const fn extension(self) -> &'static str {
        match self {
            Format::Markdown => "md",
            Format::Csv => "csv",
            Format::Json => "json",
            Format::Fhir => "fhir.json",
        }
    }
}

impl Room {
    /// The case with this code, or the latest; told apart from its entries.
    ///
    /// # Errors
    /// The journal can't be read, or there is no such case.
    pub fn case(&self, code: Option<&CaseCode>) -> Result<Case, Fault> {
        Ok(self.find_case(code)?.0)
    }

    /// One case, handed over in one form.
    ///
    /// # Errors
    /// The journal can't be read, or there is no such case.
    pub fn export(&self, code: Option<&CaseCode>, format: Format) -> Result<String, Fault> {
        self.with_report(code, |report| write(report, format))
    }

    /// The case told and drawn, for people who look back at it.
    ///
    /// # Errors
    /// The journal can't be read, or there is no such case.
    pub fn review(&self, code: Option<&CaseCode>, width: usize) -> Result<String, Fault> {
        self.with_report(code, |report| report::review(report, width))
    }

    /// Typed texts of a case that are longer than a line: somebody should read them before the record leaves.
    ///
    /// # Errors
    /// The journal can't be read, or there is no such case.
    pub fn long_texts(&self, code: Option<&CaseCode>) -> Result<Vec<String>, Fault> {
        Ok(report::long_texts(&self.case(code)?))
    }

    /// Writes the record of a case in every form into the room's folder of records; the page for people is
    /// returned. A file appears whole or not at all, and replaces an earlier one of the same case.
    ///
    /// # Errors
    /// There is no such case, or the record can't be written.
    pub fn write_record(&self, code: &CaseCode) -> Result<PathBuf, Fault> {
        let folder = self.dir.join(files::RECORDS);
        std::fs::create_dir_all(&folder).map_err(|error| Fault::cannot_write(&folder, &error))?;
        let texts = self.with_report(Some(code), |report| {
            Format::ALL.iter().map(|format| (*format, write(report, *format))).collect::<Vec<_>>()
        })?;
        let place = |format: Format| folder.join(format!("{code}.{}", format.extension()));
        for (format, text) in &texts {
            files::write_private(&place(*format), text)?;
        }
        write_deference_beside(&place(Format::Csv))?;
        Ok(place(Format::Markdown))
    }

    /// The case, and its first entry.
    fn find_case(&self, code: Option<&CaseCode>) -> Result<(Case, u64), Fault> {
        let found = match (&self.store, code) {
            (None, _) => None,
            (Some(store), Some(code)) => ledger::cases(&store.entries_about(code)?).pop(),
            // Cases are in the order of their clocks; where one was set back, the latest is not the last.
            (Some(store), None) => {
                let begun = store.cases_by_clock()?;
                match begun.last() {
                    Some(code) => ledger::cases(&store.entries_about(code)?).pop(),
                    None => None,
                }
            }
        };
        let first = found.as_ref().and_then(|case| case.story.first()).map_or(0, |line| line.seq);
        match (found, code) {
            (Some(case), _) => Ok((case, first)),
            (None, None) => Err(Fault::not_found("no case was begun in this room")),
            (None, Some(code)) => {
                Err(Fault::not_found(format!("case {code}: not in this room; see boxcall case list")))
            }
        }
    }

    fn with_report<T>(
        &self,
        code: Option<&CaseCode>,
        make: impl FnOnce(&CaseReport) -> T,
    ) -> Result<T, Fault> {
        let (case, first) = self.find_case(code)?;
        let shelf = self.behind(Some(first))?.reading.shelf;
        let links = self.store.as_ref().map_or(Ok(Vec::new()), |store| store.links(&case.code))?;
        let (entry, head) = self.store.as_ref().map_or(Ok((0, [0; 32])), |store| store.head())?;
        let anchor = Anchor { entry, hash: head };
        let statement = says_what_was_written(&links, self.statement());
        Ok(make(&CaseReport {
            case: &case,
            currency: &self.policy.currency,
            refill: shelf.refill(&case),
            consigned: shelf.consigned_used(&case),
            to_return: shelf.to_return(&case),
            program: concat!("boxcall ", env!("CARGO_PKG_VERSION")),
            head: &hex::encode(head),
            anchor,
            anchor_to_scan: &drawn(&anchor.to_string()),
            journal: &statement,
            code_to_scan: &drawn(case.code.as_str()),
            links: &links,
            written: clock::now(),
        }))
    }
}

/// The entries that the document is made of are before the mark, and a short check does not read them.
fn says_what_was_written(links: &[Link], statement: Statement) -> Statement {
    let altered = links.iter().find(|link| link.hash != hash(&link.previous, &link.body));
    match altered {
        Some(link) if statement.holds => {
            let message = "its body is not what was written".into();
            Statement::broken(statement.checked_from, link.seq, message)
        }
        _ => statement,
    }
}

/// A code to scan in characters: the page is dark ink on white paper. Empty where the text finds no symbol.
fn drawn(text: &str) -> String {
    plain_matrix(text.as_bytes()).map(|matrix| matrix.half_blocks(Ground::Light)).unwrap_or_default()
}

/// Writes who decides into a text file beside a table, which has no place for it: `FILE.txt` beside `FILE`.
///
/// # Errors
/// It can't be written, or a file of that name says something else: that one is left as it was.
pub fn write_deference_beside(table: &Path) -> Result<(), Fault> {
    let beside = beside(table, ".txt");
    // An earlier version may have gone on in other words.
    let first = LONG.split_inclusive(". ").next().unwrap_or(LONG);
    let is_ours = |there: &[u8]| there.starts_with(first.as_bytes());
    if std::fs::read(&beside).is_ok_and(|there| !is_ours(&there)) {
        let message = format!(
            "{}: this name is for the caution beside the table, and another file has it; nothing was written. Take \
             another name for the table, or move that file",
            beside.display()
        );
        return Err(Fault::refused("file-exists", message, None));
    }
    files::write_whole(&beside, &format!("{LONG}\n"))
}

fn write(report: &CaseReport, format: Format) -> String {
    match format {
        Format::Markdown => report::markdown(report),
        Format::Csv => report::csv(report),
        Format::Json => report::json(report),
        Format::Fhir => report::fhir(report),
    }
}
