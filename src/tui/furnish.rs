//! What the first steps ask of the room's folder, carried out: the paths that were typed, the files that are read.

use super::state::{Answer, Ask, Task};
use crate::catalogue::import::{Imported, ProductCode};
use crate::room::{Fault, Prepared, Room, release};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

/// Sends an answer later; false where nobody listens any more.
type Later = Arc<dyn Fn(Answer) -> bool + Send + Sync>;

/// Carries out what the first steps ask; holds what was looked at until it is written.
pub struct Furnisher {
    later: Later,
    /// What was shown is what is written.
    prepared: Option<Prepared>,
    /// A release that a thread has read, gigabytes of it, and its folder as it was typed.
    imported: Arc<Mutex<Option<(String, Imported)>>>,
}

impl Furnisher {
    /// `later` takes what could not be answered at once; [`Furnisher::ask`] is then asked again.
    pub fn new(later: impl Fn(Answer) -> bool + Send + Sync + 'static) -> Self {
        Furnisher { later: Arc::new(later), prepared: None, imported: Arc::default() }
    }

    /// The answer, unless it comes later.
    pub fn ask(&mut self, room: &mut Room, ask: Ask) -> Option<Answer> {
        let answer = match ask {
            Ask::Look(Task::Release(path)) => match self.take_imported(&path) {
                Some(imported) => self.looked(Task::Release(path), room.prepare_release(&imported)),
                None => {
                    self.read_release(path);
                    return None;
                }
            },
            Ask::Look(Task::Stock(path)) => room
                .look_at_stock(&typed(&path))
                .map(|(from, pieces, cautions)| Answer::Stock { from, pieces, cautions }),
            Ask::Look(task) => {
                let prepared = match &task {
                    Task::Guides => room.prepare_guides(),
                    Task::Policy => room.prepare_policy(),
                    Task::Products(path) | Task::Release(path) | Task::Stock(path) => {
                        room.prepare_products(&typed(path))
                    }
                };
                self.looked(task, prepared)
            }
            Ask::Lay => match self.prepared.take() {
                Some(prepared) => room.lay(&prepared).map(|()| Answer::Laid {
                    catalogue: room.catalogue.clone(),
                    policy: room.policy.clone(),
                    furniture: room.furniture(),
                }),
                None => return None,
            },
            Ask::ScannerSeen => room.mark_scanner().map(|()| Answer::Furniture(room.furniture())),
        };
        Some(answer.unwrap_or_else(|fault| Answer::Refused(fault.message().to_string())))
    }

    fn looked(&mut self, task: Task, prepared: Result<Prepared, Fault>) -> Result<Answer, Fault> {
        let prepared = prepared?;
        let (words, changes) = (prepared.words.clone(), prepared.changes());
        self.prepared = Some(prepared);
        Ok(Answer::Looked { task, words, changes })
    }

    fn take_imported(&self, path: &str) -> Option<Imported> {
        // A thread that panicked has put nothing there.
        let read = self.imported.lock().unwrap_or_else(PoisonError::into_inner).take();
        read.filter(|(folder, _)| folder == path).map(|(_, imported)| imported)
    }

    /// Reads a release beside the screens, and says how far it is.
    fn read_release(&self, path: String) {
        let (later, imported) = (self.later.clone(), self.imported.clone());
        thread::spawn(move || {
            let mut told = 0;
            let read = release::read(&typed(&path), ProductCode::all(), |done, total| {
                let percent = (done * 100).checked_div(total).unwrap_or(100);
                if percent > told {
                    told = percent;
                    // Nobody listens where the program ends; then nobody misses it.
                    let _ = later(Answer::Busy(format!("Reading the release: {percent} %")));
                }
            });
            let answer = match read {
                Ok(read) => {
                    *imported.lock().unwrap_or_else(PoisonError::into_inner) = Some((path.clone(), read));
                    Answer::ReleaseRead(path)
                }
                Err(fault) => Answer::Refused(fault.message().to_string()),
            };
            let _ = later(answer);
        });
    }
}

/// A path as people type it: `~` is their own folder.
fn typed(path: &str) -> PathBuf {
    match (path.strip_prefix("~/"), std::env::var_os("HOME")) {
        (Some(rest), Some(home)) => PathBuf::from(home).join(rest),
        _ => PathBuf::from(path),
    }
}
