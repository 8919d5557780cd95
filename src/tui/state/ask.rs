//! Questions that a screen asks: fields to fill, answers to choose from; and what becomes of the answers.

use super::{Effect, Form, Input, Overlay, PathFor, Screen, State};
use crate::tui::keys::Action;

/// What a form or a choice is for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Purpose {
    /// What was measured of this lesion.
    Measure {
        lesion: u8,
    },
    /// The printed size of the box that is held, read by eye for the first time in this room.
    PrintedSize,
    /// The diameter that a balloon is to give inside this item.
    Balloon {
        item: u32,
    },
    /// Which of the balloons that were offered.
    OfferedBalloon,
    /// The areas measured inside this item.
    Areas {
        item: u32,
    },
    /// How the device of this item lies to another of its lesion.
    Overlap {
        item: u32,
        lesion: u8,
    },
    /// An entry is to be read as if it had not been written.
    Strike {
        entry: u64,
    },
    /// What the front of a box says that no product file has.
    Enrol,
    /// The lot of a label that can be read in more than one way.
    ConfirmLot,
    /// Going on with a box that is not what was called.
    Anyway,
    MinutesAgo,
    TypeLabel,
    TypeBox,
    Inflate {
        item: u32,
    },
    Fate {
        item: u32,
    },
    Unused {
        item: u32,
    },
    SignOff,
    /// The computer's date is right.
    ConfirmDate,
    Recall,
    /// Leaving while something is not saved.
    LeaveUnsaved,
    LoseUnsaved,
    /// Where what is not saved is written to.
    Rescue {
        leave: bool,
    },
    /// Where the devices lie that are in this lesion already.
    InAlready {
        lesion: u8,
    },
    /// Where a file of the first steps stands.
    Path(PathFor),
    /// Where boxes are received, counted or moved, and whose they are.
    Receive,
    Count,
    Move,
}

impl Purpose {
    /// Its answer decides about a box, or signs.
    pub const fn decides(&self) -> bool {
        matches!(
            self,
            Purpose::PrintedSize
                | Purpose::Anyway
                | Purpose::ConfirmLot
                | Purpose::MinutesAgo
                | Purpose::TypeBox
                | Purpose::SignOff
        )
    }

    /// Kept when a scan takes the screen, and brought back with it.
    pub const fn outlives_its_screen(&self) -> bool {
        matches!(self, Purpose::Measure { .. } | Purpose::Inflate { .. } | Purpose::Recall | Purpose::Path(_))
    }
}

/// A question with numbered answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    pub purpose: Purpose,
    pub title: String,
    pub answers: Vec<String>,
    pub cursor: usize,
}

impl Choice {
    pub fn new(purpose: Purpose, title: impl Into<String>, answers: Vec<String>) -> Self {
        Choice { purpose, title: title.into(), answers, cursor: 0 }
    }
}

/// What a form says when it is accepted: what to write, or why not.
pub(super) type Outcome = Result<Vec<Effect>, String>;

impl State {
    fn form_mut(&mut self) -> Option<&mut Form> {
        match &mut self.overlay {
            Some(Overlay::Form(form)) => Some(form),
            _ => None,
        }
    }

    pub(super) fn form_char(&mut self, c: char) -> Vec<Effect> {
        if let Some(form) = self.form_mut() {
            form.type_char(c);
        }
        self.form_changed();
        Vec::new()
    }

    /// The fields have changed: what is shown beside them follows while somebody types.
    fn form_changed(&mut self) {
        let Some(Overlay::Form(form)) = &self.overlay else { return };
        match form.purpose {
            Purpose::Measure { .. } => self.measure_changed(),
            Purpose::Inflate { item } => self.inflate_changed(item),
            Purpose::Overlap { item, lesion } => self.overlap_changed(item, lesion),
            _ => {}
        }
    }

    pub(super) fn act_form(&mut self, action: Action) -> Vec<Effect> {
        let Some(form) = self.form_mut() else { return Vec::new() };
        match action {
            Action::FormNext => form.step(true),
            Action::FormPrevious => form.step(false),
            Action::FormLeft => form.turn(false),
            Action::FormRight => form.turn(true),
            Action::FormErase => form.erase(),
            Action::FormAccept => return self.accept_form(),
            _ => {}
        }
        self.form_changed();
        Vec::new()
    }

    pub(super) fn abandon_form(&mut self) {
        let was_measuring = matches!(&self.overlay, Some(Overlay::Form(form)) if matches!(form.purpose, Purpose::Measure { .. }));
        self.overlay = None;
        if was_measuring {
            self.resume_measurements();
        }
    }

    /// Enter: a form with several fields goes to the next empty one first, so that one Enter too many is harmless.
    fn accept_form(&mut self) -> Vec<Effect> {
        let Some(Overlay::Form(form)) = self.overlay.clone() else { return Vec::new() };
        let outcome = match form.purpose {
            Purpose::Measure { lesion } => self.accept_measure(lesion, &form),
            Purpose::PrintedSize => self.accept_printed_size(&form),
            Purpose::Anyway => self.accept_anyway(&form),
            Purpose::MinutesAgo => self.accept_minutes_ago(&form),
            Purpose::TypeLabel => self.accept_typed_label(&form),
            Purpose::TypeBox => self.accept_typed_box(&form),
            Purpose::Inflate { item } => self.accept_inflation(item, &form),
            Purpose::Balloon { item } => self.accept_balloon(item, &form),
            Purpose::Areas { item } => self.accept_areas(item, &form),
            Purpose::Overlap { item, lesion } => self.accept_overlap(item, lesion, &form),
            Purpose::Enrol => self.accept_enrol(&form),
            Purpose::ConfirmLot => self.accept_lot(&form),
            Purpose::Strike { entry } => self.accept_strike(entry, &form),
            Purpose::SignOff => self.accept_sign_off(&form),
            Purpose::Recall => self.accept_recall(&form),
            Purpose::ConfirmDate => self.accept_date(&form),
            Purpose::InAlready { lesion } => self.accept_in_already(lesion, &form),
            Purpose::Path(what) => self.accept_path(what, &form),
            Purpose::Receive | Purpose::Count | Purpose::Move => self.accept_place(&form),
            Purpose::LoseUnsaved => self.accept_loss(&form),
            Purpose::Rescue { leave } => self.accept_rescue(leave, &form),
            Purpose::Fate { .. }
            | Purpose::Unused { .. }
            | Purpose::OfferedBalloon
            | Purpose::LeaveUnsaved => Ok(Vec::new()),
        };
        match outcome {
            Ok(effects) => {
                // The answer may have put another question in its place.
                if self.overlay == Some(Overlay::Form(form)) {
                    self.overlay = None;
                }
                effects
            }
            Err(why) => {
                if let Some(form) = self.form_mut() {
                    form.refused = Some(why);
                }
                Vec::new()
            }
        }
    }

    pub(super) fn act_choice(&mut self, action: Action) -> Vec<Effect> {
        let Some(Overlay::Choice(choice)) = &mut self.overlay else { return Vec::new() };
        let last = choice.answers.len().saturating_sub(1);
        let taken = match action {
            Action::ChoiceDown => {
                choice.cursor = (choice.cursor + 1).min(last);
                return Vec::new();
            }
            Action::ChoiceUp => {
                choice.cursor = choice.cursor.saturating_sub(1);
                return Vec::new();
            }
            Action::ChoiceTake => choice.cursor,
            Action::Choice1 => 0,
            Action::Choice2 => 1,
            Action::Choice3 => 2,
            Action::Choice4 => 3,
            Action::Choice5 => 4,
            Action::Choice6 => 5,
            Action::Choice7 => 6,
            Action::Choice8 => 7,
            Action::Choice9 => 8,
            _ => return Vec::new(),
        };
        if taken > last {
            return Vec::new();
        }
        let purpose = choice.purpose.clone();
        self.overlay = None;
        match purpose {
            Purpose::Fate { item } => self.fate_chosen(item, taken),
            Purpose::Unused { item } => self.unused_chosen(item, taken),
            Purpose::OfferedBalloon => self.balloon_chosen(taken),
            Purpose::LeaveUnsaved => self.leave_chosen(taken),
            _ => Vec::new(),
        }
    }

    pub(super) fn ask(&mut self, form: Form) {
        self.overlay = Some(Overlay::Form(form));
    }

    fn accept_recall(&mut self, form: &Form) -> Outcome {
        let lot = form.value("lot");
        if lot.is_empty() {
            return Err("Type the lot as it stands on the recall notice".into());
        }
        let di = match form.value("di") {
            text if text.is_empty() => None,
            text => Some(crate::udi::DeviceId::parse(&text).map_err(|fault| fault.to_string())?),
        };
        self.screen = Screen::Shelf;
        Ok(self.write_for_room(vec![crate::journal::Fact::LotRecalled { di, lot }]))
    }
}

impl Input {
    /// The letters that are turned on.
    pub fn letters(&self) -> &[char] {
        match self {
            Input::AnyOf { chosen, .. } => chosen,
            _ => &[],
        }
    }
}
