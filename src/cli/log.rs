//! The diagnostic log: what a hospital's support needs, and nothing of a patient, a label or a device.
//!
//! Store, room and event loop report codes, counts, timings and errors by the `tracing` macros; this file is the only
//! place that writes them anywhere. A thread of its own writes, so that a slow or full disk holds nothing up.

use crate::room::{Fault, files, now};
use std::fs::File;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::{self, JoinHandle};
use tracing_subscriber::fmt::format::Writer;
use tracing_subscriber::fmt::time::FormatTime;

/// The log of a room, in its folder.
pub(super) const FILE: &str = "boxcall.log";

/// Bytes after which a log is put aside and begun again; the one put aside before it is dropped. No source: a working
/// week of one room takes about 100 kB.
const LARGEST: u64 = 256 * 1024;

/// Lines that may wait for the disk; further ones are dropped.
const WAITING: usize = 1024;

/// A log that is being written; it ends, and its last lines are written, when this is dropped.
#[derive(Debug)]
pub(super) struct Log {
    /// None: told to end.
    sender: Option<SyncSender<Vec<u8>>>,
    thread: Option<JoinHandle<()>>,
}

/// Starts the log in the file that was asked for, or in a room's folder.
///
/// # Errors
/// The file that was asked for can't be written. A room's own is left out then.
pub(super) fn start(asked: Option<&Path>, room: Option<&Path>) -> Result<Option<Log>, Fault> {
    let path = match (asked, room) {
        (Some(path), _) => path.to_path_buf(),
        (None, Some(room)) => room.join(FILE),
        (None, None) => return Ok(None),
    };
    match (Rotating::open(path.clone()), asked) {
        (Ok(file), _) => Ok(Some(Log::of(file))),
        (Err(error), Some(_)) => Err(Fault::cannot_write(&path, &error)),
        (Err(_), None) => Ok(None),
    }
}

impl Log {
    fn of(file: Rotating) -> Log {
        let (sender, receiver) = sync_channel(WAITING);
        let thread = thread::spawn(move || write_all(file, &receiver));
        let lines = Lines(sender.clone());
        // A second log in one process can't be: the first one goes on.
        let _ = tracing_subscriber::fmt()
            .with_writer(move || lines.clone())
            .with_timer(Clock)
            .with_ansi(false)
            .try_init();
        Log { sender: Some(sender), thread: Some(thread) }
    }
}

impl Drop for Log {
    fn drop(&mut self) {
        // The subscriber keeps a sender for as long as the process lives: an empty line says that it is the end.
        if let Some(sender) = self.sender.take()
            && sender.try_send(Vec::new()).is_ok()
            && let Some(thread) = self.thread.take()
        {
            let _ = thread.join();
        }
    }
}

fn write_all(mut file: Rotating, receiver: &Receiver<Vec<u8>>) {
    for line in receiver.iter().take_while(|line| !line.is_empty()) {
        // A full disk takes no log: what matters is said on the screen, and the journal has its own ways.
        let _ = file.write(&line);
    }
}

/// Hands each line to the thread that writes.
#[derive(Clone)]
struct Lines(SyncSender<Vec<u8>>);

impl Write for Lines {
    fn write(&mut self, line: &[u8]) -> io::Result<usize> {
        let _ = self.0.try_send(line.to_vec());
        Ok(line.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// The time of this machine with its offset, in milliseconds.
struct Clock;

impl FormatTime for Clock {
    fn format_time(&self, writer: &mut Writer<'_>) -> std::fmt::Result {
        write!(writer, "{}", now().format("%FT%T%.3f%:z"))
    }
}

/// A file that is put aside when it has become large.
#[derive(Debug)]
struct Rotating {
    path: PathBuf,
    file: File,
    bytes: u64,
}

impl Rotating {
    fn open(path: PathBuf) -> io::Result<Rotating> {
        let mut options = File::options();
        options.append(true).create(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, files::PRIVATE);
        let file = options.open(&path)?;
        let bytes = file.metadata()?.len();
        Ok(Rotating { path, file, bytes })
    }

    fn write(&mut self, line: &[u8]) -> io::Result<()> {
        if self.bytes > 0 && self.bytes + line.len() as u64 > LARGEST {
            std::fs::rename(&self.path, files::beside(&self.path, ".1"))?;
            *self = Rotating::open(std::mem::take(&mut self.path))?;
        }
        self.file.write_all(line)?;
        self.bytes += line.len() as u64;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_log_never_takes_more_than_twice_its_largest_size() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join(FILE);
        let mut log = Rotating::open(path.clone()).unwrap();
        let line = [b'x'; 1000];
        for _ in 0..LARGEST / 1000 * 5 {
            log.write(&line).unwrap();
        }
        let sizes: Vec<u64> = std::fs::read_dir(dir.path())
            .unwrap()
            .map(|file| file.unwrap().metadata().unwrap().len())
            .collect();
        assert_eq!(sizes.len(), 2);
        assert!(sizes.iter().all(|size| *size <= LARGEST) && sizes.iter().sum::<u64>() > LARGEST);
    }

    #[test]
    fn a_folder_that_can_not_be_written_has_no_log_and_a_file_that_was_asked_for_is_an_error() {
        let nowhere = Path::new("/nonexistent-folder-of-a-test");
        assert!(start(None, Some(nowhere)).unwrap().is_none());
        assert_eq!(start(Some(&nowhere.join("x.log")), None).unwrap_err().code(), "cannot-write");
    }
}
