//! The read-back: a label against every call that waits, before the seal is broken.
//!
//! The headline is the worst thing that is true: a matching size on an expired box says expired, not same.

pub use super::compared::{Context, Cupboard, LabelField, LabelLine};
pub use crate::journal::Headline;

use super::readback_lines::{Seen, lines, notes};
use super::{Call, CallState, Case, ItemState};
use crate::catalogue::Found;
use crate::journal::{BoxRead, Finding};
use crate::label::{Label, Raw, Refusal};

/// What came from the scanner, the clipboard or the keyboard.
#[derive(Debug, Clone, PartialEq)]
pub struct Scan {
    /// The label, or why it could not be read.
    pub label: Result<Label, Refusal>,
    /// The bytes as they came, whatever could be read of them.
    pub raw: Raw,
    /// False: the burst broke off, and there may have been more on the label.
    pub complete: bool,
}

/// What comes of holding a label against the calls.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadBack {
    /// The worst thing that is true of this box.
    pub headline: Headline,
    /// The same with the call that it answers: the words in big letters.
    pub finding: Finding,
    /// In the order of the fields as [`LabelLine`] names them; empty where the label could not be read.
    pub lines: Vec<LabelLine>,
    /// Every call that the box answers, oldest first: waiting ones, and one whose box is this very box.
    pub matching: Vec<u32>,
    /// The call that comes nearest; the oldest of those that match.
    pub nearest: Option<u32>,
    /// Ready to be written down.
    pub read: BoxRead,
    /// The first box of this identifier in this room: the printed size is typed once.
    pub needs_printed_size: bool,
    /// The next step in words.
    pub next: String,
    /// Why eyes have to look, though nothing is known to be wrong.
    pub by_eye: Vec<String>,
    /// Quiet lines, the gravest first; what eyes have to look at is first.
    pub notes: Vec<String>,
}

impl ReadBack {
    /// The same where the shelf is not known: recalls and what was opened before can't be known, so that eyes must
    /// settle what would else go on. `why` is reported first.
    pub fn without_shelf(mut self, why: String) -> ReadBack {
        if self.headline > Headline::CheckByEye {
            self.headline = Headline::CheckByEye;
            self.finding = Finding::Said(Headline::CheckByEye);
            self.next = next(Headline::CheckByEye, self.needs_printed_size);
        }
        self.by_eye.insert(0, why.clone());
        self.notes.insert(0, why);
        self
    }
}

/// Judges a label against the calls of the case.
pub fn read_back(scan: &Scan, ctx: &Context) -> ReadBack {
    let label = match &scan.label {
        Ok(label) => label,
        Err(refusal) => return unread(scan, refusal),
    };
    let mut back = judge(label, scan.complete, None, ctx);
    back.read.raw = Some(scan.raw.clone());
    back
}

/// Judges a label that was read. `item`: the box of the case that it belongs to, where that is known.
pub(super) fn judge(label: &Label, complete: bool, item: Option<u32>, ctx: &Context) -> ReadBack {
    let found = label.di.as_ref().and_then(|di| ctx.catalogue.find(di));
    let read = box_read(label, found, ctx);
    let candidates = candidates(item.or_else(|| known_item(&read, ctx.case)), ctx.case);
    let matching: Vec<&Call> =
        candidates.iter().copied().filter(|call| call.wanted.answered_by(&read)).collect();
    let nearest = matching.first().copied().or_else(|| nearest(&candidates, &read));
    let seen = Seen {
        label,
        found,
        read: &read,
        call: nearest,
        ctx,
        complete,
        opened_before: opened_before(&read, ctx),
    };
    let lines = lines(&seen);
    let by_eye = seen.by_eye();
    let headline = headline(&seen, !candidates.is_empty(), !matching.is_empty(), !by_eye.is_empty());
    let needs_printed_size = crate::control::holds("printed-size-typed-once")
        && matches!(found, Some(Found::Sized { .. }))
        && read.di.as_ref().is_some_and(|di| ctx.shelf.printed_size(di).is_none());
    let mut said = notes(&seen, &matching);
    said.retain(|note| !by_eye.contains(note));
    said.splice(0..0, by_eye.iter().cloned());
    ReadBack {
        headline,
        finding: finding(headline, matching.first().map(|call| call.number)),
        lines,
        matching: matching.iter().map(|call| call.number).collect(),
        nearest: nearest.map(|call| call.number),
        needs_printed_size,
        next: next(headline, needs_printed_size),
        by_eye,
        notes: said,
        read,
    }
}

fn unread(scan: &Scan, refusal: &Refusal) -> ReadBack {
    // A person's data is refused whole: not a byte of it is kept.
    let raw = (!crate::control::holds("persons-label-not-kept") || !refusal.is_of_a_person())
        .then(|| scan.raw.clone());
    ReadBack {
        headline: Headline::CannotRead,
        finding: Finding::Said(Headline::CannotRead),
        lines: Vec::new(),
        matching: Vec::new(),
        nearest: None,
        read: BoxRead { raw, ..BoxRead::default() },
        needs_printed_size: false,
        next: next(Headline::CannotRead, false),
        by_eye: Vec::new(),
        notes: vec![refusal.message.clone()],
    }
}

fn headline(seen: &Seen, anything_waits: bool, matches: bool, by_eye: bool) -> Headline {
    let read = seen.read;
    if seen.is_recalled() {
        Headline::Recalled
    } else if anything_waits && matches && !crate::control::holds("headline-is-the-worst") {
        Headline::Same
    } else if read.use_by.is_some_and(|last_day| last_day < seen.ctx.today.day) {
        Headline::Expired
    } else if read.di.is_some() && seen.found.is_none() {
        Headline::NotKnown
    } else if read.di.is_none() {
        Headline::NoIdentifier
    } else if seen.is_doubtful() {
        Headline::Doubtful
    } else if anything_waits && !matches {
        Headline::Different
    } else if seen.ctx.today.doubt.is_some() {
        Headline::CheckDate
    } else if by_eye {
        Headline::CheckByEye
    } else if !anything_waits {
        Headline::NoCall
    } else {
        Headline::Same
    }
}

fn finding(headline: Headline, call: Option<u32>) -> Finding {
    match call {
        Some(call) if headline == Headline::Same => Finding::SameAsCall(call),
        _ => Finding::Said(headline),
    }
}

pub(super) fn next(headline: Headline, needs_printed_size: bool) -> String {
    match headline {
        Headline::CannotRead => "scan again, or read the box by eye and type its size",
        Headline::Recalled => "this lot is recalled: fetch another lot, or ask the operator",
        Headline::Expired => "past its use-by date: fetch another box, or ask the operator",
        Headline::NotKnown => "no product file has this identifier: read the box by eye, or fetch another",
        Headline::NoIdentifier => "scan the other code on the box, or type its identifier",
        Headline::Doubtful => "read the box by eye: the label may mean more than one thing",
        Headline::Different => "put it back, or type the size on the box and the reason",
        Headline::CheckDate => "the computer's date is in doubt: read the use-by date aloud from the box",
        Headline::CheckByEye => "read the size, the lot and the use-by date aloud from the box",
        Headline::NoCall => "call it first, or write it down as opened without a call",
        Headline::Same if needs_printed_size => {
            "first box of this kind in this room: type the size printed on it"
        }
        Headline::Same => "read the size aloud from the box; open it when the operator says so",
    }
    .into()
}

fn box_read(label: &Label, found: Option<Found>, ctx: &Context) -> BoxRead {
    let size = found.as_ref().and_then(Found::size);
    let sundry_length = match found {
        Some(Found::Sundry { sundry, .. }) => sundry.length,
        _ => None,
    };
    let mut read = BoxRead {
        product: found.map(|found| found.product().id.clone()),
        name: found.map(|found| found.product().name.clone()).unwrap_or_default(),
        maker: found.map(|found| found.product().maker.clone()),
        kind: found.map(|found| found.product().kind),
        reference: found.map(|found| found.reference().to_string()),
        diameter: size.map(|(diameter, _)| diameter),
        length: size.map(|(_, length)| length).or(sundry_length),
        di: label.di.clone(),
        lot: label.lot.clone(),
        serial: label.serial.clone(),
        use_by: label.use_by,
        made: label.made,
        system: Some(label.system),
        printed: printed(label),
        price: found.and_then(|found| found.product().price),
        ..BoxRead::default()
    };
    if let Some(piece) = ctx.shelf.piece_of(&read) {
        read.owner = Some(piece.owner.clone());
        read.shelf = Some(piece.shelf.clone());
    }
    read
}

/// The line under the bars, where the label has one.
fn printed(label: &Label) -> Option<String> {
    Some(label.human_readable()).filter(|text| !text.is_empty())
}

/// The box at hand that this is. Without a serial number, and with a call waiting that the box answers, a
/// second box of the same lot is likelier than the first one scanned again.
pub fn known_item(read: &BoxRead, case: Option<&Case>) -> Option<u32> {
    let case = case?;
    let at_hand = |same: &dyn Fn(&BoxRead) -> bool| {
        let item = case.items.iter().find(|item| item.state == ItemState::AtHand && same(&item.label));
        item.map(|item| item.number)
    };
    if read.serial.is_some() {
        return at_hand(&|label| read.is_same_serial(label));
    }
    let waited_for = case.waiting_calls().iter().any(|call| call.wanted.answered_by(read));
    if waited_for { None } else { at_hand(&|label| read.is_same_piece(label)) }
}

/// Waiting calls, and the call whose box this is; oldest first.
fn candidates(item: Option<u32>, case: Option<&Case>) -> Vec<&Call> {
    let Some(case) = case else { return Vec::new() };
    // The call of the very box comes first: it is the one that the box was fetched for.
    let own =
        case.calls.iter().filter(|call| item.is_some_and(|item| call.state == CallState::AtHand { item }));
    own.chain(case.waiting_calls()).collect()
}

fn nearest<'a>(candidates: &[&'a Call], read: &BoxRead) -> Option<&'a Call> {
    let distance = |call: &Call| {
        let wanted = &call.wanted;
        let wrong = [
            !wanted.device_answered_by(read),
            !wanted.diameter_answered_by(read),
            !wanted.length_answered_by(read),
        ];
        let fewest_differences = crate::control::holds("fewest-differences-first");
        let wrong = wrong.iter().filter(|wrong| fewest_differences && **wrong).count() as f64;
        let apart = |a: Option<f64>, b: Option<f64>| a.zip(b).map_or(0.0, |(a, b)| (a - b).abs());
        let diameter = apart(wanted.diameter.map(|d| d.mm()), read.diameter.map(|d| d.mm()));
        let length = apart(wanted.length.map(|l| l.mm()), read.length.map(|l| l.mm()));
        (wrong, diameter, length)
    };
    let order = |a: (f64, f64, f64), b: (f64, f64, f64)| {
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2))
    };
    candidates.iter().copied().min_by(|a, b| order(distance(a), distance(b)))
}

/// This very box, by its serial number, was opened already.
fn opened_before(read: &BoxRead, ctx: &Context) -> Option<String> {
    let in_case = ctx
        .case
        .and_then(|case| case.items.iter().find(|item| item.is_opened() && item.label.is_same_serial(read)));
    if let Some(item) = in_case {
        return Some(format!("this box is open already in this case: box {}", item.number));
    }
    let (di, serial) = (read.di.as_ref()?, read.serial.as_ref()?);
    ctx.shelf.serial_opened(di, serial).then(|| "this serial number was opened in an earlier case".into())
}
