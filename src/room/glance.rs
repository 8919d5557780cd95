//! What the screens of a room show just now, for a second monitor: on no record, and gone with its program.
//!
//! A label that was read and about which nothing is decided is not an entry, and NOT SAVED can't be one. So each program
//! with screens keeps one small file in the room's folder. It has a fixed size and is written over in place, so that a
//! disk that is full takes it all the same; it is not synced, for it is worth nothing after a power cut. It beats once
//! a second, and a file that does not beat is not believed: what a killed program left is never shown.

use crate::case::{LiveStatus, RoomStatus};
use crate::store::files::{PRIVATE, writing};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use uuid::Uuid;

/// The folder of these files in a room.
const FOLDER: &str = "glance";
/// Bytes of a file.
const BYTES: usize = 4096;
/// How often a file is written though nothing has changed.
const BEAT: Duration = Duration::from_secs(1);
/// A file that has not beaten for so long is silent.
const SILENT: Duration = Duration::from_secs(3);
/// A file that was left alone for so long belongs to nobody.
const LEFT: Duration = Duration::from_secs(60);

#[derive(Serialize, Deserialize)]
struct Body {
    beat: u64,
    glance: LiveStatus,
}

/// The file of one program, which goes when it ends.
#[derive(Debug)]
pub struct Beacon {
    file: File,
    path: PathBuf,
    beat: u64,
    last: Option<(LiveStatus, Instant)>,
}

impl Beacon {
    /// Makes the file, and clears away what killed programs have left. None where it can't be made: the screens work
    /// without a second monitor.
    pub fn light(room: &Path) -> Option<Beacon> {
        let folder = room.join(FOLDER);
        fs::create_dir_all(&folder).ok()?;
        clear(&folder);
        let path = folder.join(Uuid::new_v4().to_string());
        let file = writing(PRIVATE).create_new(true).open(&path).ok()?;
        let mut beacon = Beacon { file, path, beat: 0, last: None };
        beacon.write(&LiveStatus::default()).ok()?;
        Some(beacon)
    }

    /// Writes what is shown, when it has changed or a beat is due. A disk that refuses makes the file silent, which
    /// is what the second monitor then says.
    pub fn show(&mut self, glance: &LiveStatus, now: Instant) {
        let due =
            self.last.as_ref().is_none_or(|(last, at)| last != glance || now.duration_since(*at) >= BEAT);
        if due && self.write(glance).is_ok() {
            self.last = Some((glance.clone(), now));
        }
    }

    fn write(&mut self, glance: &LiveStatus) -> std::io::Result<()> {
        self.beat += 1;
        let bytes = bytes(self.beat, glance).or_else(|| {
            // A label too long for the file: that it is not shown is better than half of it.
            bytes(self.beat, &LiveStatus { read: None, ..glance.clone() })
        });
        let Some(bytes) = bytes else { return Err(std::io::ErrorKind::InvalidData.into()) };
        self.file.seek(SeekFrom::Start(0))?;
        self.file.write_all(&bytes)
    }
}

impl Drop for Beacon {
    fn drop(&mut self) {
        // Left behind it is silent, and cleared away by the next program.
        let _ = fs::remove_file(&self.path);
    }
}

fn clear(folder: &Path) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let age = entry.metadata().and_then(|file| file.modified()).ok().and_then(|at| at.elapsed().ok());
        if age.is_some_and(|age| age > LEFT) {
            // Another program may have been faster.
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// A digest first: a file that is read while it is written over is seen to be neither one.
fn bytes(beat: u64, glance: &LiveStatus) -> Option<Vec<u8>> {
    let json = serde_json::to_string(&Body { beat, glance: glance.clone() }).ok()?;
    let mut bytes = format!("{} {json}\n", digest(&json)).into_bytes();
    if bytes.len() > BYTES {
        return None;
    }
    bytes.resize(BYTES, b' ');
    Some(bytes)
}

fn digest(text: &str) -> String {
    hex::encode(Sha256::digest(text.as_bytes()))
}

fn parse(text: &str) -> Option<Body> {
    let (sum, json) = text.lines().next()?.split_once(' ')?;
    (sum == digest(json)).then(|| serde_json::from_str(json).ok())?
}

#[derive(Debug)]
struct Known {
    beat: u64,
    glance: LiveStatus,
    /// When it was seen to beat; none until it has done so.
    beaten: Option<Instant>,
    /// When its content was seen to change.
    changed: Instant,
}

/// Looks at the files of a room. It judges by its own patience, not by anybody's clock.
#[derive(Debug)]
pub struct Watch {
    folder: PathBuf,
    known: BTreeMap<PathBuf, Known>,
}

impl Watch {
    /// The room is its folder. Nothing is looked at yet.
    pub fn of(room: &Path) -> Watch {
        Watch { folder: room.join(FOLDER), known: BTreeMap::new() }
    }

    /// What is to be believed now.
    pub fn look(&mut self, now: Instant) -> RoomStatus {
        let mut there = Vec::new();
        for entry in fs::read_dir(&self.folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if let Some(body) = fs::read_to_string(&path).ok().and_then(|text| parse(&text)) {
                self.heard(&path, body, now);
            }
            there.push(path);
        }
        self.known.retain(|path, _| there.contains(path));
        let beats = |known: &&Known| {
            !crate::control::holds("beat-looked-at")
                || known.beaten.is_some_and(|at| now.duration_since(at) < SILENT)
        };
        let mut alive: Vec<&Known> = self.known.values().filter(beats).collect();
        alive.sort_by_key(|known| std::cmp::Reverse(known.changed));
        RoomStatus {
            call: alive.iter().find_map(|known| known.glance.call),
            read: alive.iter().find_map(|known| known.glance.read.clone()),
            unsaved: alive.iter().map(|known| known.glance.unsaved).sum(),
            silent: self.known.values().any(|known| known.beaten.is_some() && !beats(&known)),
        }
    }

    fn heard(&mut self, path: &Path, body: Body, now: Instant) {
        let Body { beat, glance } = body;
        match self.known.get_mut(path) {
            None => {
                self.known.insert(path.into(), Known { beat, glance, beaten: None, changed: now });
            }
            Some(known) if known.beat != beat => {
                known.beat = beat;
                known.beaten = Some(now);
                if known.glance != glance {
                    known.glance = glance;
                    known.changed = now;
                }
            }
            Some(_) => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::{Bearing, Signal, UndecidedReadBack};

    fn reading(big: &str) -> LiveStatus {
        let signal = Signal {
            big: big.into(),
            bearing: Bearing::Against,
            beside: None,
            differing: vec!["diameter: box 2.75, call 3.00".into()],
            next: "put it back".into(),
        };
        LiveStatus {
            call: Some(2),
            read: Some(UndecidedReadBack { signal, words: "2.75 × 29 Fell".into() }),
            unsaved: 1,
        }
    }

    fn big(heard: &RoomStatus) -> Option<&str> {
        heard.read.as_ref().map(|read| read.signal.big.as_str())
    }

    #[test]
    fn what_is_shown_is_heard_at_once_and_ends_with_its_program() {
        let room = tempfile::tempdir().unwrap();
        let start = Instant::now();
        let mut watch = Watch::of(room.path());
        assert_eq!(watch.look(start), RoomStatus::default(), "no program, no folder");
        let mut beacon = Beacon::light(room.path()).unwrap();
        assert_eq!(watch.look(start), RoomStatus::default());
        beacon.show(&reading("DIFFERENT"), start);
        let heard = watch.look(start);
        assert_eq!((big(&heard), heard.call, heard.unsaved), (Some("DIFFERENT"), Some(2), 1));
        drop(beacon);
        assert_eq!(watch.look(start), RoomStatus::default(), "it has left");
    }

    #[test]
    fn what_a_killed_program_left_is_never_shown() {
        let room = tempfile::tempdir().unwrap();
        let start = Instant::now();
        let mut beacon = Beacon::light(room.path()).unwrap();
        beacon.show(&reading("SAME AS CALL 1"), start);
        // Begun after it was killed: its file is there and never beats.
        let mut late = Watch::of(room.path());
        assert_eq!(late.look(start), RoomStatus::default());
        assert_eq!(late.look(start + BEAT), RoomStatus::default());
        // It did beat while this one looked on, and then no more.
        beacon.show(&reading("SAME AS CALL 1"), start + BEAT);
        assert_eq!(big(&late.look(start + BEAT)), Some("SAME AS CALL 1"));
        let heard = late.look(start + BEAT + SILENT);
        assert!(heard.silent && heard.read.is_none(), "{heard:?}");
    }

    #[test]
    fn half_a_write_and_a_foreign_file_are_not_believed() {
        let room = tempfile::tempdir().unwrap();
        let start = Instant::now();
        let mut watch = Watch::of(room.path());
        let mut beacon = Beacon::light(room.path()).unwrap();
        watch.look(start);
        beacon.show(&reading("SAME AS CALL 1"), start);
        watch.look(start);
        let old = fs::read(&beacon.path).unwrap();
        beacon.show(&reading("DIFFERENT"), start);
        let new = fs::read(&beacon.path).unwrap();
        assert_eq!((old.len(), new.len()), (BYTES, BYTES), "it never grows");
        for cut in [1, 40, 70, 100, 200] {
            fs::write(&beacon.path, [&new[..cut], &old[cut..]].concat()).unwrap();
            let heard = watch.look(start);
            assert!(matches!(big(&heard), Some("SAME AS CALL 1" | "DIFFERENT")), "{heard:?}");
        }
        fs::write(room.path().join(FOLDER).join("other"), "not ours").unwrap();
        fs::write(&beacon.path, new).unwrap();
        assert_eq!(big(&watch.look(start)), Some("DIFFERENT"));
    }

    #[test]
    fn of_two_programs_the_one_that_read_last_is_shown() {
        let room = tempfile::tempdir().unwrap();
        let start = Instant::now();
        let mut watch = Watch::of(room.path());
        let mut one = Beacon::light(room.path()).unwrap();
        let mut two = Beacon::light(room.path()).unwrap();
        watch.look(start);
        one.show(&reading("FIRST"), start);
        two.show(&reading("SECOND"), start);
        watch.look(start);
        one.show(&reading("THIRD"), start + BEAT);
        two.show(&reading("SECOND"), start + BEAT);
        let heard = watch.look(start + BEAT);
        assert_eq!((big(&heard), heard.unsaved), (Some("THIRD"), 2), "a beat alone is no news");
    }

    #[test]
    fn a_label_too_long_for_the_file_is_left_out_whole() {
        let room = tempfile::tempdir().unwrap();
        let start = Instant::now();
        let mut watch = Watch::of(room.path());
        let mut beacon = Beacon::light(room.path()).unwrap();
        watch.look(start);
        beacon.show(&reading(&"A".repeat(BYTES)), start);
        let heard = watch.look(start);
        assert_eq!((heard.read.is_none(), heard.unsaved), (true, 1));
    }
}
