//! What the keeper of a room wrote, entry by entry: stock, recalls, printed sizes, and what was struck out of them.

use super::behind::{STRUCK, Strike, StrikeFact, parse};
use super::{Fault, Room};
use crate::catalogue::Piece;
use crate::journal::{BoxRead, Entry, Fact};
use crate::shelf::{self, builder};
use crate::store::{Field, Sought};
use crate::udi::DeviceId;
use chrono::{DateTime, FixedOffset};
use std::collections::{BTreeMap, BTreeSet};

/// An entry of the room.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// Of a kind out of [`builder::OF_ROOM`].
    pub entry: Entry,
    /// The entry that strikes it out, and why; none while it stands.
    pub struck: Option<(u64, String)>,
}

impl Room {
    /// Every such entry, in order.
    ///
    /// # Errors
    /// The journal can't be read, or an entry in it is damaged.
    pub fn written(&self) -> Result<Vec<Written>, Fault> {
        let mut written: BTreeMap<u64, Written> = BTreeMap::new();
        let Some(store) = &self.store else { return Ok(Vec::new()) };
        let upto = store.last_seq()?;
        let mut kinds = builder::OF_ROOM.to_vec();
        kinds.push(STRUCK);
        store.each_of(&kinds, (1, upto), &mut |row| {
            if row.what()? == STRUCK {
                let Strike { fact: StrikeFact { entry, why }, .. } = parse(row.body()?)?;
                // A strike strikes nothing that is behind it, and nothing twice.
                if let Some(written) = written.get_mut(&entry).filter(|written| written.struck.is_none()) {
                    written.struck = Some((row.seq, why));
                }
            } else {
                let entry = Entry::from_body(row.body()?).map_err(|error| error.to_string())?;
                written.insert(row.seq, Written { entry, struck: None });
            }
            Ok(())
        })?;
        Ok(written.into_values().collect())
    }

    /// The last entry that stands by which these very pieces were received or loaded; none where they never were. The
    /// order of the rows does not matter, nor does a row that counts nothing.
    ///
    /// # Errors
    /// Those of [`Room::written`].
    pub fn received_before(&self, pieces: &[Piece]) -> Result<Option<Entry>, Fault> {
        let same = |written: &Written| match &written.entry.fact {
            Fact::StockReceived { pieces: then, .. } | Fact::StockLoaded { pieces: then, .. } => {
                written.struck.is_none() && shelf::same_pieces(then, pieces)
            }
            _ => false,
        };
        Ok(self.written()?.into_iter().rev().find(same).map(|written| written.entry))
    }

    /// What the cases of this room knew of boxes that no product file has any more: of each identifier the latest label
    /// that was read while one had it, and when.
    ///
    /// # Errors
    /// The journal can't be read, or an entry in it is damaged.
    pub fn remembered(
        &self,
        unknown: &BTreeSet<DeviceId>,
    ) -> Result<BTreeMap<DeviceId, (BoxRead, DateTime<FixedOffset>)>, Fault> {
        let mut known = BTreeMap::new();
        let Some(store) = self.store.as_ref().filter(|_| !unknown.is_empty()) else { return Ok(known) };
        let sought = Sought::new(Field::Di, unknown.iter().map(DeviceId::as_str));
        store.latest_with_boxes(&sought, &mut |entry| {
            if let Fact::BoxAtHand { label, .. }
            | Fact::BoxOpened { label, .. }
            | Fact::BoxPutBack { label, .. } = entry.fact
                && let (Some(di), Some(_)) = (&label.di, &label.product)
                && unknown.contains(di)
                && !known.contains_key(di)
            {
                known.insert(di.clone(), (label, entry.at));
            }
            known.len() < unknown.len()
        })?;
        Ok(known)
    }
}
