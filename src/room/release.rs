//! A release of the public device database, streamed from its folder: gigabytes are read, only what is wanted is kept.

#![allow(clippy::cast_possible_truncation, reason = "bytes and lines of a file on a machine of 64 bits")]

use super::{Fault, files};
use crate::catalogue::import::{Import, Imported, Part, ProductCode};
use crate::intake;
use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

/// Read at once; a line may be longer, up to [`LONGEST_LINE`].
const CHUNK: usize = 1 << 20;
/// A longer line is not a line of a release: it would be a file without line ends.
const LONGEST_LINE: u64 = 16 << 20;
/// What became of every row that is not simply read.
const REPORT: &str = "import-report.csv";

/// Reads what carries these codes and is still sold; as [`read_into`].
///
/// # Errors
/// As [`read_into`].
pub fn read(dir: &Path, codes: Vec<ProductCode>, progress: impl FnMut(u64, u64)) -> Result<Imported, Fault> {
    read_into(Import::new(codes), dir, progress)
}

/// Reads the four files of a release. `progress` is called with bytes read and bytes in all, now and then.
///
/// # Errors
/// A file is missing or can't be read, its header lacks a column, or it has no line ends.
pub fn read_into(
    mut import: Import,
    dir: &Path,
    mut progress: impl FnMut(u64, u64),
) -> Result<Imported, Fault> {
    let mut files = Vec::new();
    let mut total = 0;
    for part in Part::ALL {
        let path = find(dir, part.name())?;
        let file = File::open(&path).map_err(|error| Fault::cannot_read(&path, &error))?;
        total += file.metadata().map_err(|error| Fault::cannot_read(&path, &error))?.len();
        files.push((*part, path, file));
    }
    let mut done = 0;
    for (part, path, file) in files {
        lines(
            file,
            &path,
            |line, number| {
                if number > 1 {
                    import.row(line, number);
                    return Ok(());
                }
                import.header(part, line).map_err(|message| fault(&path, 1, message))
            },
            |bytes| {
                done += bytes;
                progress(done, total);
            },
        )?;
    }
    Ok(import.settle())
}

/// The file of this name in the folder, whatever the case of its letters.
fn find(dir: &Path, name: &str) -> Result<PathBuf, Fault> {
    let failed = |error: std::io::Error| Fault::cannot_read(dir, &error);
    for entry in std::fs::read_dir(dir).map_err(failed)? {
        let entry = entry.map_err(failed)?;
        if entry.file_name().to_string_lossy().eq_ignore_ascii_case(name) {
            return Ok(entry.path());
        }
    }
    let message = format!("{}: there is no {name} in this folder; unpack the release there", dir.display());
    Err(Fault::could_not("cannot-read", message))
}

fn fault(path: &Path, line: usize, message: String) -> Fault {
    Fault::of_files(&[intake::FileFault {
        file: path.display().to_string(),
        line,
        key: String::new(),
        message,
    }])
}

/// Hands over every line without its end, numbered from 1; an empty file has one. `read` is told of bytes now and then.
///
/// # Errors
/// The file can't be read, a line never ends, or `each` says no.
fn lines(
    file: impl Read,
    path: &Path,
    mut each: impl FnMut(&[u8], u64) -> Result<(), Fault>,
    mut read: impl FnMut(u64),
) -> Result<(), Fault> {
    let mut file = BufReader::with_capacity(CHUNK, file);
    let (mut line, mut number, mut bytes) = (Vec::new(), 0, 0);
    loop {
        line.clear();
        let count = (&mut file).take(LONGEST_LINE).read_until(b'\n', &mut line);
        let count = count.map_err(|error| Fault::cannot_read(path, &error))?;
        bytes += count as u64;
        if bytes >= CHUNK as u64 || count == 0 {
            read(std::mem::take(&mut bytes));
        }
        if count == 0 && number > 0 {
            return Ok(());
        }
        number += 1;
        if line.last() == Some(&b'\n') {
            line.pop();
        } else if count as u64 == LONGEST_LINE {
            return Err(fault(path, number as usize, "this line never ends; is this a text file?".into()));
        }
        each(&line, number)?;
    }
}

/// Writes the product files and the report into a folder that is new or empty: all of them, or none.
///
/// # Errors
/// The folder is not empty, or can't be written.
pub fn write(dir: &Path, imported: &Imported) -> Result<(), Fault> {
    super::folder::clear_ground(dir)?;
    let products = imported.files.iter().map(|file| (dir.join(&file.name), file.text.clone()));
    let all: Vec<_> = products.chain([(dir.join(REPORT), imported.report.csv())]).collect();
    files::replace(&all)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A reader that hands out few bytes at a time.
    struct Slowly<'a>(&'a [u8]);

    impl Read for Slowly<'_> {
        fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
            let count = self.0.len().min(into.len()).min(3);
            into[..count].copy_from_slice(&self.0[..count]);
            self.0 = &self.0[count..];
            Ok(count)
        }
    }

    #[test]
    fn lines_come_whole_however_the_bytes_arrive() {
        let mut seen = Vec::new();
        let each = |line: &[u8], number| {
            seen.push((number, String::from_utf8_lossy(line).into_owned()));
            Ok(())
        };
        lines(Slowly(b"ab\n\ncdefgh\r\nlast"), Path::new("x"), each, |_| {}).unwrap();
        let expected = [(1, "ab"), (2, ""), (3, "cdefgh\r"), (4, "last")];
        assert_eq!(seen, expected.map(|(n, text)| (n, text.to_string())));
    }
}
