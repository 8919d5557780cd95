//! Files on the disk: written whole or not at all, and what tells one from any other.

use std::ffi::OsString;
use std::fs::{File, OpenOptions};
use std::io::{Result, Write};
use std::path::{Path, PathBuf};

/// Journal, log and index of the log.
pub(super) const SUFFIXES: [&str; 3] = ["", "-wal", "-shm"];

/// Device and number of a file on it; none where no file is there. Elsewhere than on Unix only whether there is one.
pub type Identity = Option<(u64, u64)>;

/// What tells the three files of an open journal from any other. Without any, nothing is compared.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Files(pub(super) Option<[Identity; 3]>);

impl Files {
    /// Those that are there now.
    pub(super) fn at(path: &Path) -> Self {
        let found = SUFFIXES.map(|suffix| identity(&beside(path, suffix)));
        // An open file can't be deleted elsewhere than on Unix.
        Files((cfg!(unix) && found[0].is_some()).then_some(found))
    }
}

/// The file that is at this path.
pub fn identity(path: &Path) -> Identity {
    let file = std::fs::metadata(path).ok()?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        Some((file.dev(), file.ino()))
    }
    #[cfg(not(unix))]
    {
        Some((0, u64::from(file.is_file())))
    }
}

/// A file beside another, named after it.
pub fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = OsString::from(path);
    name.push(suffix);
    name.into()
}

/// For whoever the system lets read new files, and for the owner's eyes only (Unix).
pub const SHARED: u32 = 0o666;
/// See [`SHARED`].
pub const PRIVATE: u32 = 0o600;

/// Options to write a new file with this mode.
pub fn writing(mode: u32) -> OpenOptions {
    let mut options = File::options();
    options.write(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, mode);
    options
}

/// Writes a file whole or not at all: beside its place, brought to the disk, then given its name.
///
/// # Errors
/// It can't be written; what was there before is still there.
pub fn write_whole(path: &Path, text: &str, mode: u32) -> Result<()> {
    let part = write_part(path, text, mode)?;
    std::fs::rename(&part, path).and_then(|()| sync_folder(path)).inspect_err(|_| {
        // What was not given its name is of no use; the error to tell is the first one.
        let _ = std::fs::remove_file(&part);
    })
}

/// The first half of [`write_whole`]: the text is on the disk, under the name that is returned.
///
/// # Errors
/// It can't be written; nothing of it is left.
pub fn write_part(path: &Path, text: &str, mode: u32) -> Result<PathBuf> {
    let part = if crate::control::holds("written-beside-and-renamed") {
        beside(path, &format!(".{}.part", std::process::id()))
    } else {
        path.to_path_buf()
    };
    let written = writing(mode).create(true).truncate(true).open(&part).and_then(|mut file| {
        file.write_all(text.as_bytes())?;
        file.sync_all()
    });
    written.map(|()| part.clone()).inspect_err(|_| _ = std::fs::remove_file(&part))
}

/// The name of a new file is on the disk only when its folder is.
///
/// # Errors
/// The folder can't be opened or synced.
pub fn sync_folder(path: &Path) -> Result<()> {
    #[cfg(unix)]
    if let Some(folder) = path.parent() {
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}
