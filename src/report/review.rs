//! The case told again: drawn, as a time line in words, by lesion, and what was wasted.

use super::CaseReport;
use super::escape::plain_text;
use super::layout::layout;
use super::time::{clock, moment, with_offset};
use super::timeline::timeline;
use crate::case::{Case, Inflated, Item, StoryLine, Unsettled, label_words, overlap_words, wanted_words};
use crate::deference::LONG;
use crate::units::plain;
use std::fmt::Write;

/// One part of what is reported. Lines of a drawing keep their columns; others may be broken at spaces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// One line, without a mark of any format.
    pub title: String,
    /// Empty where there is nothing to say.
    pub lines: Vec<String>,
    /// Its lines keep their columns.
    pub drawn: bool,
}

/// What is told of a case, each part left out where there is nothing to say. The drawing is at most `width` columns
/// wide, `currency` the policy's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseStory {
    /// Calls, openings, inflations and overlaps on a time axis.
    pub drawn: Section,
    /// Every entry in words, each with its time since the case was begun.
    pub time_line: Section,
    /// What was asked for, opened and measured, a part a lesion; last what was opened for none.
    pub lesions: Vec<Section>,
    /// What was opened and not used, why, and what it cost.
    pub wasted: Section,
}

/// Tells a case as it stands.
pub fn told(case: &Case, currency: &str, width: usize) -> CaseStory {
    let section = |title: String, lines| Section { title, lines, drawn: false };
    let elsewhere = case.opened().into_iter().filter(|item| item.lesions.is_empty());
    let elsewhere: Vec<String> = elsewhere.map(|item| opened(item, None)).collect();
    let mut by_lesion: Vec<Section> = lesions(case)
        .into_iter()
        .map(|lesion| Section {
            title: format!("Lesion {lesion}"),
            lines: of_lesion(case, lesion, width),
            drawn: case.laid().iter().any(|laid| laid.lesion == lesion),
        })
        .collect();
    by_lesion.push(section("Opened for no lesion".into(), elsewhere));
    let struck = |struck| if struck { "  [STRUCK OUT]" } else { "" };
    let line = |line: &StoryLine| {
        format!("{}  {}{}", clock(line.at, case.begun, "%H:%M:%S"), line.words, struck(line.struck))
    };
    CaseStory {
        drawn: Section {
            title: "Drawn (numbers of calls and boxes)".into(),
            lines: timeline(case, width),
            drawn: true,
        },
        time_line: section("Time line".into(), case.story.iter().map(line).collect()),
        lesions: by_lesion.into_iter().filter(|section| !section.lines.is_empty()).collect(),
        wasted: section("Opened and not used".into(), wasted(case, currency)),
    }
}

/// Plain text for a terminal; the drawing is at most `width` columns wide.
pub fn review(report: &CaseReport, width: usize) -> String {
    let case = report.case;
    let mut text = format!("Case {}\n", case.code);
    if let Some(warning) = report.journal.warning() {
        put(&mut text, &warning);
    }
    let signed = match &case.signed {
        None => "not signed yet".into(),
        Some(signed) if signed.unsettled == 0 => format!("signed {}", moment(signed.at, case.begun)),
        Some(signed) => format!(
            "signed {} with {} unsettled: {}",
            moment(signed.at, case.begun),
            signed.unsettled,
            signed.why.as_deref().unwrap_or("no reason given")
        ),
    };
    put(&mut text, &format!("begun {}, {signed}", with_offset(case.begun)));
    let unsettled = case.unsettled().iter().map(Unsettled::words).map(String::from).collect();
    let unsettled = Section { title: "Not settled".into(), lines: unsettled, drawn: false };
    let told = told(case, report.currency, width);
    let parts = [unsettled, told.drawn, told.time_line];
    for part in parts.into_iter().chain(told.lesions).chain([told.wasted]) {
        section(&mut text, &part.title, part.lines);
    }
    put(&mut text, "");
    put(&mut text, LONG);
    text
}

fn lesions(case: &Case) -> Vec<u8> {
    let called = case.calls.iter().filter_map(|call| call.lesion);
    let opened = case.items.iter().flat_map(|item| item.lesions.iter().copied());
    let mut all: Vec<u8> = case.lesions.keys().copied().chain(called).chain(opened).collect();
    all.sort_unstable();
    all.dedup();
    all
}

fn of_lesion(case: &Case, lesion: u8, width: usize) -> Vec<String> {
    let asked = case.calls.iter().filter(|call| call.lesion == Some(lesion));
    let asked = asked.map(|call| {
        let verdict = call.verdict.as_ref().map(|verdict| format!(", judged {verdict}")).unwrap_or_default();
        format!("asked for  {}{verdict}", wanted_words(&call.wanted))
    });
    let items = case
        .opened()
        .into_iter()
        .filter(|item| item.lesions.contains(&lesion))
        .map(|item| opened(item, Some(lesion)));
    let mut lines: Vec<String> = asked.collect();
    lines.extend(items);
    if lines.is_empty() {
        lines.push("nothing was called or opened for it".into());
    }
    if let Some(measured) = case.lesions.get(&lesion).and_then(|measured| measured.length) {
        lines.push(format!("measured   {measured} mm long"));
    }
    for laid in case.laid().iter().filter(|laid| laid.lesion == lesion) {
        lines.push("as placed, distal on the left:".into());
        lines.extend(layout(laid, width).into_iter().map(|line| format!("  {line}")));
        lines.extend(laid.overlaps.iter().map(|kept| format!("  {}", overlap_words(&kept.overlap))));
    }
    lines
}

/// Of a box that was used on several lesions the inflations of this one, and those of which nobody said where.
fn opened(item: &Item, lesion: Option<u8>) -> String {
    let mut line = format!("opened     box {}: {}", item.number, label_words(&item.label));
    if let Some(lot) = &item.label.lot {
        let _ = write!(line, ", lot {lot}");
    }
    let here = |one: &&Inflated| {
        one.inflation.lesion.is_none_or(|other| lesion.is_none_or(|lesion| lesion == other))
    };
    let pressures = item.inflations.iter().filter(here).map(|one| {
        let inflation = &one.inflation;
        let past = inflation.is_past_rated_burst();
        let seconds = inflation.seconds.map(|seconds| format!(" {seconds} s")).unwrap_or_default();
        format!(
            "{} atm{seconds}{}",
            plain(inflation.at_atm.atm()),
            if past { " ABOVE RATED BURST" } else { "" }
        )
    });
    let pressures: Vec<String> = pressures.collect();
    if !pressures.is_empty() {
        let _ = write!(line, "; {}", pressures.join(", "));
    }
    let _ = write!(line, "; {}", item.fate_in_words());
    line
}

fn wasted(case: &Case, currency: &str) -> Vec<String> {
    let one = |item: &&Item| {
        let price = item.label.price.map(|price| format!(", {} {currency}", plain(price)));
        format!(
            "box {}: {}: {}{}",
            item.number,
            label_words(&item.label),
            item.fate_in_words(),
            price.unwrap_or_else(|| ", price not known".into())
        )
    };
    let unused = case.opened_not_used();
    let mut lines: Vec<String> = unused.iter().map(one).collect();
    if lines.len() > 1 {
        let waste = case.waste();
        let unpriced = if waste.unpriced > 0 {
            format!(", and {} without a price", waste.unpriced)
        } else {
            String::new()
        };
        lines.push(format!("in all {} {currency}{unpriced}", plain(waste.cost)));
    }
    lines
}

/// Left out where there is nothing to say.
fn section(text: &mut String, title: &str, lines: Vec<String>) {
    if lines.is_empty() {
        return;
    }
    put(text, "");
    put(text, title);
    for line in lines {
        put(text, &format!("  {line}"));
    }
}

/// What somebody typed must not steer the terminal.
fn put(text: &mut String, line: &str) {
    text.push_str(&plain_text(line));
    text.push('\n');
}
