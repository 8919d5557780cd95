//! Which keys would do something now.

use super::findings::Judged;
use super::{Overlay, STEPS, Scanning, State, Step};
use crate::tui::keys::{Action, Key};

impl State {
    /// Whether a key would do something now: the footer names only those. One that is pressed all the same says
    /// why it does nothing.
    pub fn offers(&self, action: Action) -> bool {
        use Action as A;
        match action {
            A::ReadOpened => {
                self.subject().is_some_and(|judged| judged.doubtful.is_some() || !judged.stops())
            }
            A::ReadKeep | A::ReadEarlier => self.held().is_some_and(|held| !held.stops()),
            A::ReadAnyway => self.subject().as_ref().is_some_and(Judged::stops),
            A::ReadEnrol => self.held().as_ref().is_some_and(Judged::is_unknown),
            A::ReadPutBack => self.readback.held.is_some() || !self.world.at_hand().is_empty(),
            A::FetchNext => self.world.waiting().len() > 1,
            A::FetchCancel | A::FetchReady => !self.world.waiting().is_empty(),
            A::FetchUseOpen => self.card().is_some_and(|card| card.open_already.is_some()),
            A::OpenedInflate
            | A::OpenedBalloon
            | A::OpenedAreas
            | A::OpenedClock
            | A::OpenedFate
            | A::OpenedTable
            | A::OpenedAgain
            | A::OpenedStrike => self.item_shown().is_some(),
            A::OpenPlans => self.offers_plans(),
            A::Why => self.sizes.judgement.is_some(),
            A::DrawVessel => self.sizes.lesion.is_some(),
            A::MarkBox => self.sizes.box_here().is_some(),
            A::NextBox => self.sizes.cell().is_some_and(|cell| cell.boxes.len() > 1),
            A::PlanTogether => self.world.case.as_ref().is_some_and(|case| case.lesions.len() > 1),
            A::PlanInAlready => !self.in_already().is_empty(),
            A::OpenedOverlap => self.item_shown().is_some_and(|item| self.lies_beside(item.number).is_some()),
            A::SignOff => self.world.case.as_ref().is_some_and(|case| !case.is_closed()),
            A::WriteRecord => self.world.case.is_some(),
            A::MenuTour => self.world.demo,
            A::FirstRelease => STEPS.get(self.first.shown) == Some(&Step::Products),
            A::SheetLay => matches!(&self.overlay, Some(Overlay::Sheet(sheet)) if sheet.lays.is_some()),
            A::TallyBack => self.tally.as_ref().is_some_and(|scanning| scanning.tally.count() > 0),
            A::SumWrite => self.tally.as_ref().is_some_and(Scanning::changes_something),
            A::SameAgain => self.world.case.as_ref().is_some_and(|case| !case.calls.is_empty()),
            _ => true,
        }
    }

    /// Whether the key that strikes out would take back what the message line says, here and now.
    pub fn can_take_back(&self) -> bool {
        let last = self.world.case.as_ref().and_then(|case| case.last_undoable()).map(|(entry, _)| entry);
        let key = Key::spelt(&self.key(Action::Undo));
        let reaches =
            key.is_some_and(|key| self.settings.keys.action(self.place(), key) == Some(Action::Undo));
        self.said.undo.is_some() && self.said.undo == last && reaches
    }
}
