//! A room is laid: the empty one, and the demo with its invented products.

use super::folder::{MARK, MARK_TEXT, Passing, begin, end, make};
use super::{Fault, Room, clock, files};
use crate::catalogue::{self, demo};
use crate::journal::Fact;
use crate::policy;
use crate::sources;
use chrono::NaiveDate;
use std::path::Path;
use uuid::Uuid;

impl Room {
    /// Lays a room without products: the published protocol, an empty catalogue, an empty journal.
    ///
    /// # Errors
    /// The folder is not empty, or can't be written.
    pub fn lay_empty(dir: &Path) -> Result<Room, Fault> {
        begin(dir)?;
        make(&dir.join(files::CATALOGUE))?;
        files::write_whole(&dir.join(files::POLICY), &policy::commented())?;
        let room = Room::open_there(dir)?;
        end(dir)?;
        Ok(room)
    }

    /// Lays the demo room; its use-by dates suit today.
    ///
    /// # Errors
    /// The folder is not empty, or can't be written.
    pub fn lay_demo(dir: &Path) -> Result<Room, Fault> {
        begin(dir)?;
        files::write_whole(&dir.join(MARK), MARK_TEXT)?;
        let products = dir.join(files::CATALOGUE);
        make(&products)?;
        for (name, text) in demo::files() {
            files::write_whole(&products.join(name), &sources::in_words(text))?;
        }
        files::write_whole(&dir.join(files::POLICY), demo::policy())?;
        let mut room = Room::open_there(dir)?;
        let stock = catalogue::stock::read("the demo's stock", demo::stock(), &room.catalogue)
            .map_err(|faults| Fault::of_files(&faults))?;
        let mut pieces = stock.pieces;
        let late = clock::today() - MADE_FOR;
        for day in pieces.iter_mut().filter_map(|piece| piece.use_by.as_mut()) {
            *day = day.checked_add_signed(late).unwrap_or(*day);
        }
        room.write(None, &[Fact::StockLoaded { from: "the demo's stock".into(), pieces }])?;
        end(dir)?;
        Ok(room)
    }

    /// Lays the demo room in a folder of its own that goes when the room is closed.
    ///
    /// # Errors
    /// The system's temporary folder can't be written.
    pub fn passing_demo() -> Result<Room, Fault> {
        let dir = std::env::temp_dir().join(format!("boxcall-demo-{}", Uuid::new_v4()));
        let passing = Passing(dir.clone());
        Ok(Room { passing: Some(passing), ..Room::lay_demo(&dir)? })
    }

    /// The folder goes when the room is closed.
    pub const fn is_passing(&self) -> bool {
        self.passing.is_some()
    }
}

/// The day that the dates in the demo's stock file suit.
const MADE_FOR: NaiveDate = match NaiveDate::from_ymd_opt(2026, 11, 25) {
    Some(day) => day,
    None => panic!("this day is in the calendar"),
};
