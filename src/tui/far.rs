//! The second monitor's loop: it opens the room for looking, follows it, and comes back when the room does.

use super::follow;
use super::input::Mapper;
use super::pace::Pace;
use super::shell::{
    Arrived, close_on_panic, close_terminal, has_terminal, open_terminal, read_input, read_signals,
    settings_of, stirred,
};
use super::state::{Far, FarMessage, World};
use super::view::{self, Background, Look};
use crate::room::{Fault, Room, Stirrings, Watch};
use crate::units::shown_with;
use crossterm::event::Event;
use crossterm::execute;
use crossterm::terminal::{BeginSynchronizedUpdate, EndSynchronizedUpdate};
use ratatui::DefaultTerminal;
use signal_hook::consts::{SIGHUP, SIGTSTP};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::time::{Duration, Instant, SystemTime};

/// How long to wait before a room that can't be read is tried again.
const AGAIN: Duration = Duration::from_millis(500);

/// Follows a room until somebody leaves; `background` outranks the room's settings. Nothing in it can be written from here.
///
/// # Errors
/// There is no room or it can't be read at the start, or there is no terminal, or it fails.
pub fn watch(dir: &Path, background: Option<Background>) -> Result<(), Fault> {
    let room = Room::look(dir)?;
    has_terminal()?;
    let settings = settings_of(&room)?;
    let look = Look::of(|name| std::env::var(name).ok(), background.or(settings.background));
    let mut far = Far { keys: settings.keys, ..Far::new(follow::open_whole(&room)?) };
    let (sender, receiver) = mpsc::channel();
    let mut terminal = open_terminal(false).map_err(|error| Fault::terminal(error.to_string()))?;
    close_on_panic();
    read_input(sender.clone());
    let stirs = sender.clone();
    read_signals(sender).map_err(|error| Fault::terminal(error.to_string()))?;
    let follow = Follow {
        pace: Pace::new(listen(dir, &stirs)),
        stirs,
        dir: dir.into(),
        furnished: room.furnished(),
        check: follow::check_behind(&room, far.world.now),
        room: Some(room),
        again: Instant::now(),
        screens: Watch::of(dir),
    };
    // Nothing is written from here: whatever is said is read.
    let mark = settings.decimal.unwrap_or_default();
    let outcome = shown_with(mark, || serve(&mut far, follow, look, &mut terminal, &receiver));
    close_terminal();
    match outcome {
        Err(error) => Err(Fault::terminal(error.to_string())),
        // The way in which a program says that a signal ended it.
        Ok(Some(signal)) => std::process::exit(128 + signal),
        Ok(None) => Ok(()),
    }
}

/// The signal that ended it; none when somebody left.
fn serve(
    far: &mut Far,
    mut follow: Follow,
    look: Look,
    terminal: &mut DefaultTerminal,
    receiver: &Receiver<Arrived>,
) -> io::Result<Option<i32>> {
    let mut mapper = Mapper::default();
    draw(far, look, terminal)?;
    loop {
        let mut changed = false;
        match receiver.recv_timeout(follow.pace.next().saturating_duration_since(Instant::now())) {
            Ok(Arrived::Input(_, Event::Key(event))) => {
                if let Some((_, key)) = mapper.map(event) {
                    far.on(FarMessage::Key(key));
                    changed = true;
                }
            }
            Ok(Arrived::Input(_, event)) => changed = matches!(event, Event::Resize(..)),
            Ok(Arrived::Stirred(stir)) => follow.pace.stirred(stir, Instant::now()),
            Ok(Arrived::Signal(SIGTSTP)) => {
                close_terminal();
                signal_hook::low_level::raise(signal_hook::consts::SIGSTOP)?;
                *terminal = open_terminal(false)?;
                changed = true;
            }
            Ok(Arrived::Signal(signal)) => return Ok(Some(signal)),
            Ok(Arrived::End) | Err(RecvTimeoutError::Disconnected) => return Ok(Some(SIGHUP)),
            // Nothing is read behind this screen.
            Ok(Arrived::Message(_)) | Err(RecvTimeoutError::Timeout) => {}
        }
        if follow.pace.is_due(Instant::now()) {
            changed |= follow.tick(far);
            follow.pace.looked(Instant::now(), far.world.now, !far.clocks().is_empty());
        }
        if far.left {
            return Ok(None);
        }
        if changed {
            draw(far, look, terminal)?;
        }
    }
}

fn draw(far: &Far, look: Look, terminal: &mut DefaultTerminal) -> io::Result<()> {
    execute!(io::stdout(), BeginSynchronizedUpdate)?;
    terminal.draw(|frame| {
        let area = frame.area();
        view::far(far, look, area, frame.buffer_mut());
    })?;
    execute!(io::stdout(), EndSynchronizedUpdate)
}

/// The folders below count as well: what the screens show lies in one of them.
fn listen(dir: &Path, stirs: &Sender<Arrived>) -> Option<Stirrings> {
    Stirrings::of(dir, true, stirred(stirs.clone()))
}

/// A room that is followed, or looked for.
struct Follow {
    dir: PathBuf,
    room: Option<Room>,
    /// Says so where the journal of this room does not hold: with another room it is another one.
    check: Receiver<String>,
    /// When its product files last changed.
    furnished: Option<SystemTime>,
    /// When it is looked for again.
    again: Instant,
    screens: Watch,
    pace: Pace,
    stirs: Sender<Arrived>,
}

impl Follow {
    /// The clock, what was written, what the screens show; whether something is to be drawn.
    fn tick(&mut self, far: &mut Far) -> bool {
        let now = crate::room::now();
        let second_passed = now.timestamp() != far.world.now.timestamp();
        far.on(FarMessage::Tick(now));
        let mut changed = second_passed;
        if let Some(message) = self.news(far.world.last_seq()) {
            changed = true;
            far.on(message);
        }
        if let Ok(why) = self.check.try_recv() {
            changed = true;
            far.on(FarMessage::Broken(why));
        }
        let wanted = std::mem::take(&mut far.wanted);
        if let (Some(room), false) = (&self.room, wanted.is_empty())
            && let Err(fault) = follow::satisfy(room, &mut far.world, wanted)
        {
            let lost = self.lost(&fault);
            far.on(lost);
        }
        let heard = self.screens.look(Instant::now());
        if heard != far.heard {
            changed = true;
            far.on(FarMessage::Heard(Box::new(heard)));
        }
        changed
    }

    fn news(&mut self, last: u64) -> Option<FarMessage> {
        if let Some(room) = &mut self.room {
            if room.is_current() {
                let furnished = room.furnished();
                if furnished != self.furnished {
                    // With a fault in a new file the room is followed on with the files that it had.
                    self.furnished = furnished;
                    if let Ok((world, room)) = open(&self.dir) {
                        self.check = follow::check_behind(&room, world.now);
                        self.room = Some(room);
                        return Some(FarMessage::Followed(Box::new(world)));
                    }
                }
                return match room.news(last) {
                    Ok(entries) if entries.is_empty() => None,
                    Ok(entries) => Some(FarMessage::News(entries)),
                    Err(fault) => Some(self.lost(&fault)),
                };
            }
            // Its journal was made, or moved away, or is another one: it is opened anew.
            self.room = None;
            self.again = Instant::now();
        }
        if Instant::now() < self.again {
            return None;
        }
        self.again = Instant::now() + AGAIN;
        match open(&self.dir) {
            Ok((world, room)) => {
                self.furnished = room.furnished();
                self.check = follow::check_behind(&room, world.now);
                self.room = Some(room);
                // The folder may be another one than before.
                self.pace.listen(listen(&self.dir, &self.stirs));
                Some(FarMessage::Followed(Box::new(world)))
            }
            Err(fault) => Some(self.lost(&fault)),
        }
    }

    fn lost(&mut self, fault: &Fault) -> FarMessage {
        self.room = None;
        // It is looked for again and again.
        self.pace.listen(None);
        FarMessage::Lost { why: fault.message().to_string() }
    }
}

fn open(dir: &Path) -> Result<(World, Room), Fault> {
    let room = Room::look(dir)?;
    Ok((follow::open_whole(&room)?, room))
}
