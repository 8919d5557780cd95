//! The record of a case, written beside the journal: whole or not at all.

use super::{Fault, Room, clock, files};
use crate::case::Case;
use crate::journal::{CaseCode, Entry};
use crate::ledger;
use crate::report::{self, CaseReport};
use crate::shelf::Shelf;
use std::fs::File;
use std::io::Write;
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
        find_case(&self.journal()?, code)
    }

    /// One case, handed over in one form.
    ///
    /// # Errors
    /// The journal can't be read, or there is no such case.
    pub fn export(&self, code: Option<&CaseCode>, format: Format) -> Result<String, Fault> {
        self.with_report(code, |report| write(report, format))
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
            write_whole(&place(*format), text)?;
        }
        Ok(place(Format::Markdown))
    }

    fn with_report<T>(
        &self,
        code: Option<&CaseCode>,
        make: impl FnOnce(&CaseReport) -> T,
    ) -> Result<T, Fault> {
        let entries = self.journal()?;
        let case = find_case(&entries, code)?;
        let shelf = Shelf::fold_with(&self.catalogue, &entries);
        let head = self.store.as_ref().map_or(Ok((0, [0; 32])), |store| store.head())?.1;
        Ok(make(&CaseReport {
            case: &case,
            currency: &self.policy.currency,
            refill: shelf.refill(&case),
            consigned: shelf.consigned_used(&case),
            to_return: shelf.to_return(&case),
            program: concat!("boxcall ", env!("CARGO_PKG_VERSION")),
            head: &hex(&head),
            written: clock::now(),
        }))
    }
}

/// Two lower-case digits a byte.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn find_case(entries: &[Entry], code: Option<&CaseCode>) -> Result<Case, Fault> {
    let cases = ledger::cases(entries);
    match code {
        None => {
            cases.into_iter().next_back().ok_or_else(|| Fault::not_found("no case was begun in this room"))
        }
        Some(code) => cases
            .into_iter()
            .find(|case| case.code == *code)
            .ok_or_else(|| Fault::not_found(format!("case {code}: not in this room; see boxcall case list"))),
    }
}

fn write(report: &CaseReport, format: Format) -> String {
    match format {
        Format::Markdown => report::markdown(report),
        Format::Csv => report::csv(report),
        Format::Json => report::json(report),
        Format::Fhir => report::fhir(report),
    }
}

/// Written beside its place, brought to the disk, then given its name.
fn write_whole(path: &Path, text: &str) -> Result<(), Fault> {
    let mut beside = path.as_os_str().to_os_string();
    beside.push(format!(".{}.part", std::process::id()));
    let beside = PathBuf::from(beside);
    let written = File::create(&beside)
        .and_then(|mut file| file.write_all(text.as_bytes()).and_then(|()| file.sync_all()))
        .and_then(|()| std::fs::rename(&beside, path));
    written.map_err(|error| {
        // What is half written is of no use; the error to tell is the first one.
        let _ = std::fs::remove_file(&beside);
        Fault::cannot_write(path, &error)
    })
}
