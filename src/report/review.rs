//! The case told again: drawn, as a time line in words, by lesion, and what was wasted.

use super::strip::strip;
use super::{CAUTION, CaseReport};
use crate::case::{Case, Inflated, Item, Unsettled, label_words, wanted_words};
use crate::units::plain;
use chrono::{DateTime, FixedOffset};
use std::fmt::Write;

/// Plain text for a terminal; the drawing is at most `width` columns wide.
pub fn review(report: &CaseReport, width: usize) -> String {
    let case = report.case;
    let mut text = format!("Case {}\n", case.code);
    let signed = match &case.signed {
        None => "not signed yet".into(),
        Some(signed) if signed.unsettled == 0 => format!("signed {}", moment(signed.at)),
        Some(signed) => format!(
            "signed {} with {} unsettled: {}",
            moment(signed.at),
            signed.unsettled,
            signed.why.as_deref().unwrap_or("no reason given")
        ),
    };
    put(&mut text, &format!("begun {}, {signed}", moment(case.begun)));
    section(&mut text, "Drawn (numbers of calls and boxes)", strip(case, width));
    section(
        &mut text,
        "Not settled",
        case.unsettled().iter().map(Unsettled::words).map(String::from).collect(),
    );
    section(
        &mut text,
        "Time line",
        case.story
            .iter()
            .map(|line| {
                let struck = if line.struck { "  [STRUCK OUT]" } else { "" };
                format!("{}  {}{struck}", clock(line.at, case.begun), line.words)
            })
            .collect(),
    );
    for lesion in lesions(case) {
        section(&mut text, &format!("Lesion {lesion}"), of_lesion(case, lesion));
    }
    let elsewhere: Vec<String> = case
        .opened()
        .into_iter()
        .filter(|item| item.lesions.is_empty())
        .map(|item| opened(item, None))
        .collect();
    section(&mut text, "Opened for no lesion", elsewhere);
    section(&mut text, "Opened and not used", wasted(report));
    put(&mut text, "");
    put(&mut text, CAUTION);
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

fn of_lesion(case: &Case, lesion: u8) -> Vec<String> {
    let asked = case.calls.iter().filter(|call| call.lesion == Some(lesion));
    let asked = asked.map(|call| {
        let verdict = call.verdict.as_deref().map(|verdict| format!(", {verdict}")).unwrap_or_default();
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
        let past = inflation.rated_burst_atm.is_some_and(|burst| inflation.at_atm.atm() > burst.atm() + 1e-9);
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

fn wasted(report: &CaseReport) -> Vec<String> {
    let one = |item: &&Item| {
        let price = item.label.price.map(|price| format!(", {} {}", plain(price), report.currency));
        format!(
            "box {}: {}: {}{}",
            item.number,
            label_words(&item.label),
            item.fate_in_words(),
            price.unwrap_or_else(|| ", price not known".into())
        )
    };
    let unused = report.case.opened_not_used();
    let mut lines: Vec<String> = unused.iter().map(one).collect();
    if lines.len() > 1 {
        let waste = report.case.waste();
        let unpriced = if waste.unpriced > 0 {
            format!(", and {} without a price", waste.unpriced)
        } else {
            String::new()
        };
        lines.push(format!("in all {} {}{unpriced}", plain(waste.cost), report.currency));
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
    text.extend(line.chars().map(|character| if character.is_control() { ' ' } else { character }));
    text.push('\n');
}

fn moment(at: DateTime<FixedOffset>) -> String {
    at.format("%Y-%m-%d %H:%M").to_string()
}

/// The time of day; the date too where it is not the day on which the case began.
fn clock(at: DateTime<FixedOffset>, begun: DateTime<FixedOffset>) -> String {
    let form = if at.date_naive() == begun.date_naive() { "%H:%M:%S" } else { "%Y-%m-%d %H:%M:%S" };
    at.format(form).to_string()
}
