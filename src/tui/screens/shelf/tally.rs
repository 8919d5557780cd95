//! Shelf work: boxes are received, counted or moved, each by its scan, or pulled off a list. While that runs, a scan goes
//! here unless a case waits for a box: then the case has the scanner. How many there are stands in letters that are
//! read from three metres.

use super::super::readback::ask_label;
use super::keys::{COUNT, MOVE, RECEIVE};
use crate::catalogue::{Catalogue, Owner, Piece};
use crate::label::{Label, Refusal};
use crate::shelf::{CountOutcome, Counted, Ground, Tally, Task, box_words};
use crate::tui::keys::*;
use crate::tui::model::{
    Effects, Field, Form, LastScan, List, Outcome, Scanning, Screen, Session, SumRow, ask,
};
use crate::tui::paint::{big, columns, put, put_line, put_lines, rows, theme, wrapped};
use crate::units::counted;
use ratatui::prelude::*;

place! {
    COUNTING: "While boxes are received, counted or moved", Own, within EVERYWHERE;
    DONE = new("tally-done", ["d"]) => "done: the sum", "see what the boxes come to; nothing is written yet";
    BACK = new("tally-back", ["u", "Backspace"]) => "take the last back", "take the last scan back";
    TYPE = new("tally-type", ["t"]) => "type label", "type a label that can't be scanned";
    CLOSE => "leave", "leave without writing; with boxes counted it asks for the key twice";
}

place! {
    SUM: "Before they are written", Own, within EVERYWHERE;
    WRITE = new("sum-write", ["w"]) => "WRITE it", "write it, as it stands here";
    CLOSE => "back", "back without writing";
    DOWN => "", "further down";
    UP => "", "further up";
}

/// Where the next key means something.
pub const fn place(scanning: &Scanning) -> &'static Place {
    match scanning.sum {
        Some(_) => &SUM,
        None => &COUNTING,
    }
}

pub fn act(session: &mut Session, action: Action) -> Effects {
    let summed = session.tally.as_ref().is_some_and(|scanning| scanning.sum.is_some());
    match action {
        DONE => see_sum(session),
        BACK => take_back(session),
        TYPE => ask_label(),
        WRITE => write_tally(session),
        CLOSE if summed => leave_sum(session),
        CLOSE => leave_tally(session),
        _ => Effects::new(),
    }
}

pub fn list(session: &mut Session) -> Option<List<'_>> {
    let scanning = session.tally.as_mut()?;
    let count = scanning.sum.as_ref()?.len();
    Some(List::new(&mut scanning.scroll, count))
}

pub fn offers(scanning: &Scanning, action: Action) -> bool {
    match action {
        BACK => scanning.tally.count() > 0,
        WRITE => scanning.changes_something(),
        _ => true,
    }
}

fn ground(session: &Session) -> Ground<'_> {
    Ground { shelf: &session.world.shelf, catalogue: &session.world.catalogue, today: session.world.today() }
}

/// Why a case has the scanner: one of its calls waits, or one of its boxes lies unopened in the room.
pub fn case_has_the_scanner(session: &Session) -> Option<String> {
    let code = session.world.open_case()?;
    let (waiting, at_hand) = (session.world.waiting().len(), session.world.at_hand().len());
    (waiting + at_hand > 0)
        .then(|| format!("case {code} has {waiting} to fetch and {at_hand} at hand: scans go to read-back"))
}

/// Whether a scan counts here instead of being read back.
pub fn takes_scans(session: &Session) -> bool {
    let scans = session.tally.as_ref().is_some_and(|scanning| scanning.tally.task.scans());
    scans
        && session.screen() == Screen::Shelf
        && (!crate::control::holds("case-has-the-scanner") || case_has_the_scanner(session).is_none())
}

/// Asks where, and whose, before the first box is scanned.
pub fn ask_place(session: &mut Session, key: Action) -> Effects {
    if let Some(why) = case_has_the_scanner(session) {
        return session.warn(format!("Not now: {why}"));
    }
    let place = |id, label: &str, hint: &str| Field::text(id, label, "", hint);
    let there = places(session);
    let known = if there.is_empty() { String::new() } else { format!("In use: {}", there.join(" · ")) };
    let leave = session.key(CLOSE);
    let scan_them = format!("Then scan them one by one. No scan is read back until you leave with {leave}.");
    let (title, intro, fields) = match key {
        RECEIVE => (
            "Receive boxes",
            scan_them.as_str(),
            vec![
                place("to", "they go to", "as the place is written"),
                Field::one_of("owner", "owner", vec!["own".into(), "consigned".into(), "borrowed".into()], 0),
                place("from", "borrowed from", "only where they are borrowed"),
            ],
        ),
        COUNT => (
            "Count one place",
            "Then scan all that lies there. Differences are shown before anything is written.",
            vec![place("to", "place", "as it is written")],
        ),
        _ => (
            "Move boxes",
            scan_them.as_str(),
            vec![
                place("to", "they go to", "as the place is written"),
                place("from", "from", "empty: wherever they lie"),
            ],
        ),
    };
    let form = Form::new(title, &[intro, &known], fields).by(key);
    ask(form, move |session, form| accept_place(session, key, form))
}

/// Every place where something lies, in cupboard order.
fn places(session: &Session) -> Vec<&str> {
    let mut places: Vec<&str> =
        session.world.shelf.pieces().into_iter().map(|piece| piece.shelf.as_str()).collect();
    places.dedup();
    places
}

fn accept_place(session: &mut Session, key: Action, form: &Form) -> Outcome {
    let (to, from) = (form.value("to"), form.value("from"));
    if to.is_empty() {
        return Err("Type the place as it is written on the shelf".into());
    }
    let task = match key {
        COUNT => Task::Count { place: to.clone() },
        MOVE if to == from => return Err("That is the place they are to come from".into()),
        MOVE => Task::Move { from: Some(from).filter(|from| !from.is_empty()), to: to.clone() },
        _ => {
            let owner = match (form.chosen("owner"), from.is_empty()) {
                (0 | 1, false) => {
                    return Err("Only borrowed boxes have a lender: choose borrowed, or empty it".into());
                }
                (0, true) => Owner::Own,
                (1, true) => Owner::Consigned,
                (_, true) => return Err("Type from whom they are borrowed".into()),
                (_, false) => Owner::Borrowed(from),
            };
            Task::Receive { place: to.clone(), owner }
        }
    };
    let is_new = !places(session).contains(&to.as_str());
    let words = task.words();
    session.tally = Some(Scanning::new(Tally::new(task)));
    Ok(if is_new {
        session.warn(format!("Nothing lies at {to} yet: is that how the place is written?"))
    } else {
        session.say(format!("Now {words}: scan the boxes"))
    })
}

pub fn begin_pull(session: &mut Session) -> Effects {
    session.tally = Some(Scanning::new(Tally::pull(ground(session))));
    see_sum(session)
}

/// One label, while boxes are scanned here.
pub fn count_scan(session: &mut Session, label: Result<Label, Refusal>, complete: bool) {
    let Some(mut scanning) = session.tally.take() else { return };
    (scanning.sum, scanning.leaving) = (None, false);
    let heard = match label {
        _ if !complete => Err("the scan broke off: scan it again".to_string()),
        Ok(label) => scanning.tally.take(&label, ground(session)),
        Err(refusal) => Err(refusal.message),
    };
    scanning.last = match heard {
        Ok(CountOutcome::Counted) => LastScan::Counted,
        Ok(CountOutcome::Half) => LastScan::Half,
        Err(why) => LastScan::NotCounted(why),
    };
    match (&scanning.last, scanning.tally.counted.last()) {
        (LastScan::Counted, Some(one)) if one.heed.is_empty() => session.say(&*one.words),
        (LastScan::Counted, Some(one)) => session.warn(format!("{}: {}", one.words, one.heed.join(", "))),
        (LastScan::Half, _) => session.warn("Half a label: scan its second code"),
        (LastScan::NotCounted(why), _) => session.warn(format!("NOT COUNTED: {why}")),
        _ => Effects::new(),
    };
    session.tally = Some(scanning);
}

/// A scan that went to read-back although boxes were being counted.
pub fn warn_not_counted(session: &mut Session) {
    let scans = session.tally.as_ref().filter(|scanning| scanning.tally.task.scans());
    let Some(task) = scans.map(|scanning| scanning.tally.task.words()) else { return };
    let key = session.key(GO_SHELF);
    session.warn(format!("Read back, NOT COUNTED: {key} goes on {task}"));
}

/// The shelf has changed under the sum that is shown.
pub fn refresh_sum(session: &mut Session) {
    if session.tally.as_ref().is_some_and(|scanning| scanning.sum.is_some()) {
        see_sum(session);
    }
}

fn see_sum(session: &mut Session) -> Effects {
    let Some(scanning) = &session.tally else { return Effects::new() };
    let changes = scanning.tally.changes(&session.world.shelf);
    let rows = changes
        .iter()
        .map(|change| SumRow {
            words: format!(
                "{}: {}",
                change.piece.shelf,
                piece_words(&change.piece, &session.world.catalogue)
            ),
            before: change.before,
            after: change.piece.count,
        })
        .collect();
    if let Some(scanning) = &mut session.tally {
        (scanning.sum, scanning.scroll) = (Some(rows), 0);
    }
    Effects::new()
}

/// Back to the boxes; a list that was not scanned is left.
fn leave_sum(session: &mut Session) -> Effects {
    match &mut session.tally {
        Some(scanning) if scanning.tally.task.scans() => {
            scanning.sum = None;
            Effects::new()
        }
        _ => {
            session.tally = None;
            session.say("Left; nothing was written")
        }
    }
}

fn take_back(session: &mut Session) -> Effects {
    let Some(scanning) = &mut session.tally else { return Effects::new() };
    scanning.leaving = false;
    match scanning.tally.take_back() {
        Some(Counted { words, .. }) => {
            scanning.last = LastScan::TakenBack(words.clone());
            session.say(format!("Taken back: {words}"))
        }
        None => {
            scanning.last = LastScan::Nothing;
            session.say("Nothing is counted")
        }
    }
}

fn leave_tally(session: &mut Session) -> Effects {
    let (leave, done) = (session.key(CLOSE), session.key(DONE));
    let Some(scanning) = &mut session.tally else { return Effects::new() };
    let count = scanning.tally.count();
    if count > 0 && !scanning.leaving {
        scanning.leaving = true;
        return session.warn(format!(
            "{count} counted and NOT WRITTEN: {leave} again forgets them, {done} shows the sum"
        ));
    }
    session.tally = None;
    session.say("Left; nothing was written. Scans are read back again")
}

fn write_tally(session: &mut Session) -> Effects {
    if let Some(why) = session.world.shelf.unread() {
        return session.warn(why);
    }
    let Some(scanning) = session.tally.take_if(|scanning| scanning.changes_something()) else {
        return session.say("Nothing changes: there is nothing to write");
    };
    session.write_for_room(scanning.tally.facts())
}

/// `3.00 × 29 Fell (FL30029), lot K7, SN 4, use by 2027-02-28, consigned`.
fn piece_words(piece: &Piece, catalogue: &Catalogue) -> String {
    let mut words = format!("{}, lot {}", box_words(piece, catalogue), piece.lot);
    if let Some(serial) = &piece.serial {
        words.push_str(&format!(", SN {serial}"));
    }
    if let Some(day) = piece.use_by {
        words.push_str(&format!(", use by {day}"));
    }
    if piece.owner != Owner::Own {
        words.push_str(&format!(", {}", piece.owner));
    }
    words
}

/// Rows of the big letters and of what stands above and below them.
const LIST_FROM: u16 = 12;

pub fn draw(session: &Session, scanning: &Scanning, area: Rect, buffer: &mut Buffer) {
    bar(session, scanning, rows(area, 0, 1), buffer);
    let area = columns(area, 1, area.width.saturating_sub(2));
    match &scanning.sum {
        Some(changes) => sum(session, scanning, changes, area, buffer),
        None => counting(scanning, area, buffer),
    }
}

/// Unmistakable: where a scan goes now.
fn bar(session: &Session, scanning: &Scanning, area: Rect, buffer: &mut Buffer) {
    let task = scanning.tally.task.words().to_uppercase();
    let words = match case_has_the_scanner(session) {
        _ if !scanning.tally.task.scans() => format!(" {task}"),
        Some(why) => format!(" NOT COUNTING: {why}"),
        None => format!(" {task} · scans are COUNTED HERE, not read back"),
    };
    buffer.set_style(area, theme::BAR);
    put(buffer, area, 0, 0, &words, theme::BAR);
}

fn counting(scanning: &Scanning, area: Rect, buffer: &mut Buffer) {
    let tally = &scanning.tally;
    let (words, style) = match &scanning.last {
        LastScan::NotCounted(_) => ("NOT COUNTED".to_string(), theme::STOP),
        LastScan::Half => (format!("{} + half", tally.count()), theme::WARNING),
        _ => (tally.count().to_string(), theme::STRONG),
    };
    big::draw(buffer, rows(area, 2, 7), &words, style, &[]);
    let line = match (&scanning.last, tally.counted.last()) {
        (LastScan::NotCounted(why), _) => {
            Line::styled(format!("{} count. The last: {why}", tally.count()), theme::STOP)
        }
        (LastScan::Half, _) => Line::styled("half a label: scan its second code", theme::WARNING),
        (LastScan::TakenBack(words), _) => Line::styled(format!("taken back: {words}"), theme::WARNING),
        (_, Some(_)) => Line::styled("boxes, not written yet; the last ones:", theme::QUIET),
        (_, None) => Line::styled("scan the first box", theme::QUIET),
    };
    put_line(buffer, area, 0, 10, line);
    let room = usize::from(area.height.saturating_sub(LIST_FROM));
    let list = tally.counted.iter().enumerate().rev().take(room).map(|(place, one)| {
        let newest = place + 1 == tally.counted.len();
        let style = if newest { theme::STRONG } else { theme::PLAIN };
        let serial = one.piece.serial.as_ref().map(|serial| format!(" SN {serial}")).unwrap_or_default();
        let mut spans = vec![
            Span::styled(format!("{:>4}  ", place + 1), theme::QUIET),
            Span::styled(format!("{}  lot {}{serial}", one.words, one.piece.lot), style),
        ];
        if !one.heed.is_empty() {
            spans.push(Span::styled(format!("  ! {}", one.heed.join(", ")), theme::WARNING));
        }
        Line::from(spans)
    });
    put_lines(buffer, rows(area, LIST_FROM, area.height), list);
}

fn sum(session: &Session, scanning: &Scanning, changes: &[SumRow], area: Rect, buffer: &mut Buffer) {
    let (write, back) = (session.key(WRITE), session.key(CLOSE));
    let words = if changes.is_empty() {
        format!("{}: nothing changes. {back} goes back", counted(scanning.tally.count(), "box"))
    } else {
        let rows = changes.len();
        format!(
            "Boxes: {}; rows that change: {rows}. NOT WRITTEN YET: {write} writes, {back} goes back",
            scanning.tally.count()
        )
    };
    put(buffer, area, 0, 2, &words, theme::WARNING);
    let list = rows(area, 4, area.height);
    let told: Vec<Vec<Line>> = changes.iter().map(|row| change(row, list.width)).collect();
    // The last row that scrolling reaches stands at the bottom.
    let mut room = usize::from(list.height);
    let below = told.iter().rev().take_while(|lines| {
        let fits = lines.len() <= room;
        room = room.saturating_sub(lines.len());
        fits
    });
    let first = scanning.scroll.min(told.len().saturating_sub(below.count().max(1)));
    put_lines(buffer, list, told.into_iter().skip(first).flatten());
}

/// What changes in one row of the shelf; what has no room goes on below: a use-by date is not left out.
fn change(row: &SumRow, width: u16) -> Vec<Line<'static>> {
    let difference = i64::from(row.after) - i64::from(row.before);
    let style = if difference < 0 { theme::WARNING } else { theme::STRONG };
    let change = format!("{difference:>+4}  {:>3} → {:<3} ", row.before, row.after);
    let inset = Span::raw(&change).width();
    let words = wrapped(&row.words, width.saturating_sub(u16::try_from(inset).unwrap_or(u16::MAX)));
    let lead = |place: usize| if place == 0 { change.clone() } else { " ".repeat(inset) };
    let lines = words.into_iter().enumerate();
    lines.map(|(place, text)| Line::from(vec![Span::styled(lead(place), style), Span::raw(text)])).collect()
}
