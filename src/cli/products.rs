//! Where the products that a command reads come from: `--catalogue`, `--room`, or the room in the data directory.

use super::out::Out;
use super::today::judged_by;
use super::typed::ArgErrors;
use crate::catalogue::{Catalogue, Piece};
use crate::fit;
use crate::journal::Today;
use crate::measure::{Caution, Kind};
use crate::policy::Policy;
use crate::room::{self, Fault, Room, files};
use chrono::NaiveDate;
use clap::Args;
use std::path::{Path, PathBuf};
use std::sync::Arc;

#[derive(Debug, Args)]
pub(super) struct Products {
    /// A folder of product files, instead of the room's
    #[arg(long, value_name = "DIR")]
    catalogue: Option<PathBuf>,
}

/// What sizes are judged by, besides the measures.
#[derive(Debug, Args)]
pub(super) struct JudgeArgs {
    #[command(flatten)]
    products: Products,
    /// A kind of device, such as "drug-eluting stent"; may be repeated [default: the policy's]
    #[arg(long, value_name = "KIND")]
    kind: Vec<String>,
    /// A stock file (CSV) that says what is on the shelf, instead of the room's
    #[arg(long, value_name = "FILE")]
    stock: Option<PathBuf>,
    /// A policy file, instead of the room's
    #[arg(long, value_name = "FILE")]
    policy: Option<PathBuf>,
    /// The day for which use-by dates are judged [default: today]
    #[arg(long, value_name = "DATE")]
    today: Option<String>,
}

impl JudgeArgs {
    /// # Errors
    /// A folder or file can't be read, something is wrong in one, there is no room, or its journal can't be read.
    pub(super) fn open(&self, room: Option<&Path>, out: &mut Out) -> Result<Inputs, Fault> {
        let mut inputs =
            self.products.open(room)?.with_files(self.policy.as_deref(), self.stock.as_deref(), out)?;
        if self.today.is_none() && inputs.stock.is_some() {
            let (day, cautions) = judged_by(None, inputs.today);
            inputs.today = day.into();
            inputs.cautions.extend(cautions);
        }
        Ok(inputs)
    }

    /// The kinds that are judged, and the day; what slipped is told with the others.
    pub(super) fn read(
        &self,
        errors: &mut ArgErrors,
        policy: &Policy,
        today: Today,
    ) -> (Vec<Kind>, NaiveDate) {
        let kinds: Vec<_> = self.kind.iter().filter_map(|kind| errors.kind(kind)).collect();
        let today = errors.date("today", self.today.as_deref()).unwrap_or(today.day);
        let kinds = fit::kinds(&kinds, policy).unwrap_or_else(|bad| {
            errors.take(bad);
            Vec::new()
        });
        (kinds, today)
    }
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
        let named = self.catalogue.as_deref().map(catalogue).transpose()?;
        let room = match (room, &named) {
            (None, Some(_)) => None,
            (room, _) => Some(Out::room_of_files(&room_dir(room)?)?),
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

impl Opened {
    /// The protocol and the pieces on hand of a command that may be given either as a file: the file, else the room's,
    /// else the published defaults and no stock. Then the cautions of the stock file.
    ///
    /// # Errors
    /// A file can't be read or something is wrong in it, or the journal can't be read.
    pub(super) fn with_files(
        self,
        policy: Option<&Path>,
        stock: Option<&Path>,
        out: &mut Out,
    ) -> Result<Inputs, Fault> {
        let policy = match policy {
            Some(path) => Arc::new(files::policy(path)?),
            None => self.policy,
        };
        let room = self.room.map(|room| out.checked(room));
        let (shelf, today) = match &room {
            Some(room) => room.shelf_today()?,
            None => (None, room::today().into()),
        };
        let (stock, cautions) = match (stock, &room) {
            (Some(path), _) => {
                let stock = files::stock(path, &self.catalogue)?;
                (Some(stock.pieces), stock.cautions)
            }
            (None, _) => {
                let pieces = shelf.map(|shelf| shelf.pieces().into_iter().cloned().collect());
                (pieces, Vec::new())
            }
        };
        Ok(Inputs { catalogue: self.catalogue, policy, stock, cautions, today })
    }
}

/// What `fit` and `span` work with.
#[derive(Debug)]
pub(super) struct Inputs {
    pub catalogue: Arc<Catalogue>,
    pub policy: Arc<Policy>,
    /// None where nothing is known of what is on hand.
    pub stock: Option<Vec<Piece>>,
    pub cautions: Vec<Caution>,
    /// By the room, else by the computer.
    pub today: Today,
}

/// Where product files are kept.
#[derive(Debug, Args)]
pub(super) struct Folder {
    /// A folder of product files, instead of the room's
    #[arg(long, value_name = "DIR")]
    catalogue: Option<PathBuf>,
}

impl Folder {
    /// The folder that is named, else the room's.
    ///
    /// # Errors
    /// It can't be read, or there is no room.
    pub(super) fn open(&self, room: Option<&Path>) -> Result<PathBuf, Fault> {
        let dir = folder(self.catalogue.as_deref(), room)?;
        files::products(&dir).map(|_| dir)
    }
}

/// The folder that is named, else that of the room's product files.
///
/// # Errors
/// There is no room.
pub(super) fn folder(named: Option<&Path>, room: Option<&Path>) -> Result<PathBuf, Fault> {
    if let Some(dir) = named {
        return Ok(dir.into());
    }
    let dir = room_dir(room)?;
    if Room::is_there(&dir) { Ok(dir.join(files::CATALOGUE)) } else { Err(Fault::no_room(&dir)) }
}

/// A folder without a single product file is the wrong folder, not a catalogue in which nothing fits.
fn catalogue(dir: &Path) -> Result<Catalogue, Fault> {
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
