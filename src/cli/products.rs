//! Where the products that a command reads come from: `--catalogue`, `--room`, or the room in the data directory.

use crate::catalogue::Catalogue;
use crate::policy::Policy;
use crate::room::{Fault, Room, files};
use clap::Args;
use std::path::{Path, PathBuf};
use std::sync::Arc;

#[derive(Debug, Args)]
pub(super) struct Products {
    /// A folder of product files, instead of the room's
    #[arg(long, value_name = "DIR")]
    catalogue: Option<PathBuf>,
}

/// What was opened for a command that reads products.
#[derive(Debug)]
pub(super) struct Opened {
    pub catalogue: Arc<Catalogue>,
    /// The room's, else the published defaults.
    pub policy: Arc<Policy>,
    /// None where `--catalogue` alone was given.
    pub room: Option<Room>,
}

impl Products {
    /// # Errors
    /// A folder or file can't be read, something is wrong in one, or there is no room.
    pub(super) fn open(&self, room: Option<&Path>) -> Result<Opened, Fault> {
        let named = self.catalogue.as_deref().map(folder).transpose()?;
        let room = match (room, &named) {
            (None, Some(_)) => None,
            (room, _) => Some(Room::look(&room_dir(room)?)?),
        };
        let catalogue = match (named, &room) {
            (Some(catalogue), _) => Arc::new(catalogue),
            (None, Some(room)) => room.catalogue.clone(),
            // Without a folder a room was opened.
            (None, None) => Arc::default(),
        };
        let policy = room.as_ref().map(|room| room.policy.clone()).unwrap_or_default();
        Ok(Opened { catalogue, policy, room })
    }
}

/// A folder without a single product file is the wrong folder, not a catalogue in which nothing fits.
fn folder(dir: &Path) -> Result<Catalogue, Fault> {
    let catalogue = files::catalogue(dir)?;
    if catalogue.products.is_empty() {
        let message = format!("{}: no product files (*.toml) in this folder", dir.display());
        return Err(Fault::refused("bad-file", message, None));
    }
    Ok(catalogue)
}

/// The room named on the command line, else the one in the data directory.
pub(super) fn room_dir(room: Option<&Path>) -> Result<PathBuf, Fault> {
    room.map_or_else(Room::default_dir, |dir| Ok(dir.to_path_buf()))
}
