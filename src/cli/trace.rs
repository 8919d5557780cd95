//! `boxcall trace`: where a lot, a serial number or an identifier went.

use super::as_read::AsRead;
use super::out::{Out, Outcome};
use super::products::room_dir;
use super::typed::ArgErrors;
use crate::case::{ItemState, fate_words, label_words};
use crate::intake::spreadsheet::unquoted;
use crate::journal::Fate;
use crate::ledger::{Found, Notice, Traced};
use crate::room::Fault;
use crate::udi::DeviceId;
use crate::units::counted;
use chrono::{DateTime, FixedOffset, NaiveDate};
use clap::Args as Arguments;
use serde::Serialize;
use std::path::Path;

/// Find every case that had, or may have had, boxes of a recall notice
#[derive(Debug, Arguments)]
#[command(
    after_help = "What is named together has to be true of one box: --di D --lot L means lot L of that box alone.\n\
                  The answer has three lists: who had it; who may have had it, as something was not read, was\n\
                  struck out since, or differs by zeros or look-alikes; and how many boxes are ruled out.\n\n\
                  Example:\n  boxcall trace --lot FL60263\n  boxcall trace --di 09521001300292 --serials S100..S180\n  \
                  boxcall trace --recalled"
)]
pub(super) struct Args {
    #[command(flatten)]
    by: By,
}

#[derive(Debug, Arguments)]
#[group(required = true, multiple = true)]
struct By {
    /// A lot
    #[arg(long, value_name = "L")]
    lot: Option<String>,
    /// A serial number
    #[arg(long, value_name = "S")]
    serial: Option<String>,
    /// Serial numbers from one to another, both included
    #[arg(long, value_name = "S..T", conflicts_with = "serial")]
    serials: Option<String>,
    /// A device identifier
    #[arg(long, value_name = "D")]
    di: Option<String>,
    /// Use-by dates from one day to another, both included
    #[arg(long, value_name = "DATE..DATE")]
    use_by: Option<String>,
    /// Every lot recalled in this room
    #[arg(long, conflicts_with_all = ["lot", "serial", "serials", "di", "use_by"])]
    recalled: bool,
}

/// `trace --json`.
#[derive(Debug, Serialize)]
struct Answer<'a> {
    /// Every identifier that was looked for, the one asked for first; null where none was asked for.
    sought: Option<&'a [DeviceId]>,
    /// `had` and `may_have_had` together, oldest first.
    boxes: Vec<BoxAnswer<'a>>,
    had: Vec<BoxAnswer<'a>>,
    /// Each with its `doubt`.
    may_have_had: Vec<BoxAnswer<'a>>,
    /// So many other boxes came into a case.
    ruled_out: usize,
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
    /// Why it is not sure that this box is meant; null where it is.
    doubt: Option<&'a str>,
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
    let asked = if args.by.recalled { None } else { Some(asked(&args.by)?) };
    let room = out.room_of_journal(&dir)?;
    let notices = match asked {
        None => Notice::of_recalls(room.shelf_of_room()?.recalls(), &room.catalogue).collect(),
        Some((notice, None)) => vec![notice],
        Some((notice, Some(di))) => {
            let Notice { di, products, .. } = Notice::of_box(&di, &room.catalogue);
            vec![Notice { di, products, ..notice }]
        }
    };
    let found = room.trace(&notices)?;
    let sought = match &notices[..] {
        [Notice { di, .. }] if !args.by.recalled && !di.is_empty() => Some(&di[..]),
        _ => None,
    };
    let answer = Answer {
        sought,
        boxes: found.boxes().into_iter().map(answer).collect(),
        had: found.had.iter().map(answer).collect(),
        may_have_had: found.may_have_had.iter().map(answer).collect(),
        ruled_out: found.ruled_out,
    };
    out.answer(&answer, || words(&found))?;
    Ok(Outcome::answered(!found.is_empty()))
}

/// What was asked for, and the identifier, of which the catalogue may know others.
fn asked(by: &By) -> Result<(Notice, Option<DeviceId>), Fault> {
    let mut errors = ArgErrors::default();
    let mut text = |name: &str, value: &Option<String>| {
        let value = value.as_deref().map(|value| unquoted(value.trim()).to_string());
        if value.as_deref() == Some("") {
            errors.add(name, "", format!("{name} must not be empty: it would find nothing"));
        }
        value
    };
    let (lot, serial) = (text("lot", &by.lot), text("serial", &by.serial));
    let di = text("di", &by.di);
    let di = di.filter(|di| !di.is_empty()).and_then(|text| match DeviceId::parse(&text) {
        Ok(di) => Some(di),
        Err(fault) => {
            errors.add("di", &text, format!("di {text:?} is not a device identifier: {fault}"));
            None
        }
    });
    let serials = by.serials.as_deref().and_then(|text| range("serials", text, &mut errors));
    let use_by = by.use_by.as_deref().and_then(|text| range("use-by", text, &mut errors));
    let use_by = use_by.and_then(|(first, last)| {
        Some((errors.date("use-by", Some(&first))?, errors.date("use-by", Some(&last))?))
    });
    if let Some((first, last)) = use_by
        && last < first
    {
        errors.add("use-by", "", format!("use-by: {last} is before {first}"));
    }
    errors.settle()?;
    let serials = serials.or(serial.map(|serial| (serial.clone(), serial)));
    Ok((Notice { lot, serials, use_by, ..Notice::default() }, di))
}

fn range(name: &str, text: &str, errors: &mut ArgErrors) -> Option<(String, String)> {
    let ends = text.split_once("..").map(|(first, last)| (unquoted(first.trim()), unquoted(last.trim())));
    match ends {
        Some((first, last)) if !first.is_empty() && !last.is_empty() => Some((first.into(), last.into())),
        _ => {
            errors.add(name, text, format!("{name} {text:?} is not a range, such as FIRST..LAST"));
            None
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
        doubt: traced.doubt.as_deref(),
        fate: traced.fate.map_or(FateAnswer::Open { fate: None }, FateAnswer::Given),
    }
}

fn words(found: &Found) -> String {
    let boxes = |count: usize| counted(count, "other box");
    if found.is_empty() {
        return format!("nothing: no case of this room had it; {} ruled out", boxes(found.ruled_out));
    }
    let mut lines = Vec::new();
    let mut list = |title: &str, rows: &[Traced]| {
        lines.push(format!(
            "{title}: {}",
            if rows.is_empty() { "none".into() } else { counted(rows.len(), "box") }
        ));
        lines.extend(rows.iter().map(line));
    };
    list("HAD IT", &found.had);
    list("MAY HAVE HAD IT", &found.may_have_had);
    lines.push(format!("ruled out: {}", boxes(found.ruled_out)));
    lines.join("\n")
}

fn line(traced: &Traced) -> String {
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
    let doubt = traced.doubt.as_ref().map(|doubt| format!("  [{doubt}]")).unwrap_or_default();
    format!(
        "case {}  {}  box {}: {}{lot}{serial}  {fate}{level}{doubt}",
        traced.case,
        traced.at.format("%F %R"),
        traced.item,
        label_words(&traced.label)
    )
}
