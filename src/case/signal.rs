//! What of a read-back is read from three metres: the headline, what differs, the next step.

use super::readback::{Headline, LabelField, LabelLine, ReadBack};
use super::spoken::alike;
use crate::journal::Finding;
use crate::units::{Diameter, Length};
use serde::{Deserialize, Serialize};

/// How a read-back bears on its box. A screen tells the three apart by form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bearing {
    /// As called, and nothing against it.
    Same,
    /// Something is against it, or it is not what was called.
    Against,
    /// Eyes must settle it, or nothing was called.
    Eyes,
}

/// The words of a read-back that are large.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Signal {
    /// The headline.
    pub big: String,
    /// What the form of the big words says.
    pub bearing: Bearing,
    /// The box in a few letters, beside what was called where the two differ.
    pub beside: Option<SideBySide>,
    /// Every field that differs, in words.
    pub differing: Vec<String>,
    /// The next step in words.
    pub next: String,
}

/// A few letters of the box beside those of the call. Marks are places of characters, from 0.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SideBySide {
    /// What it is that is there of the box.
    pub title: String,
    /// The size as the catalogue has it, or the use-by date, the lot, the product or the REF.
    pub on_box: String,
    /// Characters of `on_box` that tell it from `called`.
    pub box_marked: Vec<usize>,
    /// Empty where there is nothing to compare.
    pub called: String,
    /// Characters of `called` that tell it from `on_box`.
    pub called_marked: Vec<usize>,
}

/// What a second monitor is to show of the screens of one program: on no record.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct LiveStatus {
    /// The call that its fetch screen shows large.
    pub call: Option<u32>,
    /// The label that was read and about which nothing is decided yet.
    pub read: Option<UndecidedReadBack>,
    /// How many entries could not be written.
    pub unsaved: u32,
}

/// A read-back that nothing is decided about.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct UndecidedReadBack {
    /// Its large words.
    pub signal: Signal,
    /// The box: `3.00 × 29 Fell`.
    pub words: String,
}

/// What a second monitor has heard of a room's screens.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RoomStatus {
    /// The call that a fetch screen shows large. None: no screen shows one.
    pub call: Option<u32>,
    /// Of several programs, what was read last.
    pub read: Option<UndecidedReadBack>,
    /// Of all programs together.
    pub unsaved: u32,
    /// A program that was heard is heard no more, though it did not leave.
    pub silent: bool,
}

const THE_BOX: &str = "the box";

impl Headline {
    /// What the form of the big words is to say.
    pub const fn bearing(self) -> Bearing {
        match self {
            Headline::Same => Bearing::Same,
            Headline::CheckByEye | Headline::CheckDate | Headline::NoCall | Headline::Doubtful => {
                Bearing::Eyes
            }
            _ => Bearing::Against,
        }
    }
}

impl LabelLine {
    /// `length, by the catalogue: box 38, call 28`.
    pub fn in_words(&self) -> String {
        let field = self.field;
        match (&self.on_box, &self.called) {
            (Some(on_box), None) => format!("{field}: box {on_box}"),
            (Some(on_box), Some(today)) if field == LabelField::UseBy => {
                format!("{field}: box {on_box}, {today}")
            }
            (Some(on_box), Some(called)) => format!("{field}: box {on_box}, call {called}"),
            (None, called) => format!("{field}: box none, call {}", called.as_deref().unwrap_or("none")),
        }
    }

    /// It is not what was called.
    pub fn differs(&self) -> bool {
        self.same == Some(false)
    }
}

impl ReadBack {
    /// What is said in big letters, and written down. `disagrees`: the size printed on the box is not the catalogue's.
    pub fn finding_where(&self, disagrees: bool) -> Finding {
        if disagrees { Finding::Said(Headline::Different) } else { self.finding.clone() }
    }

    /// What is large. `disagrees`: the size printed on the box is not the catalogue's, in words.
    pub fn signal(&self, disagrees: Option<&str>) -> Signal {
        let differing = disagrees.map(String::from).into_iter();
        let fields = self.lines.iter().filter(|line| line.differs()).map(LabelLine::in_words);
        Signal {
            big: self.finding_where(disagrees.is_some()).to_string(),
            bearing: if disagrees.is_some() { Bearing::Against } else { self.headline.bearing() },
            beside: self.beside(),
            differing: differing.chain(fields).collect(),
            next: self.next.clone(),
        }
    }

    fn beside(&self) -> Option<SideBySide> {
        let line = |field: LabelField| self.lines.iter().find(|line| line.field == field);
        let differs = |field: LabelField| line(field).filter(|line| line.differs());
        let on_box_of = |field: LabelField| line(field).and_then(|line| line.on_box.clone());
        let size = |side: &dyn Fn(&LabelLine) -> Option<String>| {
            let parts =
                [LabelField::Diameter, LabelField::Length].into_iter().filter_map(|field| side(line(field)?));
            parts.collect::<Vec<_>>().join("×")
        };
        let (on_box, called) = (size(&|line| line.on_box.clone()), size(&|line| line.called.clone()));
        let pair = |on_box: String, called: String| SideBySide {
            title: THE_BOX.into(),
            box_marked: alike(&on_box, &called),
            called_marked: alike(&called, &on_box),
            on_box,
            called,
        };
        let alone =
            |title: &str, on_box: String| SideBySide { title: title.into(), on_box, ..SideBySide::default() };
        let by_eye = "the box, to be compared by eye";
        match self.headline {
            Headline::CannotRead | Headline::NotKnown | Headline::NoIdentifier => None,
            Headline::CheckDate if on_box_of(LabelField::UseBy).is_some() => {
                on_box_of(LabelField::UseBy).map(|day| alone("use by, to be read on the box", day))
            }
            Headline::Expired => on_box_of(LabelField::UseBy).map(|day| alone("use by", day)),
            Headline::Recalled => {
                on_box_of(LabelField::Lot).map(|lot| alone("recalled", format!("LOT {lot}")))
            }
            _ if differs(LabelField::Diameter).or_else(|| differs(LabelField::Length)).is_some() => {
                Some(pair(on_box, called))
            }
            _ => match differs(LabelField::Product).or_else(|| differs(LabelField::Reference)) {
                Some(line) => Some(SideBySide {
                    title: THE_BOX.into(),
                    on_box: line.on_box.clone().unwrap_or_default(),
                    called: line.called.clone().unwrap_or_default(),
                    ..SideBySide::default()
                }),
                None if on_box.is_empty() => {
                    self.read.reference.clone().map(|reference| alone(by_eye, reference))
                }
                None => Some(alone(by_eye, on_box)),
            },
        }
    }
}

/// A size in the fewest letters: `3.00×29`.
pub fn size_letters(diameter: Diameter, length: Length) -> String {
    format!("{diameter}×{length}")
}
