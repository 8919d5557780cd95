//! The finding of a box that is in the room already: worked out again from its label and what is known now, and what
//! has changed since it was shown last.

use super::readback::{Context, Headline, ReadBack, judge, next};
use super::{CallState, Case, Item};
use crate::journal::{BoxRead, Finding};
use crate::label::{Label, System};
use chrono::{DateTime, FixedOffset};

/// Reads a box of the case back against what is known now. What only the label can tell (unreadable, doubtful) is as
/// it was when the box came in: the label is not there any more.
pub fn of_item(item: &Item, ctx: &Context) -> ReadBack {
    let mut back = judge(&label_of(&item.label), true, Some(item.number), ctx);
    back.read = item.label.clone();
    // No label: an identifier was asked of nobody, and is not missing.
    let least = match &item.finding {
        Finding::NoLabelRead => Some(Headline::NoIdentifier),
        then => then.headline().filter(|then| then.is_of_the_label()),
    };
    if let Some(least) = least.filter(|least| back.headline >= *least) {
        back.headline = least;
        back.finding = item.finding.clone();
        back.next = next(least, false);
    }
    back
}

/// What is known now against a device whose box is open and that may be used, once more or at last: its lot is
/// recalled, or its use-by date has passed. None where nothing is.
pub fn in_play(item: &Item, ctx: &Context) -> Option<ReadBack> {
    let alone = Context { case: None, ..*ctx };
    let mut back = judge(&label_of(&item.label), true, None, &alone);
    back.read = item.label.clone();
    (crate::control::holds("open-device-judged-again")
        && matches!(back.headline, Headline::Recalled | Headline::Expired))
    .then_some(back)
}

/// What is known now against a box whose label was typed from its front, before it is written down.
pub fn of_typed(read: &BoxRead, ctx: &Context) -> Option<ReadBack> {
    let back = judge(&label_of(read), true, None, ctx);
    matches!(back.headline, Headline::Recalled | Headline::Expired).then_some(back)
}

/// Somebody has taken this box into the room with the same finding, or a graver one.
pub fn is_accepted(item: &Item, now: &ReadBack) -> bool {
    let then = item.finding.headline();
    !crate::control::holds("finding-worked-out-anew")
        || now.finding == item.finding
        || then.is_some_and(|then| now.headline >= then)
}

fn label_of(read: &BoxRead) -> Label {
    Label {
        di: read.di.clone(),
        lot: read.lot.clone(),
        serial: read.serial.clone(),
        use_by: read.use_by,
        made: read.made,
        printed: read.printed.clone().unwrap_or_default(),
        ..Label::blank(read.system.unwrap_or(System::Gs1))
    }
}

/// What was shown last of a box: kept to tell a change, never to act on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    finding: Finding,
    call: Option<u32>,
    /// Why eyes had to look.
    by_eye: Vec<String>,
}

impl Shown {
    /// `finding`: what is in big letters, which may be graver than that of the read-back alone.
    pub fn of(back: &ReadBack, finding: Finding) -> Shown {
        let by_eye = if back.headline.needs_eyes() { back.by_eye.clone() } else { Vec::new() };
        let goes_on = matches!(back.headline, Headline::Same) || back.headline.needs_eyes();
        let call = back.matching.first().copied().filter(|_| goes_on);
        Shown { finding, call, by_eye }
    }

    /// What was shown of a device in use, of which nothing is reported while nothing is against it.
    pub fn of_device(item: &Item, against: Option<&ReadBack>) -> Shown {
        let finding = against.map_or_else(|| item.finding.clone(), |back| back.finding.clone());
        Shown { finding, call: None, by_eye: Vec::new() }
    }

    /// `WAS SAME AS CALL 2: CALL 2 CANCELLED 11:04`; none where the finding is as it was.
    pub fn change(&self, now: &Shown, cause: impl FnOnce() -> String) -> Option<String> {
        (self != now).then(|| format!("WAS {}: {}", self.finding, cause()))
    }

    /// Why the finding is another one than this, as far as it is known.
    pub fn cause(&self, back: &ReadBack, case: Option<&Case>, at: DateTime<FixedOffset>) -> String {
        let clock = |at: DateTime<FixedOffset>| at.format("%H:%M");
        match back.headline {
            Headline::Recalled => {
                let lot = back.read.lot.as_deref().unwrap_or_default();
                return format!("LOT {lot} RECALLED {}", clock(at));
            }
            Headline::Expired => {
                let day = back.read.use_by.map(|day| day.to_string()).unwrap_or_default();
                return format!("USE BY {day} HAS PASSED");
            }
            Headline::CheckByEye | Headline::CheckDate if !back.by_eye.is_empty() => {
                return back.by_eye.join("; ");
            }
            _ => {}
        }
        let first = back.matching.first().copied();
        let goes = matches!(back.headline, Headline::Same | Headline::NoCall);
        if goes && !self.by_eye.is_empty() && self.call == first {
            return format!("SETTLED {}: {}", clock(at), self.by_eye.join("; "));
        }
        if let Some(number) = self.call.filter(|call| !back.matching.contains(call)) {
            return match case.and_then(|case| case.call(number)) {
                None => format!("CALL {number} STRUCK OUT {}", clock(at)),
                Some(call) => match call.state {
                    CallState::Cancelled => {
                        format!("CALL {number} CANCELLED {}", clock(call.cancelled_at.unwrap_or(at)))
                    }
                    CallState::Opened { item } => format!("CALL {number} HAS BOX {item}, OPENED"),
                    CallState::AtHand { item } => format!("CALL {number} HAS BOX {item} AT HAND"),
                    CallState::Waiting => format!("THE CATALOGUE HAS CHANGED {}", clock(at)),
                },
            };
        }
        let newest = case.and_then(|case| case.waiting_calls().last().copied());
        match first.and_then(|number| case?.call(number)).or(newest) {
            Some(call) => format!("CALL {} MADE {}", call.number, clock(call.at)),
            None => format!("WHAT IS KNOWN OF IT HAS CHANGED {}", clock(at)),
        }
    }
}
