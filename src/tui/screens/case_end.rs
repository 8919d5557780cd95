//! Case end: what is unsettled first, then sign-off and the record.

#![allow(clippy::cast_possible_truncation, reason = "columns of a line")]

use crate::case::{Case, Cost, Totals, unused_words};
use crate::catalogue::Owner;
use crate::journal::{CaseCode, Fact};
use crate::report::{self, Section};
use crate::shelf::Owed;
use crate::tui::keys::*;
use crate::tui::model::session::PAGE;
use crate::tui::model::{
    Canvas, Component, Effect, Effects, Field, Form, List, Outcome, Screen, Session, ask,
};
use crate::tui::paint::{columns, put_scrolled, theme, wrapped};
use crate::units::plain;
use ratatui::prelude::*;

place! {
    PLACE: "Case end", Shared, within EVERYWHERE;
    ACCEPT => "", "sign a settled case off, straight after this screen was opened";
    SIGN_OFF = needed("sign-off", ["s"])
        => "sign off", "sign the case off; with something unsettled it asks why";
    WRITE_RECORD = new("write-record", ["w"])
        => "write record", "write the record into the room's folder now";
    DOWN => "", "further down";
    UP => "", "further up";
    PAGE_DOWN => "further", "a page further down";
    PAGE_UP => "", "a page further up";
}

/// The places of this screen and its overlays.
pub const PLACES: &[&Place] = &[&PLACE];

/// The case that is shown, as it ends.
#[derive(Debug, Clone, Default)]
pub struct CaseEnd {
    scroll: usize,
    /// Nothing was pressed since it was opened but what scrolls it.
    fresh: bool,
}

/// Columns of the smallest screen.
const NARROWEST: usize = 76;

impl CaseEnd {
    /// One key alone signs no more: something else was turned to, or pressed.
    pub fn end_shortcut(&mut self) {
        if crate::control::holds("sign-off-only-fresh") {
            self.fresh = false;
        }
    }

    /// It has been signed off: the page begins at its top.
    pub fn signed(&mut self) {
        self.scroll = 0;
    }

    /// Everything is settled, nobody has signed, and this screen was opened by the key before: Enter signs off.
    pub fn signs_at_once(&self, session: &Session) -> bool {
        let settled = |case: &Case| case.signed.is_none() && case.unsettled().is_empty();
        self.fresh && session.screen() == Screen::CaseEnd && session.world.case.as_ref().is_some_and(settled)
    }
}

impl Component for CaseEnd {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        match (action, &session.world.case) {
            (ACCEPT, _) if self.signs_at_once(session) => {
                self.fresh = false;
                self.scroll = 0;
                session.write_in_shown_case(vec![Fact::SignedOff { unsettled: 0, why: None }])
            }
            (ACCEPT, _) => {
                let (key, alone) = (session.key(SIGN_OFF), session.key(ACCEPT));
                session.say(format!(
                    "{key} signs off: {alone} alone does it only of a settled case, straight after it was opened"
                ))
            }
            (SIGN_OFF, _) => ask_sign_off(session),
            (WRITE_RECORD, Some(case)) => vec![Effect::Record(case.code.clone()).into()],
            (WRITE_RECORD, None) => session.say("There is no case to write a record of"),
            _ => Effects::new(),
        }
    }

    fn list<'a>(&'a mut self, session: &'a mut Session) -> Option<List<'a>> {
        // Not far past the end, or the way back up would seem dead. How much a screen shows is the view's business,
        // so this counts the lines themselves.
        let case = session.world.case.as_ref()?;
        let told = report::told(case, &session.world.policy.currency, NARROWEST);
        let parts = told.lesions.iter().chain([&told.drawn, &told.time_line, &told.wasted]);
        let most = case.unsettled().len() + parts.map(|part| part.lines.len() + 2).sum::<usize>();
        Some(List::new(&mut self.scroll, most + 1).paged(PAGE))
    }

    fn offers(&self, session: &Session, action: Action) -> bool {
        match action {
            SIGN_OFF => session.world.case.as_ref().is_some_and(|case| !case.is_closed()),
            WRITE_RECORD => session.world.case.is_some(),
            _ => true,
        }
    }

    /// It signs: what was scanned on this screen a moment ago must be looked at first.
    fn decides(&self, session: &Session, action: Action) -> bool {
        [ACCEPT, SIGN_OFF].contains(&action) && session.findings.watched.rest_on == Some(Screen::CaseEnd)
    }

    fn entered(&mut self, _: &mut Session) {
        (self.fresh, self.scroll) = (true, 0);
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, .. }: Canvas) {
        let area = columns(area, 1, area.width.saturating_sub(2));
        let lines = lines(session, self.signs_at_once(session), area.width);
        put_scrolled(buffer, area, lines, self.scroll, &session.key(DOWN));
    }
}

/// The place is said once: on Case end it stands in the page.
pub fn record_written(session: &mut Session, code: CaseCode, place: String) -> Effects {
    session.record = Some((code.clone(), place.clone()));
    let on_page = session.screen() == Screen::CaseEnd && session.record_place().is_some();
    session.say(match on_page {
        true => format!("The record of case {code} is written"),
        false => format!("The record of case {code} is in {place}"),
    })
}

fn ask_sign_off(session: &mut Session) -> Effects {
    let Some(case) = &session.world.case else { return session.say("There is no case to sign off") };
    if case.is_closed() {
        return session.say(format!("Case {} is signed off", case.code));
    }
    let unsettled = case.unsettled().len();
    let title = format!("Sign off case {}", case.code);
    if unsettled == 0 {
        let intro = format!("Everything is settled. {} signs off.", session.key(ACCEPT));
        ask(Form::new(title, &[&intro], Vec::new()).by(SIGN_OFF).deciding(), accept_sign_off)
    } else {
        let intro = format!(
            "{unsettled} unsettled. Say why it is signed all the same, or {} and settle first.",
            session.key(CLOSE)
        );
        let fields = vec![Field::text("why", "why", "", "as: the next patient is coming")];
        ask(Form::new(title, &[&intro], fields).by(SIGN_OFF).deciding(), accept_sign_off)
    }
}

fn accept_sign_off(session: &mut Session, form: &Form) -> Outcome {
    let Some(case) = &session.world.case else { return Ok(Vec::new()) };
    let unsettled = case.unsettled().len();
    let why = form.given("why");
    if crate::control::holds("sign-off-asks-why") && unsettled > 0 && why.is_none() {
        return Err(format!("{unsettled} unsettled: say why it is signed all the same"));
    }
    let unsettled = u32::try_from(unsettled).unwrap_or(u32::MAX);
    Ok(session.write_in_shown_case(vec![Fact::SignedOff { unsettled, why }]))
}

/// The last line that scrolling reaches stands at the bottom: further down there is nothing.
fn lines(session: &Session, signs_at_once: bool, width: u16) -> Vec<Line<'static>> {
    let Some(case) = &session.world.case else {
        return vec![Line::styled("No case is open.", theme::STRONG)];
    };
    let mut lines = Vec::new();
    let unsettled = case.unsettled();
    match (&case.signed, unsettled.len()) {
        (Some(signed), left) => {
            let by = match (&signed.why, signed.unsettled) {
                (_, 0) => "signed off".to_string(),
                (Some(why), count) => format!("signed with {count} unsettled: {why}"),
                (None, count) => format!("signed with {count} unsettled"),
            };
            let left = if left == 0 { String::new() } else { format!("; {left} still to settle") };
            told(&mut lines, &format!("Case {} {by}{left}", case.code), width, theme::GOOD);
        }
        (None, 0) => {
            let key = if signs_at_once { ACCEPT } else { SIGN_OFF };
            lines.push(Line::from(vec![
                Span::styled("Everything is settled. ", theme::GOOD),
                Span::styled(session.key(key), theme::KEY),
                Span::raw(" signs off."),
            ]));
        }
        (None, count) => lines.push(Line::styled(format!("{count} to settle first:"), theme::WARNING)),
    }
    for thing in &unsettled {
        told(&mut lines, &format!("  {}", thing.words()), width, theme::WARNING);
    }
    if let Some(place) = session.record_place() {
        let words = format!("Its record: {place}; beside it as .csv, .json and .fhir.json");
        told(&mut lines, &words, width, theme::PLAIN);
    }
    totals(session, width, &mut lines);
    cupboard(session, width, &mut lines);
    let mut parts = report::told(case, &session.world.policy.currency, usize::from(width).saturating_sub(2));
    // The time line tells the story line by line.
    for (text, line) in parts.time_line.lines.iter_mut().zip(&case.story) {
        if session.is_unsaved(line.seq) {
            text.insert_str(0, "NOT SAVED ");
        }
    }
    for part in [parts.wasted, parts.drawn].into_iter().chain(parts.lesions).chain([parts.time_line]) {
        section(&part, width, &mut lines);
    }
    lines
}

fn totals(session: &Session, width: u16, lines: &mut Vec<Line<'static>>) {
    let Some(case) = &session.world.case else { return };
    let totals = case.totals();
    lines.push(Line::raw(""));
    lines.push(Line::styled(totals.words(), theme::STRONG));
    let currency = &session.world.policy.currency;
    let cost = match case.cost() {
        cost if totals.opened > cost.unpriced => format!(" · opened in all {}", money(&cost, currency)),
        _ => String::new(),
    };
    lines.push(Line::raw(format!("put back unopened {}{cost}", totals.put_back)));
    if totals.unused_in_all() > 0 {
        let words = format!("opened, not used: {} · cost {}", why(&totals), money(&case.waste(), currency));
        told(lines, &words, width, theme::PLAIN);
    }
    let products = case.totals_by_product();
    for (name, totals) in products.iter().filter(|(_, totals)| totals.opened > 0 && products.len() > 1) {
        let parts = [
            ("implanted", totals.implanted),
            ("used", totals.used),
            ("not used", totals.unused_in_all()),
            ("lost", totals.lost),
            ("not found", totals.not_found),
            ("open", totals.unsettled),
        ];
        let parts: Vec<String> = parts
            .iter()
            .filter(|(_, count)| *count > 0)
            .map(|(part, count)| format!("{part} {count}"))
            .collect();
        let why = if totals.unused.is_empty() { String::new() } else { format!(" ({})", why(totals)) };
        told(
            lines,
            &format!("  {name}: opened {} = {}{why}", totals.opened, parts.join(" + ")),
            width,
            theme::PLAIN,
        );
    }
}

fn why(totals: &Totals) -> String {
    let why = totals.unused.iter().map(|(why, count)| format!("{} {count}", unused_words(*why)));
    why.collect::<Vec<_>>().join(", ")
}

fn money(cost: &Cost, currency: &str) -> String {
    let unpriced =
        if cost.unpriced > 0 { format!(" and {} without a price", cost.unpriced) } else { String::new() };
    format!("{} {currency}{unpriced}", plain(cost.cost))
}

fn cupboard(session: &Session, width: u16, lines: &mut Vec<Line<'static>>) {
    if let Some(why) = session.world.shelf.unread() {
        lines.push(Line::raw(""));
        lines.push(Line::styled(
            format!("{why}: what goes back to the cupboard is told then"),
            theme::WARNING,
        ));
        return;
    }
    let lists = cupboard_lists(session);
    for (title, list) in [
        ("Refill, in cupboard order", lists.refill),
        ("Consigned, used", lists.consigned),
        ("To return", lists.to_return),
    ] {
        section(&Section { title: title.into(), lines: list, drawn: false }, width, lines);
    }
}

/// Left out where there is nothing to say.
fn section(section: &Section, width: u16, lines: &mut Vec<Line<'static>>) {
    if section.lines.is_empty() {
        return;
    }
    lines.push(Line::raw(""));
    lines.push(Line::styled(section.title.clone(), theme::TITLE));
    for line in &section.lines {
        let style = if line.ends_with("[STRUCK OUT]") { theme::QUIET } else { theme::PLAIN };
        if section.drawn && Span::raw(line).width() + 2 <= usize::from(width) {
            lines.push(Line::styled(format!("  {line}"), style));
        } else {
            told(lines, &format!("  {line}"), width, style);
        }
    }
}

/// Broken at spaces; what follows stands two columns further in.
fn told(lines: &mut Vec<Line<'static>>, text: &str, width: u16, style: Style) {
    let inset = text.len() - text.trim_start().len();
    for (row, part) in wrapped(text, width.saturating_sub(inset as u16 + 2)).into_iter().enumerate() {
        let inset = if row == 0 { inset } else { inset + 2 };
        lines.push(Line::styled(format!("{}{part}", " ".repeat(inset)), style));
    }
}

/// What goes back into the cupboard, what is paid for, what is owed.
#[derive(Default)]
struct CupboardLists {
    refill: Vec<String>,
    consigned: Vec<String>,
    to_return: Vec<String>,
}

/// What the case took out of the cupboard, for its end.
fn cupboard_lists(session: &Session) -> CupboardLists {
    let Some(case) = &session.world.case else { return CupboardLists::default() };
    let shelf = &session.world.shelf;
    let refill = shelf.refill(case).into_iter().map(|line| {
        let place = if line.place.is_empty() { "no place known".into() } else { line.place };
        format!("×{} {} {} ▸ {place}", line.count, line.words, line.reference)
    });
    let words = |owed: &Owed| match &owed.owner {
        Owner::Borrowed(from) => format!("{} to {from}", owed.item.words()),
        _ => owed.item.words(),
    };
    CupboardLists {
        refill: refill.collect(),
        consigned: shelf.consigned_used(case).iter().map(words).collect(),
        to_return: shelf.to_return(case).iter().map(words).collect(),
    }
}
