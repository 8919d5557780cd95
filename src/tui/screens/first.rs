//! First steps: what an empty room still needs, worked out from what the room holds now, so that it resumes by itself.
//! Each step is done from here where that can be: what would be written is shown first.

mod sheet;
mod trial;

use super::menu;
use crate::catalogue::{Catalogue, Piece, Product};
use crate::deference::LONG;
use crate::label::{self, Arrival, Settings};
use crate::tui::keys::*;
use crate::tui::model::{
    Answer, Ask, Canvas, Component, Effect, Effects, Field, Form, List, Outcome, Request, Session, Task,
    Wanted, World, ask, open,
};
use crate::tui::paint::{Spot, columns, put, put_lines, rows, theme, wrapped, wrapped_in};
use crate::units::{by_count, counted};
use chrono::Datelike;
use ratatui::text::{Line, Span};
use sheet::{Lays, Sheet};
use trial::Trial;

place! {
    PLACE: "First steps", Shared, within EVERYWHERE;
    ACCEPT => "do it", "do the step under the cursor; what would be written is shown first";
    RELEASE = new("first-release", ["r"])
        => "release", "products out of a release of the public device database";
    DOWN => "", "the next step";
    UP => "", "the step before";
    CLOSE => "skip", "skip it for now; the list of screens has it";
}

/// The places of this screen and its overlays.
pub const PLACES: &[&Place] = &[&PLACE, &sheet::PLACE, &trial::PLACE];

/// What the room still needs.
#[derive(Debug, Clone, Default)]
pub struct FirstSteps {
    /// The step under the cursor.
    shown: usize,
}

/// What a room needs before its first case, in the order in which it is best done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Step {
    Guides,
    Products,
    Checked,
    Stock,
    Policy,
    Scanner,
}

/// In the order of the screen.
const STEPS: &[Step] =
    &[Step::Guides, Step::Products, Step::Checked, Step::Stock, Step::Policy, Step::Scanner];

/// One step as it stands now.
struct StepLine {
    name: &'static str,
    done: bool,
    /// The first that is not done.
    next: bool,
    /// What is there, in words.
    now: String,
}

/// One step: whether it is done, and what is there.
fn status(world: &World, step: Step) -> (bool, String) {
    let (catalogue, products) = (&world.catalogue, world.catalogue.products.len());
    match step {
        Step::Guides => {
            let guides: Vec<String> = catalogue.guides.iter().map(|g| g.french.to_string()).collect();
            let words = if guides.is_empty() { "none yet".into() } else { guides.join(", ") };
            (!guides.is_empty(), words)
        }
        Step::Products if products == 0 => (false, "none yet".into()),
        Step::Products => (true, format!("{products}, with {}", counted(boxes(catalogue), "box"))),
        Step::Checked => {
            let open: Vec<_> = catalogue.products.iter().filter(|product| !product.verified).collect();
            match (products, open.as_slice()) {
                (0, _) => (false, "no product yet".into()),
                (_, []) => (true, format!("all {products} are checked against their boxes")),
                (_, [first, ..]) => {
                    (false, format!("{} of {products} are not, {} the first", open.len(), first.name))
                }
            }
        }
        Step::Stock if world.stocked.is_none() => (false, "still being read".into()),
        Step::Stock if !world.has_stock() => (false, "never loaded".into()),
        Step::Stock => {
            let pieces: u64 = world.shelf.pieces().iter().map(|piece| u64::from(piece.count)).sum();
            (true, format!("{} on hand", counted(pieces, "piece")))
        }
        Step::Policy if world.furniture.policy => (true, "policy.toml is there".into()),
        Step::Policy => (false, "none: every published default holds".into()),
        Step::Scanner if world.furniture.scanner => (true, "one has sent the separator here".into()),
        Step::Scanner => (false, "none has sent the separator of a label here yet".into()),
    }
}

fn boxes(catalogue: &Catalogue) -> usize {
    let sized = |product: &Product| -> usize {
        product.diameters.iter().map(|platform| platform.boxes.len()).sum::<usize>() + product.sundries.len()
    };
    catalogue.products.iter().map(sized).sum()
}

impl Step {
    const fn name(self) -> &'static str {
        match self {
            Step::Guides => "Guide catheters",
            Step::Products => "Products",
            Step::Checked => "Products checked",
            Step::Stock => "Stock",
            Step::Policy => "Protocol",
            Step::Scanner => "Scanner",
        }
    }
}

impl FirstSteps {
    /// The cursor goes to what is to be done next.
    pub fn step_on(&mut self, session: &Session) {
        self.shown = next_step(session).unwrap_or(self.shown);
    }

    fn do_step(&mut self, session: &mut Session) -> Effects {
        match STEPS.get(self.shown) {
            Some(Step::Guides) if session.world.catalogue.guides.is_empty() => look(Task::Guides),
            Some(Step::Policy) if !session.world.furniture.policy => look(Task::Policy),
            Some(Step::Products) => ask_path(PathFor::Products),
            Some(Step::Stock) => ask_path(PathFor::Stock),
            Some(Step::Scanner) => open(Trial::default()),
            Some(Step::Guides | Step::Policy | Step::Checked) | None => {
                session.say("This one is done in the file: its place stands above")
            }
        }
    }

    /// How the step under the cursor is done: from here, and by a command.
    fn step_help(&self, session: &Session) -> Vec<String> {
        let dir = &session.world.furniture.dir;
        let (take, release) = (session.key(ACCEPT), session.key(RELEASE));
        let Some(step) = STEPS.get(self.shown) else { return Vec::new() };
        match step {
            Step::Guides => vec![
                format!("{take} shows a file of common guides with their bores, and lays it."),
                "Put the bores of your own packs into it: a bore is not fixed by its French.".into(),
                format!("  {dir}/catalogue/guides.toml"),
            ],
            Step::Products => vec![
                format!("{take} takes a table (CSV), one row a box, by its path."),
                format!("{release} takes a release of the public device database, by its folder."),
                "Or scan a box: read-back says that nobody knows it, and enrols it from its front.".into(),
                "A table to begin with comes from".into(),
                format!("  boxcall --room {dir} catalogue template > products.csv"),
            ],
            Step::Checked => vec![
                "Hold each file against its boxes and leaflets; then take its line".into(),
                "\"verified = false\" out. Until then such a box says CHECK BY EYE.".into(),
                format!("  {dir}/catalogue/"),
                format!("  boxcall --room {dir} catalogue check"),
            ],
            Step::Stock => vec![
                format!("{take} takes a stock file (CSV), one row a lot, by its path."),
                "It says how many pieces lie there before it replaces what is on hand.".into(),
                "A file to begin with comes from".into(),
                format!("  boxcall --room {dir} stock template > stock.csv"),
            ],
            Step::Policy if session.world.furniture.policy => vec![
                "Read it through: where your protocol says otherwise, change the file, and start again."
                    .into(),
                format!("  {dir}/policy.toml"),
            ],
            Step::Policy => vec![
                format!("{take} shows every published default with its source, and lays the file."),
                format!("  {dir}/policy.toml"),
            ],
            Step::Scanner => vec![
                format!("{take} opens a page that shows what the scanner sends, and what to set in it."),
                "The same without a room:".into(),
                "  boxcall scanner".into(),
            ],
        }
    }

    /// The room's folder has answered.
    pub fn furnished(&mut self, session: &mut Session, answer: Answer, is_in_front: bool) -> Effects {
        match answer {
            Answer::Looked { task, mut words, changes } => {
                if !changes {
                    words.push("Nothing would change".into());
                }
                session.say("");
                return show_sheet(title_of(&task), words, changes.then_some(Lays::Files));
            }
            Answer::Stock { from, pieces, cautions } => {
                let count = |pieces: &mut dyn Iterator<Item = &Piece>| -> u64 {
                    pieces.map(|piece| u64::from(piece.count)).sum()
                };
                let mut words = vec![format!(
                    "{} in {} would be on hand",
                    counted(count(&mut pieces.iter()), "piece"),
                    counted(pieces.len(), "row")
                )];
                if session.world.has_stock() {
                    let here = count(&mut session.world.shelf.pieces().into_iter());
                    let here = format!("{} that {}", counted(here, "piece"), by_count(here, "is", "are"));
                    words.push(format!("They replace the {here} on hand now"));
                }
                words.extend(cautions.iter().map(|caution| format!("caution: {caution}")));
                session.say("");
                let title = title_of(&Task::Stock(String::new()));
                return show_sheet(title, words, Some(Lays::Stock { from, pieces }));
            }
            Answer::Busy(words) => return session.say(words),
            Answer::ReleaseRead(path) if is_in_front => {
                return look(Task::Release(path));
            }
            // Somebody works elsewhere by now: nothing is put over it.
            Answer::ReleaseRead(path) => {
                session.say(format!(
                    "The release in {path} has been read: give its path again in the first steps"
                ));
            }
            Answer::Laid { catalogue, policy, furniture } => {
                session.world.replace_catalogue(catalogue);
                session.world.policy = policy;
                session.world.furniture = furniture;
                session.judge();
                session.say("It is in the room's folder now");
                self.step_on(session);
                if session.world.has_stock() {
                    // The shelf is known by the catalogue's names: it is read once more.
                    session.world.shelf.read_again();
                    let back_to = session.world.begins_at();
                    return vec![Effect::Read(Wanted::Shelf { back_to }).into()];
                }
            }
            Answer::Furniture(furniture) => session.world.furniture = furniture,
            Answer::Refused(why) => {
                let lines: Vec<String> = why.lines().map(String::from).collect();
                session.warn(format!("Nothing was written: {} to mend", lines.len()));
                return show_sheet("Nothing is written: this has to be mended first", lines, None);
            }
        }
        Effects::new()
    }
}

impl Component for FirstSteps {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        match action {
            ACCEPT => self.do_step(session),
            RELEASE => ask_path(PathFor::Release),
            CLOSE => {
                let (menu, steps) = (session.key(OPEN_MENU), session.key(menu::FIRST));
                session.say(format!("{menu} and then {steps} come back to the first steps"));
                vec![Request::Act(GO_SIZES)]
            }
            _ => Effects::new(),
        }
    }

    fn list<'a>(&'a mut self, _: &'a mut Session) -> Option<List<'a>> {
        Some(List::new(&mut self.shown, STEPS.len()))
    }

    fn offers(&self, _: &Session, action: Action) -> bool {
        action != RELEASE || STEPS.get(self.shown) == Some(&Step::Products)
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, hits, .. }: Canvas) {
        let area = columns(area, 1, area.width.saturating_sub(2));
        let steps = step_lines(session);
        let done = steps.iter().filter(|step| step.done).count();
        let title = format!("First steps: what this room needs · {done} of {} done", steps.len());
        put(buffer, area, 0, 0, &title, theme::TITLE);
        let lines = steps.iter().enumerate().map(|(place, step)| {
            let here = place == self.shown;
            let (word, style) = match (step.done, step.next) {
                (true, _) => ("done", theme::GOOD),
                (false, true) => ("NEXT", theme::WARNING),
                (false, false) => ("open", theme::QUIET),
            };
            Line::from(vec![
                Span::raw(if here { "▸ " } else { "  " }),
                Span::styled(format!("{word:<6}"), style),
                Span::styled(format!("{:<18}", step.name), if here { theme::CURSOR } else { theme::STRONG }),
                Span::raw(format!(" {}", step.now)),
            ])
        });
        hits.add_rows(area, 2, (0..steps.len()).map(Spot::Row));
        let taken = 3 + put_lines(buffer, rows(area, 2, area.height), lines);
        let mut help: Vec<Line> = Vec::new();
        for text in self.step_help(session) {
            // A path or a command is not broken: it is to be copied.
            let (lines, style) = match text.starts_with(' ') {
                true => (vec![text], theme::STRONG),
                false => (wrapped(&text, area.width), theme::PLAIN),
            };
            help.extend(lines.into_iter().map(|text| Line::styled(text, style)));
        }
        if done == steps.len() {
            let key = session.key(CLOSE);
            help.insert(0, Line::styled(format!("Everything is done: {key}, and a first call begins a case. boxcall demo has a guided tour."), theme::GOOD));
        }
        let taken = taken + put_lines(buffer, rows(area, taken, area.height), help);
        // The short form is in the frame: the long one stands here wherever the steps leave it room.
        let decides: Vec<Line> = wrapped_in(theme::QUIET, LONG, area.width).collect();
        let high = u16::try_from(decides.len()).unwrap_or(u16::MAX);
        if area.height > taken.saturating_add(high) {
            put_lines(buffer, rows(area, area.height - high, high), decides);
        }
    }
}

/// The first step that is not done.
fn next_step(session: &Session) -> Option<usize> {
    STEPS.iter().position(|step| !status(&session.world, *step).0)
}

/// Every step as it stands now.
fn step_lines(session: &Session) -> Vec<StepLine> {
    let next = next_step(session);
    let line = |(place, step): (usize, &Step)| {
        let (done, now) = status(&session.world, *step);
        StepLine { name: step.name(), done, next: next == Some(place), now }
    };
    STEPS.iter().enumerate().map(line).collect()
}

fn ask_path(what: PathFor) -> Effects {
    let (title, label, hint) = match what {
        PathFor::Products => ("Products out of a table", "file", "as ~/products.csv"),
        PathFor::Release => ("Products out of a release", "folder", "that of device.txt"),
        PathFor::Stock => ("What is on hand", "file", "as ~/stock.csv"),
    };
    let intro = "Type or paste the path. It is read and checked, and shown before anything is written.";
    let fields = vec![Field::text("path", label, "", hint)];
    let form = Form::new(title, &[intro], fields).surviving().of_a_path();
    ask(form, move |session, form| accept_path(session, what, form))
}

fn accept_path(session: &mut Session, what: PathFor, form: &Form) -> Outcome {
    let path = form.required("path", "Type a path")?;
    session.say(format!("Reading {path} …"));
    Ok(look(match what {
        PathFor::Products => Task::Products(path),
        PathFor::Release => Task::Release(path),
        PathFor::Stock => Task::Stock(path),
    }))
}

fn show_sheet(title: &str, lines: Vec<String>, lays: Option<Lays>) -> Effects {
    open(Sheet { title: title.into(), lines, scroll: 0, lays })
}

/// Remembers in the room, once, that a scanner sends separators; the demo's practice scans are none.
pub fn notes_scanner(session: &mut Session, bytes: &[u8], arrival: Arrival) -> Effects {
    let settings = Settings::of_year(session.world.today().year());
    let sent = arrival == Arrival::Scanned
        && label::holds_separator(bytes, &settings)
        && label::read(bytes, &settings).is_ok();
    if !sent || session.world.demo || session.world.furniture.scanner {
        return Vec::new();
    }
    session.world.furniture.scanner = true;
    vec![Effect::Furnish(Ask::ScannerSeen).into()]
}

/// What a path that is typed leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum PathFor {
    Products,
    Release,
    Stock,
}

const fn title_of(task: &Task) -> &'static str {
    match task {
        Task::Guides => "Would be laid as catalogue/guides.toml",
        Task::Policy => "Would be laid as policy.toml",
        Task::Products(_) => "What would change in the catalogue",
        Task::Release(_) => "What the release would bring",
        Task::Stock(_) => "What would be on hand",
    }
}

fn look(task: Task) -> Effects {
    vec![Effect::Furnish(Ask::Look(task)).into()]
}
