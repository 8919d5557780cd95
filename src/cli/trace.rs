//! `boxcall trace`: where a lot, a serial number or an identifier went.

use super::as_read::AsRead;
use super::out::{Out, Outcome};
use super::products::room_dir;
use crate::case::{ItemState, fate_words, label_words};
use crate::journal::Fate;
use crate::ledger::{self, Query, Traced};
use crate::room::{Fault, Room};
use crate::udi::DeviceId;
use chrono::{DateTime, FixedOffset, NaiveDate};
use clap::Args as Arguments;
use serde::Serialize;
use std::path::Path;

/// Find every case that had a lot, a serial number or an identifier
#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  boxcall trace --lot FL60263\n  boxcall trace --recalled")]
pub(super) struct Args {
    #[command(flatten)]
    by: By,
}

#[derive(Debug, Arguments)]
#[group(required = true, multiple = false)]
struct By {
    /// A lot
    #[arg(long, value_name = "L")]
    lot: Option<String>,
    /// A serial number
    #[arg(long, value_name = "S")]
    serial: Option<String>,
    /// A device identifier
    #[arg(long, value_name = "D")]
    di: Option<String>,
    /// Every lot recalled in this room
    #[arg(long)]
    recalled: bool,
}

/// `trace --json`; no boxes is a clean no.
#[derive(Debug, Serialize)]
struct Answer<'a> {
    /// Every identifier that was looked for, the one asked for first; null where none was asked for.
    sought: Option<&'a [DeviceId]>,
    boxes: Vec<BoxAnswer<'a>>,
}

/// One box that came into a case, oldest first. `state` is `at-hand`, `opened` or `put-back`; `fate` is null while
/// it is not settled, and for a box that was not opened.
#[derive(Debug, Serialize)]
struct BoxAnswer<'a> {
    case: &'a str,
    #[serde(rename = "box")]
    item: u32,
    entry: u64,
    at: DateTime<FixedOffset>,
    state: &'static str,
    #[serde(flatten)]
    what: AsRead<'a>,
    di: Option<&'a str>,
    /// The packaging level of `di`: 0 is one box, 1 to 8 a carton.
    level: Option<u8>,
    lot: Option<&'a str>,
    serial: Option<&'a str>,
    use_by: Option<NaiveDate>,
    lesions: &'a [u8],
    /// Its opening was struck out; null for all others.
    struck_out: Option<&'a str>,
    #[serde(flatten)]
    fate: FateAnswer,
}

/// `fate`, and for `opened-not-used` a `why`.
#[derive(Debug, Serialize)]
#[serde(untagged)]
enum FateAnswer {
    Given(Fate),
    Open { fate: Option<&'static str> },
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    let dir = room_dir(room)?;
    let queries = if args.by.recalled {
        recalls(&out.room_of_journal(&dir)?)?
    } else {
        vec![query(&args.by, &dir, out)?]
    };
    let entries = match Query::sought(&queries) {
        Some(sought) => Room::journal_of(&dir)?.entries_with_boxes(&sought)?,
        None => Vec::new(),
    };
    let traced = ledger::trace(&entries, &queries);
    let sought = match &queries[..] {
        [Query::Di(sought)] => Some(&sought[..]),
        _ => None,
    };
    let answer = Answer { sought, boxes: traced.iter().map(answer).collect() };
    out.answer(&answer, || words(&traced))?;
    Ok(Outcome::answered(!traced.is_empty()))
}

/// What was recalled in this room and not taken back.
fn recalls(room: &Room) -> Result<Vec<Query>, Fault> {
    let shelf = room.shelf_of_room()?;
    Ok(Query::of_recalls(shelf.recalls(), &room.catalogue).collect())
}

fn query(by: &By, dir: &Path, out: &mut Out) -> Result<Query, Fault> {
    match by {
        By { lot: Some(lot), .. } => Ok(Query::Lot(lot.clone())),
        By { serial: Some(serial), .. } => Ok(Query::Serial(serial.clone())),
        By { di, .. } => {
            let text = di.as_deref().unwrap_or_default();
            let di = DeviceId::parse(text).map_err(|fault| {
                Fault::bad_input(format!("di {text:?} is not a device identifier: {fault}"))
            })?;
            // A room whose product files can't be read is still asked: by this identifier and its cartons'.
            let catalogue = match Room::look(dir) {
                Ok(room) => room.catalogue.clone(),
                Err(fault) => {
                    let message = fault.message();
                    out.aside(&format!(
                        "caution: other identifiers of this box are not looked for: {message}"
                    ));
                    Default::default()
                }
            };
            Ok(Query::of_box(&di, &catalogue))
        }
    }
}

const fn state(state: ItemState) -> &'static str {
    match state {
        ItemState::AtHand => "at-hand",
        ItemState::Opened => "opened",
        ItemState::PutBack => "put-back",
    }
}

fn answer(traced: &Traced) -> BoxAnswer<'_> {
    let label = &traced.label;
    BoxAnswer {
        case: traced.case.as_str(),
        item: traced.item,
        entry: traced.seq,
        at: traced.at,
        state: state(traced.state),
        what: label.into(),
        di: label.di.as_ref().map(DeviceId::as_str),
        level: label.di.as_ref().and_then(DeviceId::packaging_level),
        lot: label.lot.as_deref(),
        serial: label.serial.as_deref(),
        use_by: label.use_by,
        lesions: &traced.lesions,
        struck_out: traced.struck.as_deref(),
        fate: traced.fate.map_or(FateAnswer::Open { fate: None }, FateAnswer::Given),
    }
}

fn words(traced: &[Traced]) -> String {
    if traced.is_empty() {
        return "nothing: no case of this room had it".into();
    }
    let line = |traced: &Traced| {
        let fate = match (traced.fate, traced.state) {
            _ if traced.struck.is_some() => {
                format!("opening STRUCK OUT: {}", traced.struck.as_deref().unwrap_or_default())
            }
            (Some(fate), _) => fate_words(fate),
            (None, ItemState::Opened) => "opened, not settled".into(),
            (None, ItemState::AtHand) => "at hand, unopened".into(),
            (None, ItemState::PutBack) => "put back unopened".into(),
        };
        let lot = traced.label.lot.as_ref().map_or("  lot NOT READ".into(), |lot| format!("  lot {lot}"));
        let serial = traced.label.serial.as_ref().map(|serial| format!("  SN {serial}")).unwrap_or_default();
        let level = traced.label.di.as_ref().and_then(DeviceId::packaging_level).filter(|level| *level > 0);
        let level = level.map(|level| format!("  (read off a carton, level {level})")).unwrap_or_default();
        format!(
            "case {}  {}  box {}: {}{lot}{serial}  {fate}{level}",
            traced.case,
            traced.at.format("%F %R"),
            traced.item,
            label_words(&traced.label)
        )
    };
    traced.iter().map(line).collect::<Vec<_>>().join("\n")
}
