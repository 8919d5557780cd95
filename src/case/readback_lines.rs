//! The fields of a label beside the call, and what is to be said of them quietly.

use super::compared::{Context, LabelField, LabelLine};
use super::{Call, CallState};
use crate::catalogue::Found;
use crate::journal::{BoxRead, same_text};
use crate::label::{Label, LabelCode};
use crate::units::{Diameter, Length};

/// What was read, and what it is held against.
pub(super) struct Seen<'a> {
    pub label: &'a Label,
    pub found: Option<Found<'a>>,
    pub read: &'a BoxRead,
    pub call: Option<&'a Call>,
    pub ctx: &'a Context<'a>,
    pub complete: bool,
    pub opened_before: Option<String>,
}

/// Soft codes of the reader under which the label may mean another box, lot or date than was read.
const DOUBTFUL: [LabelCode; 3] =
    [LabelCode::AmbiguousNoSeparator, LabelCode::PackagingLevel, LabelCode::ContentsNotItem];

impl Seen<'_> {
    /// A recall may name any identifier of the box.
    pub fn is_recalled(&self) -> bool {
        let Some(lot) = &self.read.lot else { return false };
        let shelf = self.ctx.shelf;
        let others = self.found.as_ref().map(Found::di).unwrap_or_default();
        shelf.recalled(self.read.di.as_ref(), lot) || others.iter().any(|di| shelf.recalled(Some(di), lot))
    }

    pub fn is_doubtful(&self) -> bool {
        (crate::control::holds("cut-label-doubtful") && !self.complete)
            || self.label.warnings.iter().any(|w| DOUBTFUL.contains(&w.code))
    }

    /// Why eyes have to look, though nothing is known to be wrong.
    pub fn by_eye(&self) -> Vec<String> {
        let doubt = self.ctx.today.doubt.map(|doubt| doubt.in_words());
        let mut reasons: Vec<String> = doubt.into_iter().chain(self.opened_before.clone()).collect();
        if self.found.is_some_and(|found| !found.product().verified) {
            reasons
                .push("nobody has checked this product's file against its boxes yet: read the size".into());
        }
        let Some(di) = &self.read.di else { return reasons };
        if self.ctx.shelf.printed_size(di) == Some(false) {
            reasons.push("the printed size did not agree with the catalogue before: read the size".into());
        }
        if self.read.use_by.is_none() {
            let unreadable = self.label.warnings.iter().find(|warning| warning.code == LabelCode::BadDate);
            let said = unreadable.map(|warning| warning.message.clone());
            reasons.push(said.unwrap_or_else(|| "no use-by date was read: read it from the box".into()));
        }
        if self.read.lot.is_none() && (self.read.serial.is_none() || self.ctx.shelf.any_recall(di)) {
            reasons.push("no lot was read: read it from the box".into());
        }
        reasons
    }

    /// The product and size that the call names, where the catalogue has them.
    fn called_box(&self) -> Option<Found<'_>> {
        let wanted = &self.call?.wanted;
        let product = self.ctx.catalogue.product(wanted.product.as_ref()?)?;
        let platform = product.platform(wanted.diameter?)?;
        let length = wanted.length?;
        let pack = platform.boxes.iter().find(|pack| crate::units::same(pack.length.mm(), length.mm()))?;
        Some(Found::Sized { product, platform, pack })
    }
}

pub(super) fn lines(seen: &Seen) -> Vec<LabelLine> {
    let read = seen.read;
    let wanted = seen.call.map(|call| &call.wanted);
    let device = wanted.and_then(|wanted| match (&wanted.product, wanted.kind) {
        (Some(id), _) => {
            Some(seen.ctx.catalogue.product(id).map_or_else(|| id.clone(), |product| product.name.clone()))
        }
        (None, Some(kind)) => Some(format!("any {kind}")),
        (None, None) if wanted.reference.is_some() => None,
        (None, None) => Some("any stent".into()),
    });
    let any_product = wanted.is_none_or(|wanted| wanted.product.is_none());
    let on_box = Some(&read.name).filter(|name| !name.is_empty()).map(|name| match read.kind {
        Some(kind) if any_product => format!("{name}, {kind}"),
        _ => name.clone(),
    });
    let mut lines = vec![LabelLine {
        field: LabelField::Product,
        same: wanted
            .filter(|_| device.is_some() && on_box.is_some())
            .map(|wanted| wanted.device_answered_by(read)),
        called: device,
        on_box,
    }];
    let diameter = wanted.and_then(|wanted| wanted.diameter);
    if diameter.is_some() || read.diameter.is_some() {
        lines.push(LabelLine {
            field: LabelField::Diameter,
            called: diameter.as_ref().map(Diameter::to_string),
            on_box: read.diameter.as_ref().map(Diameter::to_string),
            same: wanted
                .filter(|_| diameter.is_some() && seen.found.is_some())
                .map(|wanted| wanted.diameter_answered_by(read)),
        });
    }
    let length = wanted.and_then(|wanted| wanted.length);
    if length.is_some() || read.length.is_some() {
        lines.push(LabelLine {
            field: LabelField::Length,
            called: length.as_ref().map(Length::to_string),
            on_box: read.length.as_ref().map(Length::to_string),
            same: wanted
                .filter(|_| length.is_some() && seen.found.is_some())
                .map(|wanted| wanted.length_answered_by(read)),
        });
    }
    lines.push(reference_line(seen));
    lines.push(lot_line(seen));
    lines.push(LabelLine {
        field: LabelField::UseBy,
        called: Some(format!("today {}", seen.ctx.today.day)),
        on_box: read.use_by.map(|date| date.to_string()),
        same: read.use_by.map(|last_day| seen.ctx.today.day <= last_day),
    });
    if read.serial.is_some() {
        lines.push(LabelLine {
            field: LabelField::Serial,
            called: None,
            on_box: read.serial.clone(),
            same: seen.opened_before.as_ref().map(|_| false),
        });
    }
    lines
}

fn reference_line(seen: &Seen) -> LabelLine {
    let asked = seen.call.and_then(|call| call.wanted.reference.clone());
    let called = asked.or_else(|| seen.called_box().map(|found| found.reference().to_string()));
    let on_box = seen.read.reference.clone();
    let same = called.as_deref().zip(on_box.as_deref()).map(|(a, b)| same_text(a, b));
    LabelLine { field: LabelField::Reference, called, on_box, same }
}

/// Another lot than proposed is no difference: it is said quietly.
fn lot_line(seen: &Seen) -> LabelLine {
    let (called, on_box) = (proposed_lot(seen), seen.read.lot.clone());
    let same = called.as_deref().zip(on_box.as_deref()).is_some_and(|(a, b)| same_text(a, b));
    LabelLine { field: LabelField::Lot, called, on_box, same: same.then_some(true) }
}

/// The lot to take first of this box; none where the box is not the one that was called: no lot of it was proposed.
fn proposed_lot(seen: &Seen) -> Option<String> {
    let found = seen.found?;
    if seen.call.is_some_and(|call| !call.wanted.answered_by(seen.read)) {
        return None;
    }
    let piece = seen.ctx.shelf.first_out(found.di(), seen.ctx.today.day)?;
    Some(piece.lot.clone()).filter(|lot| !lot.is_empty())
}

pub(super) fn notes(seen: &Seen, matching: &[&Call]) -> Vec<String> {
    let mut notes = Vec::new();
    if !seen.complete {
        notes.push("the scan broke off: there may be more on the label".into());
    }
    notes.extend(seen.label.warnings.iter().map(|warning| warning.message.clone()));
    if let (Some(proposed), Some(lot)) = (proposed_lot(seen), &seen.read.lot)
        && !same_text(&proposed, lot)
    {
        notes.push(format!("another lot than proposed: lot {proposed} expires first"));
    }
    if matching.is_empty()
        && let Some(case) = seen.ctx.case
    {
        // Its call has another box already, so the label seems to be called by nobody.
        notes.extend(case.calls.iter().filter_map(|call| match call.state {
            CallState::AtHand { item } if call.wanted.answered_by(seen.read) => {
                Some(format!("call {} has box {item} at hand", call.number))
            }
            _ => None,
        }));
    }
    if let [_, others @ ..] = matching
        && !others.is_empty()
    {
        let others: Vec<String> = others.iter().map(|call| call.number.to_string()).collect();
        notes.push(format!("answers call {} too", others.join(", ")));
    }
    notes
}
