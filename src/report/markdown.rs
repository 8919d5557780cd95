//! The record for people: one page, the case code big on top.

use super::escape::markdown_text as cell;
use super::time::{clock, moment, with_offset};
use super::udi::printed;
use super::{CaseReport, asked_as, lesions, verdict_at_call};
use crate::case::{
    Case, Item, ItemState, StoryLine, Totals, entry_words, fate_words, label_words, overlap_words,
    size_words, unused_words,
};
use crate::deference::LONG;
use crate::journal::{Fact, Finding};
use crate::shelf::Owed;
use crate::units::plain;
use std::fmt::Write;

const COLUMNS: [&str; 13] = [
    "box", "opened", "size", "product", "REF", "lot", "serial", "use by", "asked as", "at the call",
    "lesion", "inflations", "fate",
];

/// The record for people. Names and words out of labels can't break its tables.
pub fn markdown(report: &CaseReport) -> String {
    let case = report.case;
    let mut page = format!("# Case {}\n\n", case.code);
    if let Some(warning) = report.journal.warning() {
        line(&mut page, &format!("**{}**", cell(&warning)));
    }
    if !report.code_to_scan.is_empty() {
        // Between fences every character keeps its column.
        line(&mut page, &format!("```\n{}\n```", report.code_to_scan.trim_end_matches('\n')));
    }
    line(&mut page, &format!("Begun {}. {}", with_offset(case.begun), signature(case)));
    let notices = case.story.iter().filter(|line| line.notice);
    section(&mut page, "Of the times", notices.map(|line| told(case, line)).collect());
    section(&mut page, "Not settled", case.unsettled().iter().map(|one| cell(one.words())).collect());
    opened(&mut page, case);
    section(
        &mut page,
        "Identifiers (UDI) as on the labels, and the makers",
        case.opened().into_iter().map(udi).collect(),
    );
    totals(&mut page, report);
    let back = case.items.iter().filter(|item| item.state == ItemState::PutBack);
    section(&mut page, "Put back unopened", back.map(put_back).collect());
    section(&mut page, "Expansion measured", case.opened().into_iter().flat_map(areas).collect());
    let placed = case.laid().into_iter().flat_map(|laid| {
        let overlaps =
            laid.overlaps.iter().map(|kept| cell(&overlap_words(&kept.overlap))).collect::<Vec<_>>();
        overlaps.into_iter().chain([cell(&format!("lesion {}: {}", laid.lesion, laid.words()))])
    });
    section(&mut page, "Overlaps as placed", placed.collect());
    let refill = report.refill.iter().map(|refill| {
        let place = if refill.place.is_empty() { "place not known" } else { &refill.place };
        let reference =
            if refill.reference.is_empty() { String::new() } else { format!(", REF {}", refill.reference) };
        cell(&format!("{place}: {} of {}{reference}", refill.count, refill.words))
    });
    section(&mut page, "Refill, in cupboard order", refill.collect());
    section(&mut page, "Consigned, used", report.consigned.iter().map(owed).collect());
    section(&mut page, "To return", report.to_return.iter().map(owed).collect());
    let struck = case.story.iter().filter(|line| line.struck);
    let struck = struck
        .map(|line| cell(&format!("entry {}, {}: {}", line.seq, moment(line.at, case.begun), line.words)));
    let strikes = case.story.iter().filter(|line| line.strikes.is_some()).map(|line| told(case, line));
    section(&mut page, "Struck out", struck.chain(strikes).collect());
    section(&mut page, "Written after the signature", later(case));
    line(&mut page, "---");
    line(&mut page, LONG);
    line(&mut page, &format!("Written {} by {}.", with_offset(report.written), cell(report.program)));
    line(
        &mut page,
        &format!(
            "{}. Keep its head: `boxcall journal check --against` compares it.",
            cell(&report.journal.to_string())
        ),
    );
    line(&mut page, &format!("`{}`", report.anchor));
    if !report.anchor_to_scan.is_empty() {
        line(&mut page, &format!("```\n{}\n```", report.anchor_to_scan.trim_end_matches('\n')));
    }
    page.trim_end().to_string() + "\n"
}

fn signature(case: &Case) -> String {
    match &case.signed {
        None => "Not signed yet.".into(),
        Some(signed) if signed.unsettled == 0 => format!("Signed {}.", moment(signed.at, case.begun)),
        Some(signed) => {
            let why = signed.why.as_deref().map(|why| format!(": {}", cell(why))).unwrap_or_default();
            let later = if case.unsettled().is_empty() { " Settled since then." } else { "" };
            format!(
                "Signed {} with {} unsettled{why}.{later}",
                moment(signed.at, case.begun),
                signed.unsettled
            )
        }
    }
}

fn opened(page: &mut String, case: &Case) {
    let boxes = case.opened();
    line(page, "## Opened");
    if boxes.is_empty() {
        return line(page, "No box was opened.");
    }
    row(page, &COLUMNS.map(String::from));
    row(page, &COLUMNS.map(|_| "---".into()));
    for item in boxes {
        row(page, &cells(case, item).map(|text| cell(&text)));
    }
    page.push('\n');
}

fn cells(case: &Case, item: &Item) -> [String; 13] {
    let label = &item.label;
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let name = if label.name.is_empty() { label_words(label) } else { label.name.clone() };
    let verdict = verdict_at_call(case, item);
    let found = match (&item.reason, &item.finding) {
        (None, Finding::NotSaid) => String::new(),
        (Some(reason), finding) => format!("read back: {finding} ({reason})"),
        (None, finding) => format!("read back: {finding}"),
    };
    let at_call = [verdict, found].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>();
    let fate = match &item.fate {
        Some(kept) => {
            let lesion = kept.lesion.map(|lesion| format!(", lesion {lesion}")).unwrap_or_default();
            format!("{}{lesion}", fate_words(kept.fate))
        }
        None => "NOT SETTLED".into(),
    };
    [
        item.number.to_string(),
        item.opened_at.map(|at| clock(at, case.begun, "%H:%M")).unwrap_or_default(),
        size_words(label.diameter, label.length),
        name,
        text(&label.reference),
        // A blank could mean that the box has none, or that nobody read it.
        if label.serial.is_some() { text(&label.lot) } else { read_or_not(label.lot.clone()) },
        text(&label.serial),
        read_or_not(label.use_by.map(|date| {
            let past = item.opened_at.is_some_and(|at| at.date_naive() > date);
            format!("{date}{}", if past { " EXPIRED" } else { "" })
        })),
        asked_as(case, item),
        at_call.join("; "),
        lesions(item),
        inflations(item),
        fate,
    ]
}

fn read_or_not(text: Option<String>) -> String {
    text.unwrap_or_else(|| "not read".into())
}

/// The carrier as it is printed, whole: what a notice, an implant card or a complaint asks for.
fn udi(item: &Item) -> String {
    let known = printed(&item.label).or_else(|| item.label.di.as_ref().map(|di| di.to_string()));
    let maker = item.label.maker.as_ref().map(|maker| format!(", {}", cell(maker))).unwrap_or_default();
    format!("box {}: {}{maker}", item.number, cell(&known.unwrap_or_else(|| "not read".into())))
}

fn put_back(item: &Item) -> String {
    let label = &item.label;
    let lot = label.lot.as_ref().map(|lot| format!(", lot {lot}")).unwrap_or_default();
    let serial = label.serial.as_ref().map(|serial| format!(", serial {serial}")).unwrap_or_default();
    cell(&format!("box {}: {}{lot}{serial} ({})", item.number, label_words(label), item.finding))
}

fn areas(item: &Item) -> impl Iterator<Item = String> {
    let words = |areas| entry_words(&Fact::AreasMeasured { item: item.number, areas });
    item.areas.iter().map(move |kept| cell(&words(kept.areas.clone())))
}

fn told(case: &Case, line: &StoryLine) -> String {
    cell(&format!("{}: {}", moment(line.at, case.begun), line.words))
}

/// What the team that signed had not seen.
fn later(case: &Case) -> Vec<String> {
    let Some(signed) = &case.signed else { return Vec::new() };
    let after = case.story.iter().filter(|line| line.seq > signed.seq && !line.notice);
    let struck = |line: &StoryLine| if line.struck { " (struck out)" } else { "" };
    after.map(|line| format!("{}{}", told(case, line), struck(line))).collect()
}

fn inflations(item: &Item) -> String {
    let one = |inflated: &crate::case::Inflated| {
        let inflation = &inflated.inflation;
        let seconds = inflation.seconds.map(|seconds| format!(" {seconds} s")).unwrap_or_default();
        let chart =
            inflation.chart_mm.map(|mm| format!(" ({mm} by the chart, in water)")).unwrap_or_default();
        let lesion = match inflation.lesion {
            Some(lesion) if item.lesions.len() > 1 => format!(" in lesion {lesion}"),
            _ => String::new(),
        };
        let past = if inflation.is_past_rated_burst() { " ABOVE RATED BURST" } else { "" };
        format!("{} atm{seconds}{chart}{lesion}{past}", inflation.at_atm)
    };
    item.inflations.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn totals(page: &mut String, report: &CaseReport) {
    let totals = report.case.totals();
    line(page, "## Totals");
    line(
        page,
        &format!(
            "Opened {} = implanted {} + used {} + opened, not used {} + lost in the patient {} + not found {} + \
             not settled {}. Put back unopened: {}.",
            totals.opened,
            totals.implanted,
            totals.used,
            totals.unused_in_all(),
            totals.lost,
            totals.not_found,
            totals.unsettled,
            totals.put_back,
        ),
    );
    let by_product = report.case.totals_by_product();
    if by_product.len() > 1 {
        let one = |(name, totals): (&String, &Totals)| format!("{} {}", cell(name), counts(totals));
        let all: Vec<String> = by_product.iter().map(one).collect();
        line(page, &format!("By product: {}.", all.join("; ")));
    }
    let cost = report.case.cost();
    if totals.opened > cost.unpriced {
        let priced = format!("Cost of all that was opened: {} {}", plain(cost.cost), cell(report.currency));
        line(page, &format!("{priced}{}.", unpriced(cost.unpriced)));
    }
    if totals.unused.is_empty() {
        return;
    }
    let reasons = totals.unused.iter().map(|(why, count)| format!("{} {count}", unused_words(*why)));
    let waste = report.case.waste();
    line(
        page,
        &format!(
            "Opened, not used: {}. Cost: {} {}{}.",
            reasons.collect::<Vec<_>>().join(", "),
            plain(waste.cost),
            cell(report.currency),
            unpriced(waste.unpriced),
        ),
    );
}

fn unpriced(count: u32) -> String {
    if count == 0 { String::new() } else { format!(", and {count} without a price") }
}

/// What is not nought of one product, and why it was not used.
fn counts(totals: &Totals) -> String {
    let all = [
        ("opened", totals.opened),
        ("implanted", totals.implanted),
        ("used", totals.used),
        ("not used", totals.unused_in_all()),
        ("lost in the patient", totals.lost),
        ("not found", totals.not_found),
        ("not settled", totals.unsettled),
        ("put back", totals.put_back),
        ("at hand", totals.at_hand),
    ];
    let why: Vec<String> =
        totals.unused.iter().map(|(why, count)| format!("{} {count}", unused_words(*why))).collect();
    let why = format!(" ({})", why.join(", "));
    let said = all.iter().filter(|(_, count)| *count > 0).map(|(name, count)| {
        format!("{name} {count}{}", if *name == "not used" { why.as_str() } else { "" })
    });
    said.collect::<Vec<_>>().join(", ")
}

fn owed(owed: &Owed) -> String {
    cell(&format!(
        "box {}: {}{}, {}",
        owed.item.number,
        label_words(&owed.item.label),
        owed.item.label.lot.as_ref().map(|lot| format!(", lot {lot}")).unwrap_or_default(),
        owed.owner,
    ))
}

/// Left out where there is nothing to say.
fn section(page: &mut String, title: &str, items: Vec<String>) {
    if items.is_empty() {
        return;
    }
    line(page, &format!("## {title}"));
    for item in items {
        page.push_str("- ");
        page.push_str(&item);
        page.push('\n');
    }
    page.push('\n');
}

fn line(page: &mut String, text: &str) {
    page.push_str(text);
    page.push_str("\n\n");
}

fn row(page: &mut String, cells: &[String]) {
    // Writing to a String can't fail.
    let _ = writeln!(page, "| {} |", cells.join(" | "));
}
