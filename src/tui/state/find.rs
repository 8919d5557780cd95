//! `/`: any product, REF, size or lot, spelt loosely.

use super::{EVERYWHERE, Effects, Front, List, Overlay, State};
use crate::catalogue::Found;
use crate::journal::{Readiness, Wanted};
use crate::shelf::find::{Index, Lots};
use crate::tui::keys::{ACCEPT, Action, CLOSE, DOWN, ERASE, Letters, Place, UP};
use std::sync::Arc;

pub static PLACE: Place = Place::new(
    "While finding",
    Letters::Text,
    &[
        DOWN.row("", "the next found"),
        UP.row("", "the one before"),
        ERASE.row("", "take back the last character"),
        ACCEPT.row("call", "call the one under the cursor"),
        CLOSE.row("back", "leave without a call"),
    ],
)
.within(&EVERYWHERE);

pub const FRONT: Front = Front {
    list: |state| match &mut state.overlay {
        Some(Overlay::Find(finding)) => Some(List::new(&mut finding.cursor, finding.found.len())),
        _ => None,
    },
    typed: State::find_char,
    ..Front::new(&PLACE, State::act_find)
};

/// Characters that are looked for at most.
const LONGEST: usize = 60;

/// What is being looked for, and what answers, best first.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Finding {
    pub query: String,
    pub cursor: usize,
    pub found: Vec<Known>,
}

/// One box that answers.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    pub wanted: Wanted,
    /// The line that is shown.
    pub words: String,
}

/// What was gone through once: the boxes of this catalogue, the lots after this entry.
#[derive(Debug, Clone, Default)]
pub(super) struct Gone {
    boxes: Option<(usize, Arc<Index>)>,
    lots: Option<(usize, u64, Arc<Lots>)>,
}

impl Known {
    fn of(found: &Found, lot: Option<&str>) -> Known {
        let product = found.product();
        let size = found.size();
        let words = match (size, lot) {
            (Some((d, l)), None) => {
                format!("{d} × {l:<3} {}  {}  {}", product.name, found.reference(), product.kind)
            }
            (Some((d, l)), Some(lot)) => {
                format!("{d} × {l:<3} {}  {}  {lot}", product.name, found.reference())
            }
            (None, None) => format!("{}  {}  {}", product.name, found.reference(), product.kind),
            (None, Some(lot)) => format!("{}  {}  {lot}", product.name, found.reference()),
        };
        let wanted = Wanted {
            product: Some(product.id.clone()),
            name: None,
            diameter: size.map(|(diameter, _)| diameter),
            length: size.map(|(_, length)| length),
            kind: Some(product.kind),
            reference: Some(found.reference().to_string()),
        };
        Known { wanted, words }
    }
}

impl State {
    pub(super) fn open_find(&mut self) -> Effects {
        self.open(Overlay::Find(Finding::default()));
        self.look()
    }

    /// Goes through the catalogue and the shelf, where they have changed since the last time. Done while nobody types,
    /// so that the first keystroke does not wait for it.
    pub(super) fn go_through(&mut self) -> (Arc<Index>, Arc<Lots>) {
        let catalogue = &self.world.catalogue;
        let (which, seq) = (Arc::as_ptr(catalogue) as usize, self.world.last_seq());
        let boxes = match self.gone.boxes.take() {
            Some((of, boxes)) if of == which => boxes,
            _ => Arc::new(Index::new(catalogue)),
        };
        let lots = match self.gone.lots.take() {
            Some((of, after, lots)) if (of, after) == (which, seq) => lots,
            _ => Arc::new(Lots::new(catalogue, &self.world.shelf)),
        };
        self.gone = Gone { boxes: Some((which, boxes.clone())), lots: Some((which, seq, lots.clone())) };
        (boxes, lots)
    }

    fn look(&mut self) -> Effects {
        let (boxes, lots) = self.go_through();
        let Some(Overlay::Find(finding)) = &mut self.overlay else { return Effects::new() };
        let hits = boxes.find(&lots, &finding.query);
        let found = hits.iter().filter_map(|hit| {
            Some(Known::of(&boxes.found(&self.world.catalogue, hit.place)?, hit.lot.as_deref()))
        });
        finding.found = found.collect();
        finding.cursor = 0;
        Effects::new()
    }

    fn find_char(&mut self, c: char) -> Effects {
        match &mut self.overlay {
            Some(Overlay::Find(finding)) if finding.query.chars().count() < LONGEST => finding.query.push(c),
            _ => return Effects::new(),
        }
        self.look()
    }

    fn act_find(&mut self, action: Action) -> Effects {
        let Some(Overlay::Find(finding)) = &mut self.overlay else { return Effects::new() };
        match (action, finding.found.get(finding.cursor)) {
            (ERASE, _) => {
                finding.query.pop();
                self.look()
            }
            (ACCEPT, Some(known)) => {
                let wanted = known.wanted.clone();
                self.overlay = None;
                self.call(wanted, Readiness::Asked)
            }
            _ => Effects::new(),
        }
    }
}
