//! From entries to a case: what is struck out first, then boxes and calls, then what depends on them.

use super::words::{entry_words, label_words};
use super::{
    AreasKept, Call, CallState, Case, FateKept, Inflated, Item, ItemState, OrphanEntry, OverlapKept, SignOff,
    StoryLine,
};
use crate::journal::{BoxRead, Entry, Fact, Fate, Finding, Overlap, struck};
use chrono::{DateTime, FixedOffset, TimeDelta};
use std::collections::BTreeMap;

impl Case {
    /// Folds the entries of one case, in order. Entries of the room, which belong to no case, may be between
    /// them. None where no entry belongs to a case.
    pub fn fold<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Option<Case> {
        let entries: Vec<&Entry> = entries.into_iter().collect();
        let first = *entries.iter().find(|entry| entry.case.is_some())?;
        let code = first.case.clone()?;
        let struck = struck(entries.iter().copied());
        let own: Vec<&Entry> =
            entries.into_iter().filter(|entry| entry.case.as_ref() == Some(&code)).collect();
        let mut case = Case {
            begun: own.iter().find(|entry| !entry.fact.is_notice()).map_or(first.at, |entry| entry.at),
            code,
            lesions: BTreeMap::new(),
            calls: Vec::new(),
            items: Vec::new(),
            overlaps: Vec::new(),
            signed: None,
            story: Vec::new(),
            orphans: Vec::new(),
            clock_went_back: false,
            highest_call: 0,
            highest_item: 0,
            undoable: None,
        };
        for entry in &own {
            case.narrate(entry, struck.contains(&entry.seq));
        }
        let mut own = own;
        if !crate::control::holds("order-by-sequence") {
            own.sort_by_key(|entry| entry.at);
        }
        let standing: Vec<&Entry> = own.into_iter().filter(|entry| !struck.contains(&entry.seq)).collect();
        // Boxes and calls come before anything is attached to them, so that a box that was struck out and written
        // down again under its number keeps its fate.
        for entry in &standing {
            case.place(entry);
        }
        for entry in &standing {
            case.attach(entry);
        }
        case.settle_lesions();
        case.settle_calls(&standing);
        case.orphans.sort_by_key(|orphan| orphan.seq);
        Some(case)
    }

    fn narrate(&mut self, entry: &Entry, struck: bool) {
        let words = entry_words(&entry.fact);
        match &entry.fact {
            Fact::Called { call, .. } => self.highest_call = self.highest_call.max(*call),
            Fact::BoxAtHand { item, .. } | Fact::BoxOpened { item, .. } | Fact::BoxPutBack { item, .. } => {
                self.highest_item = self.highest_item.max(*item);
            }
            _ => {}
        }
        match &entry.fact {
            Fact::CaseBegun | Fact::StruckOut { .. } => {}
            fact if fact.is_notice() => {}
            // What is before a signature is not undone by one key.
            Fact::SignedOff { .. } if !struck => self.undoable = None,
            _ if !struck => self.undoable = Some((entry.seq, words.clone())),
            _ => {}
        }
        let strikes = match entry.fact {
            Fact::StruckOut { entry, .. } => Some(entry),
            _ => None,
        };
        self.clock_went_back |= matches!(entry.fact, Fact::ClockWentBack { .. });
        let notice = entry.fact.is_notice();
        self.story.push(StoryLine { seq: entry.seq, at: entry.at, words, struck, strikes, notice });
    }

    fn place(&mut self, entry: &Entry) {
        match &entry.fact {
            Fact::LesionMeasured { lesion, measured } => {
                self.lesions.insert(*lesion, measured.clone());
            }
            Fact::Called { call, lesion, wanted, readiness, verdict, why } => {
                if self.call(*call).is_some() {
                    return self.keep_orphan(entry, "its number was given to an earlier call");
                }
                self.calls.push(Call {
                    number: *call,
                    seq: entry.seq,
                    at: entry.at,
                    lesion: *lesion,
                    wanted: wanted.clone(),
                    readiness: *readiness,
                    verdict: verdict.clone(),
                    why: why.clone(),
                    state: CallState::Waiting,
                    cancelled_at: None,
                });
            }
            Fact::BoxAtHand { item, call, label, finding, reason } => {
                self.bring(entry, *item, label, finding, ItemState::AtHand, (*call, reason));
            }
            Fact::BoxPutBack { item, label, finding } => {
                self.bring(entry, *item, label, finding, ItemState::PutBack, (None, &None));
            }
            Fact::BoxOpened { item, call, lesion, label, finding, reason, minutes_ago } => {
                let open = ItemState::Opened;
                if let Some(index) = self.bring(entry, *item, label, finding, open, (*call, reason)) {
                    let item = &mut self.items[index];
                    item.opened_at = Some(earlier(entry.at, minutes_ago.unwrap_or(0)));
                    item.lesions.extend(*lesion);
                }
            }
            Fact::SignedOff { unsettled, why } => {
                self.signed =
                    Some(SignOff { seq: entry.seq, at: entry.at, unsettled: *unsettled, why: why.clone() });
            }
            _ => {}
        }
    }

    /// Makes the item or changes its state; its place among the items, or none where it can't be.
    fn bring(
        &mut self,
        entry: &Entry,
        number: u32,
        label: &BoxRead,
        finding: &Finding,
        state: ItemState,
        (call, reason): (Option<u32>, &Option<String>),
    ) -> Option<usize> {
        let place = self.items.iter().position(|item| item.number == number);
        let index = place.unwrap_or_else(|| {
            self.items.push(Item {
                number,
                seq: entry.seq,
                label: BoxRead::default(),
                call: None,
                state,
                at_hand_at: None,
                opened_at: None,
                lesions: Vec::new(),
                inflations: Vec::new(),
                up_since: None,
                pressure_open: None,
                areas: Vec::new(),
                fate: None,
                tried: false,
                finding: Finding::NotSaid,
                reason: None,
            });
            self.items.len() - 1
        });
        let known = &self.items[index];
        if crate::control::holds("opened-stays-opened") && known.is_opened() && place.is_some() {
            // A seal that was broken stays broken, and a second box under this number is not the first one.
            let why = match state {
                ItemState::Opened => "a box of this number is open already",
                ItemState::AtHand | ItemState::PutBack => "the box of this number was opened",
            };
            self.keep_orphan(entry, why);
            return None;
        }
        let item = &mut self.items[index];
        item.seq = entry.seq;
        item.state = state;
        if *label != BoxRead::default() {
            item.label = label.clone();
        }
        if state == ItemState::AtHand {
            item.at_hand_at = Some(entry.at);
        }
        item.finding = finding.clone();
        item.call = call.or(item.call);
        item.reason = reason.clone().or(item.reason.take());
        Some(index)
    }

    fn attach(&mut self, entry: &Entry) {
        if let Fact::OverlapPlaced { overlap } = &entry.fact {
            return self.place_overlap(entry, overlap);
        }
        let (number, call) = match &entry.fact {
            Fact::BalloonUp { item }
            | Fact::BalloonDown { item, .. }
            | Fact::Inflated { item, .. }
            | Fact::AreasMeasured { item, .. }
            | Fact::FateGiven { item, .. }
            | Fact::BackOnTable { item }
            | Fact::UsedAgain { item, .. } => (Some(*item), None),
            Fact::ReadinessChanged { call, .. } | Fact::CallCancelled { call } => (None, Some(*call)),
            _ => (None, None),
        };
        if call.is_some_and(|number| self.call(number).is_none()) {
            return self.keep_orphan(entry, "its call is not there, or was struck out");
        }
        if number.is_some_and(|number| !self.is_open(number)) {
            return self.keep_orphan(entry, "no box of this number is open, or its opening was struck out");
        }
        if let (Fact::ReadinessChanged { readiness, .. }, Some(number)) = (&entry.fact, call)
            && let Some(call) = self.calls.iter_mut().find(|call| call.number == number)
        {
            call.readiness = *readiness;
        }
        let Some(item) = self.items.iter_mut().find(|item| Some(item.number) == number) else { return };
        match &entry.fact {
            Fact::BalloonUp { .. } => {
                item.up_since = Some(entry.at);
                item.pressure_open = None;
            }
            Fact::BalloonDown { seconds, .. } => {
                item.up_since = None;
                item.pressure_open = Some(*seconds);
            }
            Fact::Inflated { inflation, .. } => {
                // Written without the key for "down", it is down all the same.
                (item.up_since, item.pressure_open) = (None, None);
                item.add_lesion(inflation.lesion);
                item.reopen_unused();
                item.inflations.push(Inflated { seq: entry.seq, at: entry.at, inflation: inflation.clone() });
            }
            Fact::AreasMeasured { areas, .. } => {
                item.areas.push(AreasKept { seq: entry.seq, at: entry.at, areas: areas.clone() });
            }
            Fact::FateGiven { fate, lesion, .. } => {
                item.up_since = None;
                item.add_lesion(*lesion);
                item.fate = Some(FateKept { seq: entry.seq, at: entry.at, fate: *fate, lesion: *lesion });
            }
            Fact::BackOnTable { .. } => {
                item.tried = true;
                item.fate = None;
            }
            Fact::UsedAgain { lesion, .. } => {
                item.add_lesion(Some(*lesion));
                item.reopen_unused();
            }
            _ => {}
        }
    }

    fn place_overlap(&mut self, entry: &Entry, overlap: &Overlap) {
        let two = [overlap.distal, overlap.proximal];
        if overlap.distal == overlap.proximal || !two.into_iter().all(|number| self.is_open(number)) {
            return self.keep_orphan(entry, "it does not speak of two open boxes");
        }
        self.keep_overlap(OverlapKept { seq: entry.seq, at: entry.at, overlap: *overlap });
    }

    /// An opened box belongs to the lesion of its call; an implant without a lesion to the only one there is.
    fn settle_lesions(&mut self) {
        let named: Vec<u8> =
            self.lesions.keys().copied().chain(self.calls.iter().filter_map(|c| c.lesion)).collect();
        let only = named.first().copied().filter(|first| named.iter().all(|lesion| lesion == first));
        let calls = &self.calls;
        for item in self.items.iter_mut().filter(|item| item.is_opened()) {
            let called_for = item
                .call
                .and_then(|number| calls.iter().find(|call| call.number == number))
                .and_then(|call| call.lesion);
            if item.lesions.is_empty() {
                item.lesions.extend(called_for);
            }
            if let Some(kept) = &mut item.fate
                && kept.fate == Fate::Implanted
                && kept.lesion.is_none()
            {
                kept.lesion = match item.lesions[..] {
                    [] => only,
                    [one] => Some(one),
                    _ => None,
                };
                item.add_lesion(item.fate.as_ref().and_then(|kept| kept.lesion));
            }
        }
    }

    fn settle_calls(&mut self, standing: &[&Entry]) {
        let (mut again, mut cancelled) = (BTreeMap::new(), BTreeMap::new());
        for entry in standing {
            match entry.fact {
                // A balloon that was open already answers a call without a new box.
                Fact::UsedAgain { item, call: Some(call), .. } if self.is_open(item) => {
                    again.insert(call, item);
                }
                Fact::CallCancelled { call } => {
                    cancelled.insert(call, entry.at);
                }
                _ => {}
            }
        }
        for call in &mut self.calls {
            let with = |state| {
                let mut items = self.items.iter().rev();
                items
                    .find(|item| item.call == Some(call.number) && item.state == state)
                    .map(|item| item.number)
            };
            call.cancelled_at = cancelled.get(&call.number).copied();
            call.state = if let Some(item) = with(ItemState::Opened).or(again.get(&call.number).copied()) {
                CallState::Opened { item }
            } else if call.cancelled_at.is_some() {
                CallState::Cancelled
            } else if let Some(item) = with(ItemState::AtHand) {
                CallState::AtHand { item }
            } else {
                CallState::Waiting
            };
        }
    }

    fn is_open(&self, number: u32) -> bool {
        self.item(number).is_some_and(Item::is_opened)
    }

    fn keep_orphan(&mut self, entry: &Entry, why: &str) {
        let mut words = format!("{}: {why}", entry_words(&entry.fact));
        if let Fact::BoxOpened { label, .. } = &entry.fact {
            let lot = label.lot.as_ref().map(|lot| format!(", lot {lot}")).unwrap_or_default();
            words = format!("{words} ({}{lot})", label_words(label));
        }
        self.orphans.push(OrphanEntry { seq: entry.seq, words });
    }
}

impl Item {
    fn add_lesion(&mut self, lesion: Option<u8>) {
        if let Some(lesion) = lesion
            && !self.lesions.contains(&lesion)
        {
            self.lesions.push(lesion);
        }
    }

    /// "Opened, not used" no longer holds once it goes up or is used: its fate is open again.
    fn reopen_unused(&mut self) {
        if !crate::control::holds("unused-box-is-asked-again") {
            return;
        }
        if self.fate.as_ref().is_some_and(|kept| matches!(kept.fate, Fate::OpenedNotUsed { .. })) {
            self.fate = None;
        }
    }
}

fn earlier(at: DateTime<FixedOffset>, minutes: u32) -> DateTime<FixedOffset> {
    at.checked_sub_signed(TimeDelta::minutes(i64::from(minutes))).unwrap_or(at)
}
