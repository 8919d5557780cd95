//! How the screens of a room start and follow its journal: the first frame from what is quickly read, the rest from
//! threads of their own, and whatever other programs write.

use super::state::{Message, State, Wanted, World};
use crate::room::{Fault, Reader, Room};
use chrono::{DateTime, FixedOffset};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{self, Receiver};
use std::thread;

/// The room at its first frame. What it lacks comes as messages: [`read_behind`].
///
/// # Errors
/// The journal can't be read.
pub fn open(room: &Room) -> Result<World, Fault> {
    let mut world = World::opening(room.catalogue.clone(), room.policy.clone(), room.opening()?);
    world.demo = room.is_demo();
    world.furniture = room.furniture();
    Ok(world)
}

/// Reads shelf and cases in a thread of its own, and hands them over, or says why they are not there. `back_to`: what
/// the boxes of a case took that began with this entry has to be known. `check`, the time now: then it looks whether the
/// journal holds, and says so only where it does not.
pub fn read_behind(
    room: &Room,
    back_to: Option<u64>,
    check: Option<DateTime<FixedOffset>>,
    tell: impl Fn(Message) + Send + 'static,
) {
    let reader = match room.reader() {
        Ok(reader) => reader,
        Err(fault) => return tell(Message::NotArrived { why: fault.message().to_string() }),
    };
    thread::spawn(move || {
        tell(read(&reader, back_to));
        if let Some(why) = check.and_then(|now| does_not_hold(&reader, now)) {
            tell(Message::Broken(why));
        }
    });
}

/// A panic must not end in a screen that says for ever that it is reading.
fn read(reader: &Reader, back_to: Option<u64>) -> Message {
    match catch_unwind(AssertUnwindSafe(|| reader.behind(back_to))) {
        Ok(Ok(behind)) => Message::Arrived(Box::new(behind)),
        Ok(Err(fault)) => Message::NotArrived { why: fault.message().to_string() },
        Err(_) => Message::NotArrived { why: "reading it broke off".into() },
    }
}

/// Checks in a thread of its own whether the journal holds. The word that comes says why it does not; none comes where
/// it does.
pub fn check_behind(room: &Room, now: DateTime<FixedOffset>) -> Receiver<String> {
    let (tell, told) = mpsc::channel();
    // A journal that can't be opened once more is told by whoever follows it.
    if let Ok(reader) = room.reader() {
        thread::spawn(move || does_not_hold(&reader, now).map(|why| tell.send(why)));
    }
    told
}

fn does_not_hold(reader: &Reader, now: DateTime<FixedOffset>) -> Option<String> {
    match catch_unwind(AssertUnwindSafe(|| reader.check(now))) {
        Ok(Ok(())) => None,
        Ok(Err(broken)) => Some(broken.to_string()),
        Err(_) => Some("whether it holds could not be told: the check broke off".into()),
    }
}

/// The room with all that it takes, read at once: for a screen that shows nothing before it is there.
///
/// # Errors
/// The journal can't be read.
pub fn open_whole(room: &Room) -> Result<World, Fault> {
    let mut world = open(room)?;
    let back_to = world.begins_at();
    satisfy(room, &mut world, vec![Wanted::Shelf { back_to }])?;
    Ok(world)
}

/// Reads what is wanted, here and now.
///
/// # Errors
/// The journal can't be read.
pub fn satisfy(room: &Room, world: &mut World, mut wanted: Vec<Wanted>) -> Result<(), Fault> {
    while let Some(next) = wanted.pop() {
        wanted.extend(match next {
            Wanted::Shelf { back_to } => world.arrived(room.behind(back_to)?),
            Wanted::Case(code) => world.show(&code, room.case_entries(&code)?),
        });
    }
    Ok(())
}

/// What other programs have written since; costs next to nothing where they wrote nothing.
pub fn news(room: &mut Room, state: &State) -> Option<Message> {
    match room.news(state.saved_seq()) {
        Ok(entries) if !entries.is_empty() => Some(Message::News(entries)),
        // A disk that can't be read just now is told when something is to be written.
        Ok(_) | Err(_) => None,
    }
}
