//! Questions that a screen asks: fields to fill, answers to choose from; and what becomes of the answers.

use super::{EVERYWHERE, Effects, Form, Front, Input, List, Overlay, PathFor, Screen, State};
use crate::tui::keys::*;

pub const NEXT: Action = Action::needed("form-next", &["Tab"]);
pub const PREVIOUS: Action = Action::new("form-previous", &["Shift+Tab"]);

/// Fields that are being typed into.
pub static FIELDS: Place = Place::new(
    "While typing into fields",
    Letters::Text,
    &[
        NEXT.row("next", "the next field"),
        PREVIOUS.row("", "the field before"),
        DOWN.row("", "the next field"),
        UP.row("", "the field before"),
        LEFT.row("", "the choice before"),
        RIGHT.row("", "the next choice"),
        ERASE.row("", "take back the last character"),
        ACCEPT.row("done", "take what stands in the fields"),
        CLOSE.row("back", "leave without it; nothing is written"),
    ],
)
.within(&EVERYWHERE);

/// The answers of a question, by their number.
pub const ANSWERS: [Action; 9] = [
    Action::new("choice-1", &["1"]),
    Action::new("choice-2", &["2"]),
    Action::new("choice-3", &["3"]),
    Action::new("choice-4", &["4"]),
    Action::new("choice-5", &["5"]),
    Action::new("choice-6", &["6"]),
    Action::new("choice-7", &["7"]),
    Action::new("choice-8", &["8"]),
    Action::new("choice-9", &["9"]),
];

/// A question with numbered answers.
pub static CHOICE: Place = Place::new(
    "While choosing",
    Letters::Own,
    &[
        DOWN.row("", "the next answer"),
        UP.row("", "the answer before"),
        ACCEPT.row("take", "take the answer under the cursor"),
        ANSWERS[0].row("", "the first answer"),
        ANSWERS[1].row("", "the second answer"),
        ANSWERS[2].row("", "the third answer"),
        ANSWERS[3].row("", "the fourth answer"),
        ANSWERS[4].row("", "the fifth answer"),
        ANSWERS[5].row("", "the sixth answer"),
        ANSWERS[6].row("", "the seventh answer"),
        ANSWERS[7].row("", "the eighth answer"),
        ANSWERS[8].row("", "the ninth answer"),
        CLOSE.row("back", "no answer; nothing is written"),
    ],
)
.within(&EVERYWHERE);

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
pub(super) type Outcome = Result<Effects, String>;

pub const FORM: Front = Front {
    list: |state| state.form_mut().map(|form| List::new(&mut form.cursor, form.fields.len()).round()),
    typed: |state, c| state.form_edited(|form| form.type_char(c)),
    ..Front::new(&FIELDS, State::act_form)
};

pub const QUESTION: Front = Front {
    list: |state| match &mut state.overlay {
        Some(Overlay::Choice(choice)) => Some(List::new(&mut choice.cursor, choice.answers.len())),
        _ => None,
    },
    ..Front::new(&CHOICE, State::act_choice)
};

impl Overlay {
    /// The measures are being typed.
    pub const fn measures(&self) -> bool {
        matches!(self, Overlay::Form(Form { purpose: Purpose::Measure { .. }, .. }))
    }
}

impl State {
    pub(super) fn form_mut(&mut self) -> Option<&mut Form> {
        match &mut self.overlay {
            Some(Overlay::Form(form)) => Some(form),
            _ => None,
        }
    }

    fn form_edited(&mut self, edit: impl FnOnce(&mut Form)) -> Effects {
        self.form_mut().map(edit);
        self.form_changed();
        Effects::new()
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

    fn act_form(&mut self, action: Action) -> Effects {
        match action {
            NEXT => self.form_edited(|form| form.step(true)),
            PREVIOUS => self.form_edited(|form| form.step(false)),
            LEFT => self.form_edited(|form| form.turn(false)),
            RIGHT => self.form_edited(|form| form.turn(true)),
            ERASE => self.form_edited(Form::erase),
            ACCEPT => self.accept_form(),
            _ => Effects::new(),
        }
    }

    /// Enter: a form with several fields goes to the next empty one first, so that one Enter too many is harmless.
    fn accept_form(&mut self) -> Effects {
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

    fn act_choice(&mut self, action: Action) -> Effects {
        let Some(Overlay::Choice(choice)) = &mut self.overlay else { return Vec::new() };
        let by_number = ANSWERS.iter().position(|answer| *answer == action);
        let taken = by_number.or((action == ACCEPT).then_some(choice.cursor));
        let Some(taken) = taken.filter(|taken| *taken < choice.answers.len()) else { return Effects::new() };
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

    pub(super) fn ask(&mut self, form: Form) -> Effects {
        self.open(Overlay::Form(form))
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
