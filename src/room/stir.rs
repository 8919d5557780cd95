//! Tells when something in a room's folder may have changed, so that a screen that is left alone need not ask.

use super::files;
use notify::event::EventKind;
use notify::{RecommendedWatcher, RecursiveMode, Watcher};
use std::path::Path;

/// What has stirred.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stir {
    /// The journal's files. What is written there can be read a moment later, when it is synced.
    Journal,
    /// Anything else.
    Other,
}

/// Listens as long as it is there.
#[derive(Debug)]
pub struct Stirrings {
    _watcher: RecommendedWatcher,
}

impl Stirrings {
    /// Of a room's folder, and with `below` of the folders in it. None where the system doesn't tell: then one has to
    /// ask.
    pub fn of(room: &Path, below: bool, tell: impl Fn(Stir) + Send + 'static) -> Option<Self> {
        // Elsewhere it would listen by opening each file, and closing the journal's drops all of SQLite's locks.
        if !cfg!(any(target_os = "linux", target_os = "macos", target_os = "windows")) {
            return None;
        }
        let heard = move |event: notify::Result<notify::Event>| {
            // An error means that something may have been missed.
            let stir = event.map_or(Some(Stir::Journal), |event| stir(&event));
            if let Some(stir) = stir {
                tell(stir);
            }
        };
        let mut watcher = notify::recommended_watcher(heard).ok()?;
        let how = if below { RecursiveMode::Recursive } else { RecursiveMode::NonRecursive };
        watcher.watch(room, how).ok()?;
        Some(Stirrings { _watcher: watcher })
    }
}

/// Reading changes nothing.
fn stir(event: &notify::Event) -> Option<Stir> {
    if let EventKind::Access(_) = event.kind {
        return None;
    }
    let of_journal = |path: &std::path::PathBuf| {
        path.file_name().and_then(|name| name.to_str()).is_some_and(|name| name.starts_with(files::JOURNAL))
    };
    // Without a path the event is about the listening itself.
    let journal = event.paths.is_empty() || event.paths.iter().any(of_journal);
    Some(if journal { Stir::Journal } else { Stir::Other })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::journal::{CaseCode, Fact};
    use crate::room::{Beacon, Room};
    use notify::event::{AccessKind, AccessMode, CreateKind, ModifyKind};
    use std::sync::mpsc::{self, Receiver};
    use std::time::Duration;

    /// How long an event may take before the test is given up.
    const PATIENCE: Duration = Duration::from_secs(20);

    fn wait_for(receiver: &Receiver<Stir>, wanted: Stir) {
        while receiver.recv_timeout(PATIENCE).expect("it stirs") != wanted {}
    }

    #[test]
    fn an_entry_stirs() {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().join("room");
        let mut room = Room::lay_demo(&place).unwrap();
        let (sender, receiver) = mpsc::channel();
        let stirrings = Stirrings::of(&place, false, move |stir| _ = sender.send(stir));
        let _stirrings = stirrings.expect("this system tells");
        room.write(Some(&CaseCode::from_random([1, 2, 3, 4, 5])), &[Fact::CaseBegun]).unwrap();
        wait_for(&receiver, Stir::Journal);
    }

    #[test]
    fn reading_stirs_nothing() {
        let at = |kind| notify::Event::new(kind).add_path(format!("/room/{}-wal", files::JOURNAL).into());
        assert_eq!(stir(&at(EventKind::Access(AccessKind::Open(AccessMode::Read)))), None);
        assert_eq!(stir(&at(EventKind::Modify(ModifyKind::Any))), Some(Stir::Journal));
        let mark =
            notify::Event::new(EventKind::Create(CreateKind::File)).add_path("/room/journal.mark".into());
        assert_eq!(stir(&mark), Some(Stir::Other));
    }

    #[test]
    fn what_screens_show_stirs_in_a_folder_that_was_made_later() {
        let room = tempfile::tempdir().unwrap();
        let (sender, receiver) = mpsc::channel();
        let stirrings = Stirrings::of(room.path(), true, move |stir| _ = sender.send(stir));
        let _stirrings = stirrings.expect("this system tells");
        let _beacon = Beacon::light(room.path()).expect("a place for it");
        wait_for(&receiver, Stir::Other);
    }
}
