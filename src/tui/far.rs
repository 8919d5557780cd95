//! The second monitor, as the loop serves it: it opens the room for looking, follows it, and comes back when the room
//! does.

use super::follow;
use super::pace::Pace;
use super::room_screens::settings_of;
use super::shell::{self, Screens};
use super::state::{Far, FarMessage, Message, World};
use super::terminal::{Arrived, has_terminal};
use super::view::{self, Background, Hits, Look};
use crate::room::{Fault, Room, Stirrings, Watch};
use crate::units::shown_with;
use ratatui::prelude::*;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, Sender};
use std::time::{Duration, Instant, SystemTime};

/// How long to wait before a room that can't be read is tried again.
const AGAIN: Duration = Duration::from_millis(500);

/// Follows a room until somebody leaves; `background` outranks the room's settings. Nothing in it can be written from here.
///
/// # Errors
/// There is no room or it can't be read at the start, or there is no terminal, or it fails.
pub fn watch(dir: &Path, background: Option<Background>) -> Result<(), Fault> {
    let (world, followed) = Followed::open(dir)?;
    has_terminal()?;
    let settings = settings_of(&followed.room)?;
    let (sender, receiver) = mpsc::channel();
    let mut follow = Follow {
        far: Far { keys: settings.keys, ..Far::new(world) },
        look: Look::of(|name| std::env::var(name).ok(), background.or(settings.background)),
        dir: dir.into(),
        room: Some(followed),
        again: Instant::now(),
        screens: Watch::of(dir),
        sender: sender.clone(),
    };
    let mut pace = Pace::new(follow.listen());
    // Nothing is written from here: whatever is said is read.
    let mark = settings.decimal.unwrap_or_default();
    shell::end(shown_with(mark, || shell::serve(&mut follow, false, &mut pace, (sender, &receiver))))
}

/// A room that is there.
struct Followed {
    room: Room,
    /// Says so where its journal does not hold.
    check: Receiver<String>,
    /// When its product files last changed.
    furnished: Option<SystemTime>,
}

/// A room that is followed, or looked for.
struct Follow {
    far: Far,
    look: Look,
    dir: PathBuf,
    /// None while it can't be read.
    room: Option<Followed>,
    /// When it is looked for again.
    again: Instant,
    screens: Watch,
    sender: Sender<Arrived>,
}

impl Screens for Follow {
    fn on(&mut self, message: Message) {
        match message {
            Message::Key(key) => self.far.on(FarMessage::Key(key)),
            Message::Scan { .. } => self.far.on(FarMessage::Scan),
            Message::Tick(now) => self.far.on(FarMessage::Tick(now)),
            // There is no mouse here, and nothing is asked for.
            _ => {}
        }
    }

    fn look(&mut self, pace: &mut Pace) -> bool {
        let now = crate::room::now();
        let mut changed = now.timestamp() != self.far.world.now.timestamp();
        self.far.on(FarMessage::Tick(now));
        let news = self.news().and_then(|message| {
            let opened = matches!(message, Some(FarMessage::Followed(_)));
            changed |= message.is_some();
            message.into_iter().for_each(|message| self.far.on(message));
            self.satisfy()?;
            Ok(opened)
        });
        match news {
            // The folder may be another one than before.
            Ok(true) => pace.listen(self.listen()),
            Ok(false) => {}
            Err(fault) => {
                // It is looked for again and again.
                self.room = None;
                pace.listen(None);
                changed = true;
                self.far.on(FarMessage::Lost { why: fault.message().to_string() });
            }
        }
        if let Some(why) = self.room.as_ref().and_then(|followed| followed.check.try_recv().ok()) {
            changed = true;
            self.far.on(FarMessage::Broken(why));
        }
        let heard = self.screens.look(Instant::now());
        if heard != self.far.heard {
            changed = true;
            self.far.on(FarMessage::RoomStatus(Box::new(heard)));
        }
        pace.looked(Instant::now(), self.far.world.now, !self.far.clocks().is_empty());
        changed
    }

    fn draw(&self, area: Rect, buffer: &mut Buffer) -> Hits {
        view::far(&self.far, self.look, area, buffer);
        Hits::default()
    }

    fn has_left(&self) -> bool {
        self.far.left
    }
}

impl Follow {
    /// What there is to follow; an error is why there is nothing.
    fn news(&mut self) -> Result<Option<FarMessage>, Fault> {
        if !self.room.as_ref().is_some_and(|followed| followed.room.is_current()) {
            // Its journal was made, or moved away, or is another one: it is opened anew.
            if self.room.take().is_none() && Instant::now() < self.again {
                return Ok(None);
            }
            self.again = Instant::now() + AGAIN;
            let (world, followed) = Followed::open(&self.dir)?;
            self.room = Some(followed);
            return Ok(Some(FarMessage::Followed(Box::new(world))));
        }
        let Some(followed) = &mut self.room else { return Ok(None) };
        let furnished = followed.room.furnished();
        if furnished != followed.furnished {
            // With a fault in a new file the room is followed on with the files that it had.
            followed.furnished = furnished;
            if let Ok((world, anew)) = Followed::open(&self.dir) {
                *followed = anew;
                return Ok(Some(FarMessage::Followed(Box::new(world))));
            }
        }
        let entries = followed.room.news(self.far.world.last_seq())?;
        Ok((!entries.is_empty()).then_some(FarMessage::News(entries)))
    }

    /// Reads what the far view lacks.
    fn satisfy(&mut self) -> Result<(), Fault> {
        let wanted = std::mem::take(&mut self.far.wanted);
        match &self.room {
            Some(followed) => follow::satisfy(&followed.room, &mut self.far.world, wanted),
            None => Ok(()),
        }
    }

    /// The folders below count as well: what the screens show is in one of them.
    fn listen(&self) -> Option<Stirrings> {
        Stirrings::of(&self.dir, true, Arrived::stirred(self.sender.clone()))
    }
}

impl Followed {
    fn open(dir: &Path) -> Result<(World, Followed), Fault> {
        let room = Room::look(dir)?;
        let world = follow::open_whole(&room)?;
        let (check, furnished) = (follow::check_behind(&room, world.now), room.furnished());
        Ok((world, Followed { room, check, furnished }))
    }
}
