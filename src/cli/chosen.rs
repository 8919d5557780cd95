//! Which pieces of the shelf a command means, by what is on their boxes.

use super::typed::ArgErrors;
use crate::catalogue::{Found, Owner, Piece};
use crate::journal::same_text;
use crate::room::Room;
use crate::udi::DeviceId;
use clap::Args as Arguments;

#[derive(Debug, Arguments)]
pub(super) struct Chosen {
    /// Only this identifier (UDI-DI)
    #[arg(long, value_name = "DI")]
    di: Option<String>,
    /// Only this catalogue number
    #[arg(long = "ref", value_name = "REF")]
    reference: Option<String>,
    /// Only this lot
    #[arg(long, value_name = "LOT")]
    lot: Option<String>,
    /// Only this serial number
    #[arg(long, value_name = "SERIAL")]
    serial: Option<String>,
    /// Only this owner's: own, consigned, "borrowed from NAME"
    #[arg(long, value_name = "OWNER")]
    owner: Option<String>,
}

/// A choice that was read; it lets everything through where nothing was chosen.
#[derive(Debug)]
pub(super) struct Choice<'a> {
    args: &'a Chosen,
    di: Option<DeviceId>,
    owner: Option<Owner>,
}

impl Chosen {
    pub(super) fn read(&self, errors: &mut ArgErrors) -> Choice<'_> {
        let di = self.di.as_deref().and_then(|text| {
            let parsed = DeviceId::parse(text);
            parsed.map_err(|fault| errors.add("di", text, format!("di {text:?}: {fault}"))).ok()
        });
        let owner = self.owner.as_deref().and_then(|text| {
            text.parse().map_err(|message| errors.add("owner", text, format!("owner {message}"))).ok()
        });
        Choice { args: self, di, owner }
    }

    pub(super) fn is_empty(&self) -> bool {
        let Chosen { di, reference, lot, serial, owner } = self;
        [di, reference, lot, serial, owner].into_iter().all(Option::is_none)
    }
}

impl Choice<'_> {
    /// Any identifier of a box means the box.
    pub(super) fn means(&self, room: &Room, piece: &Piece) -> bool {
        let found = room.catalogue.find(&piece.di);
        let same_box =
            |di: &DeviceId| *di == piece.di || found.as_ref().is_some_and(|found| found.di().contains(di));
        let by = |asked: &Option<String>, has: Option<&str>| {
            asked.as_deref().is_none_or(|asked| has.is_some_and(|has| same_text(has, asked)))
        };
        self.di.as_ref().is_none_or(same_box)
            && by(&self.args.reference, found.as_ref().map(Found::reference))
            && by(&self.args.lot, Some(&piece.lot))
            && by(&self.args.serial, piece.serial.as_deref())
            && self.owner.as_ref().is_none_or(|owner| *owner == piece.owner)
    }
}
