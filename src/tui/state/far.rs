//! The second monitor: what is read from three metres, of a room that another program works in.
//!
//! Invariant: messages in, nothing out but that it is left. It has no effects, so no key of it can write.

use crate::case::finding;
use crate::case::readback::ReadBack;
use crate::case::{Call, Item, RoomStatus, UndecidedReadBack};
use crate::journal::{Entry, Readiness};
use crate::shelf::FetchCard;
use crate::tui::keys::*;
use crate::tui::model::{Wanted, World, clock};
use crate::tui::paint::Clock;
use chrono::{DateTime, FixedOffset};

place! {
    PLACE: "On a second monitor: boxcall far", Shared;
    CLOSE => "leave", "leave; it only looks on, and no other key does anything there";
}

/// What reaches the second monitor.
#[derive(Debug, Clone)]
pub enum FarMessage {
    Key(Key),
    /// A label was scanned here.
    Scan,
    Tick(DateTime<FixedOffset>),
    /// The room was opened, for the first time or again.
    Followed(Box<World>),
    /// Another program has written these.
    News(Vec<Entry>),
    /// The room can't be read.
    Lost {
        why: String,
    },
    /// The journal does not hold, and where.
    Broken(String),
    /// What the screens of the room show just now.
    RoomStatus(Box<RoomStatus>),
}

/// The room can't be read any more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lost {
    pub since: DateTime<FixedOffset>,
    pub why: String,
}

/// Everything that the far view is a function of.
#[derive(Debug, Clone)]
pub struct Far {
    pub world: World,
    pub keys: Keys,
    pub lost: Option<Lost>,
    pub heard: RoomStatus,
    /// Since when a program of the room is silent.
    pub silent_since: Option<DateTime<FixedOffset>>,
    /// A key was pressed that does nothing here.
    pub key_refused: bool,
    /// What has to be read before the world is whole again.
    pub wanted: Vec<Wanted>,
    pub left: bool,
}

impl Far {
    pub fn new(world: World) -> Self {
        Far {
            world,
            keys: Keys::default(),
            lost: None,
            heard: RoomStatus::default(),
            silent_since: None,
            key_refused: false,
            wanted: Vec::new(),
            left: false,
        }
    }

    pub fn on(&mut self, message: FarMessage) {
        match message {
            FarMessage::Key(key) => match self.keys.own(&PLACE, key) {
                Some(CLOSE) => self.left = true,
                _ => self.key_refused = true,
            },
            FarMessage::Scan => self.key_refused = true,
            FarMessage::Tick(now) => self.world.now = now,
            FarMessage::Followed(world) => {
                self.world = *world;
                self.wanted.clear();
                self.lost = None;
            }
            FarMessage::News(entries) => {
                self.wanted.extend(self.world.absorb(entries, false));
                self.key_refused = false;
            }
            FarMessage::Lost { why } => {
                let since = self.lost.take().map_or(self.world.now, |lost| lost.since);
                self.lost = Some(Lost { since, why });
            }
            FarMessage::Broken(why) => self.world.broken = Some(why),
            FarMessage::RoomStatus(heard) => {
                self.silent_since = heard.silent.then(|| self.silent_since.unwrap_or(self.world.now));
                self.heard = *heard;
            }
        }
    }

    /// The call that is shown large: the one that the fetch screen shows, else the oldest that is asked for now.
    pub fn call_shown(&self) -> Option<&Call> {
        let waiting = self.world.waiting();
        let there = waiting.iter().find(|call| Some(call.number) == self.heard.call);
        let asked = waiting.iter().find(|call| call.readiness == Readiness::Asked);
        there.or(asked).or(waiting.first()).copied()
    }

    /// What is to be brought for it.
    pub fn card(&self) -> Option<FetchCard> {
        self.world.card(self.call_shown()?)
    }

    /// The label that is large: one that was read on the room's screens, else a box at hand that something has come
    /// up against.
    pub fn read_shown(&self) -> Option<UndecidedReadBack> {
        let at_hand = || {
            let mut boxes = self.world.at_hand().into_iter();
            boxes.find_map(|item| {
                let back = self.finding_at_hand(item).filter(|back| back.headline.needs_reason())?;
                let mut signal = back.signal(None);
                signal.differing.insert(0, format!("WAS {}: box {} at hand", item.finding, item.number));
                Some(UndecidedReadBack { signal, words: item.words() })
            })
        };
        self.heard.read.clone().or_else(at_hand)
    }

    /// The finding of a box at hand now, where it is another one than it came in with.
    pub fn finding_at_hand(&self, item: &Item) -> Option<ReadBack> {
        let back = self.world.read_back_at_hand(item);
        let graver = !finding::is_accepted(item, &back);
        (back.finding != item.finding && (graver || !back.headline.needs_reason())).then_some(back)
    }

    /// Whether a call is what is shown large: a room that is not followed and a label that is read come first.
    pub fn shows_a_call(&self) -> bool {
        self.lost.is_none() && self.read_shown().is_none() && self.call_shown().is_some()
    }

    /// The calls that wait and are not shown large.
    pub fn others_asked(&self) -> Vec<&Call> {
        let shown = self.call_shown().filter(|_| self.shows_a_call()).map(|call| call.number);
        self.world.waiting().into_iter().filter(|call| Some(call.number) != shown).collect()
    }

    /// What is open on the table: its seal is broken and nobody has said what became of it; the newest first.
    pub fn on_the_table(&self) -> Vec<&Item> {
        self.world.opened().into_iter().rev().filter(|item| item.fate.is_none()).collect()
    }

    pub fn clocks(&self) -> Vec<Clock> {
        self.world.case.as_ref().map(|case| clock::of(case, self.world.now)).unwrap_or_default()
    }

    /// Whether the case is signed off and the next one has not begun.
    pub fn is_over(&self) -> bool {
        self.world.case.as_ref().is_none_or(|case| case.signed.is_some())
    }
}
