//! Shelf: what is there, what runs out or expires, which vessels it cannot serve.

mod keys;
pub mod tally;

pub use keys::*;

use crate::journal::Fact;
use crate::shelf::{AHEAD, BailOut, Day, Lying, ParItem, Ready, SizeOnHand, bands};
use crate::sources::cite;
use crate::tui::columns::{padded, padded_at_least, widest};
use crate::tui::keys::*;
use crate::tui::model::session::PAGE;
use crate::tui::model::{Canvas, Component, Effects, Field, Form, List, Outcome, Screen, Session, ask, go};
use crate::tui::paint::{Spot, columns, in_columns, put_line, put_scrolled, rows, theme};
use crate::udi::DeviceId;
use crate::units::{French, by_count, counted, plain};
use chrono::NaiveDate;
use ratatui::text::{Line, Span};
use tally::{ask_place, begin_pull};
use unicode_width::UnicodeWidthStr;

/// The places of this screen.
pub const PLACES: &[&Place] = &[&PLACE, &tally::COUNTING, &tally::SUM];

/// Columns that a row has on the smallest screen.
const SMALLEST: usize = 78;

/// One line of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Row {
    words: String,
    /// To be heeded.
    warns: bool,
    /// A heading.
    strong: bool,
}

impl Row {
    /// Lines that it takes on the smallest screen at most: one, or what it is broken into at its spaces.
    fn lines(&self) -> usize {
        match self.words.width() {
            ..=SMALLEST => 1,
            wide => wide.div_ceil(SMALLEST * 2 / 3),
        }
    }

    fn quiet(words: impl Into<String>) -> Self {
        Row { words: words.into(), warns: false, strong: false }
    }

    fn warns(words: impl Into<String>) -> Self {
        Row { words: words.into(), warns: true, strong: false }
    }

    fn heading(words: impl Into<String>) -> Self {
        Row { words: words.into(), warns: false, strong: true }
    }
}

/// The pages of the shelf.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Page {
    /// The start of the day.
    Today,
    BySize,
    RunsOut,
    Expires,
    Recalled,
    Gaps,
    BailOut,
}

/// In the order in which → goes through them.
const PAGES: &[(Page, &str)] = &[
    (Page::Today, "today"),
    (Page::BySize, "by size"),
    (Page::RunsOut, "runs out"),
    (Page::Expires, "expires"),
    (Page::Recalled, "recalled"),
    (Page::Gaps, "gaps"),
    (Page::BailOut, "bail-out"),
];

/// Page, last entry, day, guide, and which catalogue.
type Asked = (Page, u64, NaiveDate, Option<French>, u64);

/// The page that is shown, worked out once: thousands of boxes are not gone through for each frame.
#[derive(Debug, Clone, Default, PartialEq)]
struct Shown {
    of: Option<(Asked, Option<String>)>,
    rows: Vec<Row>,
}

/// The pages of the shelf; while boxes are received, counted or moved, those.
#[derive(Debug, Clone, Default)]
pub struct Shelf {
    /// In [`PAGES`].
    page: usize,
    scroll: usize,
    shown: Shown,
}

impl Shelf {
    /// The words of the page that is shown, a row each.
    pub fn words(&self) -> Vec<&str> {
        self.shown.rows.iter().map(|row| row.words.as_str()).collect()
    }

    fn turn_page(&mut self, by: usize) -> Effects {
        self.page = (self.page + by) % PAGES.len();
        self.scroll = 0;
        Effects::new()
    }

    /// Works the page out again if what it says may have changed.
    pub fn renew(&mut self, session: &Session) {
        if session.screen() != Screen::Shelf || session.tally.is_some() {
            return;
        }
        let world = &session.world;
        let catalogue = world.catalogue_version();
        let guide = session.work.measured.guide;
        let unread = world.shelf.unread();
        let of = Some(((self.page(), world.last_seq(), world.today(), guide, catalogue), unread));
        if self.shown.of != of {
            self.shown = Shown { of, rows: self.page_rows(session) };
        }
    }

    fn page_rows(&self, session: &Session) -> Vec<Row> {
        if let Some(why) = session.world.shelf.unread() {
            return vec![Row::warns(why)];
        }
        let (world, guide) = (&session.world, session.work.measured.guide);
        if self.page() == Page::BySize {
            return by_size(session);
        }
        let day = Day::new(&world.shelf, &world.catalogue, &world.policy, guide, world.today());
        let pull = session.key(PULL);
        match self.page() {
            Page::Today | Page::BySize => today(&day),
            Page::RunsOut => runs_out(&day, world.policy.par.len()),
            Page::Expires => expires(&day, &pull),
            Page::Recalled => recalled(&day, world.shelf.recalls().len(), &session.key(RECALL), &pull),
            Page::Gaps => gaps(&day),
            Page::BailOut => bail_out_page(&day),
        }
    }

    fn page(&self) -> Page {
        PAGES[self.page % PAGES.len()].0
    }
}

impl Component for Shelf {
    fn place(&self, session: &Session) -> &'static Place {
        session.tally.as_ref().map_or(&PLACE, tally::place)
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        if session.tally.is_some() {
            return tally::act(session, action);
        }
        match (action, session.world.shelf.unread()) {
            (RECEIVE | COUNT | MOVE | PULL, Some(why)) => session.say(why),
            (RIGHT, _) => self.turn_page(1),
            (LEFT, _) => self.turn_page(PAGES.len() - 1),
            (RECEIVE, _) => ask_place(session, RECEIVE),
            (COUNT, _) => ask_place(session, COUNT),
            (MOVE, _) => ask_place(session, MOVE),
            (PULL, _) => begin_pull(session),
            (RECALL, _) => {
                let fields = vec![
                    Field::text("lot", "lot", "", "as on the notice"),
                    Field::text("di", "identifier", "", "empty: that lot of any product"),
                ];
                let intro = "From now on a box of this lot stops a read-back.";
                ask(Form::new("A lot is recalled", &[intro], fields).by(RECALL).surviving(), accept_recall)
            }
            _ => Effects::new(),
        }
    }

    fn list<'a>(&'a mut self, session: &'a mut Session) -> Option<List<'a>> {
        if session.tally.is_some() {
            return tally::list(session);
        }
        // Not past the end of what the smallest screen shows, or the way back up would seem dead.
        let lines: usize = self.shown.rows.iter().map(Row::lines).sum();
        Some(List::new(&mut self.scroll, lines.saturating_sub(PAGE) + 1).paged(PAGE))
    }

    fn offers(&self, session: &Session, action: Action) -> bool {
        session.tally.as_ref().is_none_or(|scanning| tally::offers(scanning, action))
    }

    fn clicked(&mut self, _: &mut Session, spot: Spot) {
        if let Spot::Page(page) = spot {
            (self.page, self.scroll) = (page, 0);
        }
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, hits, .. }: Canvas) {
        if let Some(scanning) = &session.tally {
            return tally::draw(session, scanning, area, buffer);
        }
        let area = columns(area, 1, area.width.saturating_sub(2));
        let mut tabs = vec![Span::styled("← → ", theme::KEY)];
        let mut left = Line::from(tabs.clone()).width();
        for (index, (page, name)) in PAGES.iter().enumerate() {
            let wide = name.len() + 2;
            let column = |at: usize| u16::try_from(at).unwrap_or(u16::MAX);
            hits.add_in_row(area, column(left), 0, column(wide), Spot::Page(index));
            left += wide;
            let style = if *page == self.page() { theme::CURSOR } else { theme::PLAIN };
            tabs.push(Span::styled(format!(" {name} "), style));
        }
        put_line(buffer, area, 0, 0, Line::from(tabs));
        let room = rows(area, 2, area.height);
        let lines: Vec<Line> = self
            .shown
            .rows
            .iter()
            .flat_map(|row| {
                let style = match (row.warns, row.strong) {
                    (true, _) => theme::WARNING,
                    (_, true) => theme::TITLE,
                    _ => theme::PLAIN,
                };
                in_columns(&row.words, room.width).into_iter().map(move |text| Line::styled(text, style))
            })
            .collect();
        put_scrolled(buffer, room, lines, self.scroll, &session.key(DOWN));
    }
}

fn accept_recall(session: &mut Session, form: &Form) -> Outcome {
    let lot = form.required("lot", "Type the lot as it stands on the recall notice")?;
    let di = match form.value("di") {
        text if text.is_empty() => None,
        text => Some(DeviceId::parse(&text).map_err(|fault| fault.to_string())?),
    };
    Ok(go(Screen::Shelf, session.write_for_room(vec![Fact::LotRecalled { di, lot }])))
}

fn by_size(session: &Session) -> Vec<Row> {
    let world = &session.world;
    let sizes = world.shelf.on_hand_by_size(&world.catalogue, world.today());
    let wide = names(sizes.iter().map(|size| size.name.as_str()));
    let mut rows: Vec<Row> = sizes
        .into_iter()
        .map(|size| {
            let SizeOnHand { name, reference, in_date, expired, recalled, .. } = &size;
            let what = size_text(&size);
            let (name, reference) = (padded(name, wide), padded_at_least(reference, 9));
            let mut words = format!("{name} {what:<10} {reference} ×{in_date:<3} {}", size.place_words());
            if *expired > 0 {
                words.push_str(&format!(" · EXPIRED ×{expired}"));
            }
            if *recalled > 0 {
                words.push_str(&format!(" · RECALLED ×{recalled}"));
            }
            Row { words, warns: expired + recalled > 0, strong: false }
        })
        .collect();
    let strangers = world.shelf.not_in_catalogue(&world.catalogue);
    rows.extend(strangers.into_iter().map(|piece| {
        Row::warns(format!(
            "NOT IN THE CATALOGUE: {} lot {} ×{} {}",
            piece.di, piece.lot, piece.count, piece.shelf
        ))
    }));
    if rows.is_empty() {
        let receive = session.key(RECEIVE);
        rows.push(Row::quiet(format!(
            "Nothing lies here: {receive} receives boxes, stock load reads a list"
        )));
    }
    rows
}

/// The start of the day: what has to be seen to before the first case, the gravest first.
fn today(day: &Day) -> Vec<Row> {
    let mut rows = vec![match &day.ready {
        Ready::Complete => Row::heading("BAIL-OUT COMPLETE: a covered stent in date, every item at its par"),
        Ready::NotSaid => Row::heading("Bail-out: a covered stent is in date; the policy names nothing else"),
        Ready::Missing(missing) => Row::warns(format!("BAIL-OUT NOT COMPLETE: {} missing", missing.len())),
    }];
    if let Ready::Missing(missing) = &day.ready {
        rows.extend(missing.iter().map(|what| Row::warns(format!("  {what}"))));
    }
    rows.extend(bail_rows(day));
    let mut part = |heading: String, lines: Vec<Row>| {
        if !lines.is_empty() {
            rows.push(Row::heading(heading));
            rows.extend(lines);
        }
    };
    part("Recalled and still there: pull".into(), lying_rows(&day.recalled, true));
    part("Expired and still there: pull".into(), lying_rows(&day.expired, true));
    part("Expires today".into(), lying_rows(day.expires_in(0, 0), true));
    part(
        "Gaps: no drug-eluting stent in date for a normal lumen".into(),
        day.gaps.iter().map(gap_row).collect(),
    );
    let wide = names(day.last.iter().map(|size| size.name.as_str()));
    let last = day.last.iter().map(|size| {
        Row::quiet(format!(
            "  {:<10} {} {} {}",
            size_text(size),
            padded(&size.name, wide),
            padded_at_least(&size.reference, 9),
            size.place_words()
        ))
    });
    part("Last piece of its size in date".into(), last.collect());
    rows
}

fn runs_out(day: &Day, pars: usize) -> Vec<Row> {
    if day.short.is_empty() {
        return vec![Row::quiet(format!(
            "Nothing is below par: {} {} one",
            counted(pars, "item"),
            by_count(pars, "has", "have")
        ))];
    }
    let row = |short: &crate::shelf::Short| Row {
        words: format!(
            "{:<12} have ×{:<3} want ×{:<3} {}",
            short.item,
            short.have,
            short.wanted,
            short.place_words()
        ),
        warns: short.have == 0,
        strong: false,
    };
    day.short.iter().map(row).collect()
}

/// In the order in which they are to be used up.
fn expires(day: &Day, pull: &str) -> Vec<Row> {
    let mut rows = lying_rows(&day.expired, true);
    if !rows.is_empty() {
        rows.insert(0, Row::heading(format!("EXPIRED and still there: {pull} pulls them")));
    }
    let mut from = 0;
    for to in AHEAD {
        let heading = match from {
            0 => format!("Within {}, first expired first out", counted(to, "day")),
            from => format!("{from} to {}", counted(to, "day")),
        };
        rows.push(Row::heading(heading));
        let before = rows.len();
        rows.extend(lying_rows(day.expires_in(from, to), false));
        if rows.len() == before {
            rows.push(Row::quiet("  nothing"));
        }
        from = to + 1;
    }
    rows
}

fn recalled(day: &Day, lots: usize, recall: &str, pull: &str) -> Vec<Row> {
    let mut rows = lying_rows(&day.recalled, true);
    rows.push(Row::quiet(match (rows.is_empty(), lots) {
        (true, 0) => format!("No lot is recalled: {recall} types one, stock recall reads a list"),
        (true, lots) => format!("Nothing that lies here is of the {}", counted(lots, "recalled lot")),
        (false, _) => format!("{pull} pulls them off the shelf; boxcall trace finds who had one"),
    }));
    rows
}

fn gaps(day: &Day) -> Vec<Row> {
    let mut rows: Vec<Row> = day.gaps.iter().map(gap_row).collect();
    if rows.is_empty() {
        let names: Vec<&str> = bands().iter().map(|(name, ..)| *name).collect();
        rows.push(Row::quiet(format!(
            "No gap: a drug-eluting stent in date is labelled within the band of segments {}",
            names.join(", ")
        )));
    }
    rows.push(Row::quiet(format!(
        "Bands: mean ± 2 SD of {}; left main: hull of three series",
        cite!("dodge-1992")
    )));
    rows.push(Row::quiet("boxcall shelf gaps tells the share of lesions served, and what one more box adds"));
    rows
}

fn bail_out_page(day: &Day) -> Vec<Row> {
    let mut rows = bail_rows(day);
    if rows.is_empty() {
        rows.push(Row::warns("NO covered stent in date"));
    }
    let wide = names(day.items.iter().map(|item| item.name.as_deref().unwrap_or_default()));
    rows.extend(day.items.iter().map(|item| {
        let ParItem { level, name, .. } = item;
        let place = level.place_words();
        let missing = if item.is_missing() { " · MISSING" } else { "" };
        let (name, number) =
            (padded(name.as_deref().unwrap_or_default(), wide), padded_at_least(&level.item, 9));
        let words = format!("  {name} {number} ×{} of {} ▸ {place}{missing}", level.have, level.wanted);
        Row { words, warns: item.is_missing(), strong: false }
    }));
    rows
}

fn bail_rows(day: &Day) -> Vec<Row> {
    let wide = names(day.bail_out.iter().map(|stent| stent.size.name.as_str()));
    let place = widest(day.bail_out.iter().map(|stent| stent.size.place_words()), 10, 30);
    let row = |stent: &BailOut| Row {
        words: format!(
            "  {:<10} {} ×{:<3} {}  {}",
            size_text(&stent.size),
            padded(&stent.size.name, wide),
            stent.size.in_date,
            padded_at_least(stent.size.place_words(), place),
            stent.words
        ),
        warns: stent.guide_ok == Some(false),
        strong: false,
    };
    day.bail_out.iter().map(row).collect()
}

/// Columns for the names of products.
fn names<'a>(names: impl Iterator<Item = &'a str>) -> u16 {
    widest(names, 8, 24)
}

fn gap_row(gap: &crate::shelf::Gap) -> Row {
    Row::warns(format!(
        "  segment {}: nothing in date is labelled {} to {} mm",
        gap.segment,
        plain(gap.from_mm),
        plain(gap.to_mm)
    ))
}

/// Day, days left, pieces and place first: what the hand looks for in the cupboard.
fn lying_rows<'a>(lying: impl IntoIterator<Item = &'a Lying<'a>>, warns: bool) -> Vec<Row> {
    let lying: Vec<&Lying> = lying.into_iter().collect();
    let place = widest(lying.iter().map(|one| one.piece.shelf.as_str()), 10, 30);
    // The catalogue number without its brackets, and a count as wide as its digits: three columns less, and a name of
    // eight letters has its row at 80 columns.
    let named = |one: &Lying| match one.what.strip_suffix(')').and_then(|what| what.rsplit_once(" (")) {
        Some((size, reference)) => format!("{size} {reference}"),
        None => one.what.clone(),
    };
    let names: Vec<String> = lying.iter().map(|one| named(one)).collect();
    let what = widest(names.iter().map(String::as_str), 10, 40);
    let digits = lying.iter().map(|one| one.piece.count.to_string().len()).max().unwrap_or(1);
    let row = |(one, name): (&&Lying, &String)| {
        let day = one.piece.use_by.map_or("no date".to_string(), |day| day.to_string());
        let left = match one.days {
            None => String::new(),
            Some(0) => "today".into(),
            Some(days) => format!("{days} d"),
        };
        let (place, what) = (padded_at_least(&one.piece.shelf, place), padded_at_least(name, what));
        let words =
            format!("{day:<10} {left:>5} ×{:<digits$} {place} {what} lot {}", one.piece.count, one.piece.lot);
        Row { words, warns, strong: false }
    };
    lying.iter().zip(&names).map(row).collect()
}

fn size_text(size: &SizeOnHand) -> String {
    crate::case::size_words(size.diameter, size.length)
}
