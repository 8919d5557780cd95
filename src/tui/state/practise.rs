//! The demo room: a scan without a scanner. The bytes are those that a scanner would send for a piece that lies
//! on the demo shelf, and go the same way as any scan.

use super::{Effects, State};
use crate::label::Arrival;
use crate::shelf::scan_of;

impl State {
    /// The box that the call shown large asks for, or (`wrong`) one that lies beside it and is another.
    pub(super) fn practise(&mut self, wrong: bool) -> Effects {
        if !self.world.demo {
            return self.say("Practice scans are for the demo room: boxcall demo");
        }
        if let Some(why) = self.world.shelf.unread() {
            return self.say(why);
        }
        let piece = self.card().and_then(|card| card.bring).map(|bring| bring.piece);
        let Some(piece) = piece else {
            return self
                .say("Call a size that is on the shelf first: then its box can be scanned for practice");
        };
        let shelf = &self.world.shelf;
        let piece = if wrong { shelf.beside(&piece, self.world.today()).cloned() } else { Some(piece) };
        match piece {
            Some(piece) => self.scanned(scan_of(&piece), true, Arrival::Scanned),
            None => Vec::new(),
        }
    }
}
