//! First steps: what an empty room still needs, told from what the room holds now, so that it resumes by itself.
//! Each step is done from here where that can be: what would be written is shown first.

use super::ask::Outcome;
use super::{
    EVERYWHERE, Effect, Effects, Field, Form, Front, List, Overlay, Purpose, Screen, State, Wanted, World,
    menu,
};
use crate::catalogue::{Catalogue, Piece};
use crate::journal::Fact;
use crate::label::{self, Arrival, Settings};
use crate::policy::Policy;
use crate::room::Furniture;
use crate::tui::keys::*;
use crate::tui::scan_report;
use crate::units::{by_count, counted};
use chrono::Datelike;
use std::sync::Arc;

pub const RELEASE: Action = Action::new("first-release", &["r"]);

pub static PLACE: Place = Place::new(
    "First steps",
    Letters::Shared,
    &[
        ACCEPT.row("do it", "do the step under the cursor; what would be written is shown first"),
        RELEASE.row("release", "products out of a release of the public device database"),
        DOWN.row("", "the next step"),
        UP.row("", "the step before"),
        CLOSE.row("skip", "skip it for now; the list of screens has it"),
    ],
)
.within(&EVERYWHERE);

/// Lines that show what would be written, or what is wrong.
pub static SHEET: Place = Place::new(
    "What would be written, or is wrong",
    Letters::Own,
    &[
        ACCEPT.row("write it", "write what is shown; where something is wrong, back"),
        DOWN.row("further", "further down"),
        PAGE_DOWN.row("", "further down"),
        UP.row("", "further up"),
        PAGE_UP.row("", "further up"),
        CLOSE.row("back", "back; nothing is written"),
    ],
)
.within(&EVERYWHERE);

/// The page that shows what a scanner sends.
pub static TRIAL: Place =
    Place::new("Trying a scanner", Letters::Text, &[CLOSE.row("back", "enough of it")]).within(&EVERYWHERE);

pub const FRONT: Front = Front {
    list: |state| Some(List::new(&mut state.first.shown, STEPS.len())),
    offers: |state, action| action != RELEASE || STEPS.get(state.first.shown) == Some(&Step::Products),
    ..Front::new(&PLACE, State::act_first)
};

pub const OVER_SHEET: Front = Front {
    list: |state| state.sheet().map(|sheet| List::new(&mut sheet.scroll, sheet.lines.len())),
    offers: |state, action| {
        action != ACCEPT || matches!(&state.overlay, Some(Overlay::Sheet(sheet)) if sheet.lays.is_some())
    },
    ..Front::new(&SHEET, State::act_sheet)
};

pub const OVER_TRIAL: Front = Front { typed: State::loose_char, ..Front::new(&TRIAL, |_, _| Effects::new()) };

/// Where the First steps screen stands.
#[derive(Debug, Clone, Default)]
pub struct AtFirstSteps {
    /// The step under the cursor.
    pub shown: usize,
    /// A scan has left the screen.
    pub(super) left: bool,
}

/// What a room needs before its first case, in the order in which it is best done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    Guides,
    Products,
    Checked,
    Stock,
    Policy,
    Scanner,
}

/// In the order of the screen.
pub const STEPS: &[Step] =
    &[Step::Guides, Step::Products, Step::Checked, Step::Stock, Step::Policy, Step::Scanner];

/// One step as it stands now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepLine {
    pub name: &'static str,
    pub done: bool,
    /// The first that is not done.
    pub next: bool,
    /// What is there, in words.
    pub now: String,
}

/// What can be laid in a room; the text is a path as it was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Task {
    Guides,
    Policy,
    Products(String),
    Release(String),
    Stock(String),
}

/// What the first steps ask of the room's folder.
#[derive(Debug, Clone, PartialEq)]
pub enum Ask {
    /// Read and check; nothing is written.
    Look(Task),
    /// Write what was looked at last.
    Lay,
    /// A scanner has sent the separator of a label.
    ScannerSeen,
}

/// What comes back from the room's folder.
#[derive(Debug, Clone)]
pub enum Answer {
    /// What would be written, one change a line; nothing where nothing would change.
    Looked { task: Task, words: Vec<String>, changes: bool },
    /// Pieces that would be on hand, and the cautions of their file.
    Stock { from: String, pieces: Vec<Piece>, cautions: Vec<String> },
    /// It takes a while; so far this.
    Busy(String),
    /// The release in this folder has been read: it can be looked at.
    ReleaseRead(String),
    /// It is written, and the room was read again.
    Laid { catalogue: Arc<Catalogue>, policy: Arc<Policy>, furniture: Furniture },
    /// The room's files as they are now.
    Furniture(Furniture),
    /// What and where, one fault a line; nothing was written.
    Refused(String),
}

/// Lines over the screen: what would be written, or what is wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    pub title: String,
    pub lines: Vec<String>,
    pub scroll: usize,
    /// What the key for it writes; none where the lines are all there is.
    pub lays: Option<Lays>,
}

/// What is written when a sheet is confirmed.
#[derive(Debug, Clone, PartialEq)]
pub enum Lays {
    /// What the room has prepared.
    Files,
    /// These pieces are what is on hand.
    Stock { from: String, pieces: Vec<Piece> },
}

/// What a scanner sent while it was tried.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Trial {
    /// The last scan, line by line.
    pub lines: Vec<String>,
    /// Keys that came one by one: typed, or sent too slowly for a scan.
    pub loose: String,
}

/// How many loose keys are shown.
const LOOSE: usize = 40;

impl World {
    /// Stock was once loaded, received or counted.
    pub fn has_stock(&self) -> bool {
        self.stocked == Some(true)
    }

    /// Nobody has had a case here, and a call would find nothing: the first steps open by themselves.
    pub(super) fn is_bare(&self) -> bool {
        !self.demo
            && self.case.is_none()
            && (self.catalogue.products.is_empty() || self.stocked == Some(false))
    }

    /// One step: whether it is done, and what is there.
    fn step(&self, step: Step) -> (bool, String) {
        let (catalogue, products) = (&self.catalogue, self.catalogue.products.len());
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
            Step::Stock if self.stocked.is_none() => (false, "still being read".into()),
            Step::Stock if !self.has_stock() => (false, "never loaded".into()),
            Step::Stock => {
                let pieces: u64 = self.shelf.pieces().iter().map(|piece| u64::from(piece.count)).sum();
                (true, format!("{} on hand", counted(pieces, "piece")))
            }
            Step::Policy if self.furniture.policy => (true, "policy.toml is there".into()),
            Step::Policy => (false, "none: every published default holds".into()),
            Step::Scanner if self.furniture.scanner => (true, "one has sent the separator here".into()),
            Step::Scanner => (false, "none has sent the separator of a label here yet".into()),
        }
    }
}

fn boxes(catalogue: &Catalogue) -> usize {
    let sized = |product: &crate::catalogue::Product| -> usize {
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

impl State {
    /// The first step that is not done.
    fn next_step(&self) -> Option<usize> {
        STEPS.iter().position(|step| !self.world.step(*step).0)
    }

    /// Every step as it stands now.
    pub fn step_lines(&self) -> Vec<StepLine> {
        let next = self.next_step();
        let line = |(place, step): (usize, &Step)| {
            let (done, now) = self.world.step(*step);
            StepLine { name: step.name(), done, next: next == Some(place), now }
        };
        STEPS.iter().enumerate().map(line).collect()
    }

    /// How the step under the cursor is done: from here, and by a command.
    pub fn step_help(&self) -> Vec<String> {
        let dir = &self.world.furniture.dir;
        let (take, release) = (self.key(ACCEPT), self.key(RELEASE));
        let Some(step) = STEPS.get(self.first.shown) else { return Vec::new() };
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
            Step::Policy if self.world.furniture.policy => vec![
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

    fn act_first(&mut self, action: Action) -> Effects {
        match action {
            ACCEPT => self.do_step(),
            RELEASE => self.ask_path(PathFor::Release),
            CLOSE => {
                self.go(Screen::Sizes);
                let (menu, steps) = (self.key(OPEN_MENU), self.key(menu::FIRST));
                self.say(format!("{menu} and then {steps} come back to the first steps"))
            }
            _ => Effects::new(),
        }
    }

    fn do_step(&mut self) -> Effects {
        match STEPS.get(self.first.shown) {
            Some(Step::Guides) if self.world.catalogue.guides.is_empty() => look(Task::Guides),
            Some(Step::Policy) if !self.world.furniture.policy => look(Task::Policy),
            Some(Step::Products) => self.ask_path(PathFor::Products),
            Some(Step::Stock) => self.ask_path(PathFor::Stock),
            Some(Step::Scanner) => self.open(Overlay::Trial(Trial::default())),
            Some(Step::Guides | Step::Policy | Step::Checked) | None => {
                self.say("This one is done in the file: its place stands above")
            }
        }
    }

    fn ask_path(&mut self, what: PathFor) -> Effects {
        let (title, label, hint) = match what {
            PathFor::Products => ("Products out of a table", "file", "as ~/products.csv"),
            PathFor::Release => ("Products out of a release", "folder", "that of device.txt"),
            PathFor::Stock => ("What is on hand", "file", "as ~/stock.csv"),
        };
        let intro = "Type or paste the path. It is read and checked, and shown before anything is written.";
        let fields = vec![Field::text("path", label, "", hint)];
        self.ask(Form::new(Purpose::Path(what), title, &[intro], fields))
    }

    pub(super) fn accept_path(&mut self, what: PathFor, form: &Form) -> Outcome {
        let path = form.value("path");
        if path.is_empty() {
            return Err("Type a path".into());
        }
        self.say(format!("Reading {path} …"));
        Ok(look(match what {
            PathFor::Products => Task::Products(path),
            PathFor::Release => Task::Release(path),
            PathFor::Stock => Task::Stock(path),
        }))
    }

    /// A scan takes the first steps to read-back; forgetting the box comes back to them.
    pub(super) fn back_to_first(&mut self) -> Effects {
        if std::mem::take(&mut self.first.left) && self.world.is_bare() {
            self.go_to_first_steps();
        }
        Effects::new()
    }

    pub(super) fn go_to_first_steps(&mut self) -> Effects {
        self.go(Screen::FirstSteps);
        self.step_on();
        Effects::new()
    }

    /// What was pasted while a path is typed belongs to the path: it is no label.
    pub(super) fn takes_paste(&mut self, bytes: &[u8], arrival: Arrival) -> bool {
        let Some(Overlay::Form(form)) = &mut self.overlay else { return false };
        let typed = arrival == Arrival::Pasted && matches!(form.purpose, Purpose::Path(_));
        if typed {
            String::from_utf8_lossy(bytes).trim().chars().for_each(|c| form.type_char(c));
        }
        typed
    }

    /// The room's folder has answered.
    pub(super) fn furnished(&mut self, answer: Answer) -> Effects {
        match answer {
            Answer::Looked { task, mut words, changes } => {
                if !changes {
                    words.push("Nothing would change".into());
                }
                self.say("");
                return self.show_sheet(task.title(), words, changes.then_some(Lays::Files));
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
                if self.world.has_stock() {
                    let here = count(&mut self.world.shelf.pieces().into_iter());
                    let here = format!("{} that {}", counted(here, "piece"), by_count(here, "is", "are"));
                    words.push(format!("They replace the {here} on hand now"));
                }
                words.extend(cautions.iter().map(|caution| format!("caution: {caution}")));
                self.say("");
                let title = Task::Stock(String::new()).title();
                return self.show_sheet(title, words, Some(Lays::Stock { from, pieces }));
            }
            Answer::Busy(words) => return self.say(words),
            Answer::ReleaseRead(path) if self.screen == Screen::FirstSteps && self.overlay.is_none() => {
                return look(Task::Release(path));
            }
            // Somebody works elsewhere by now: nothing is put over it.
            Answer::ReleaseRead(path) => {
                self.say(format!(
                    "The release in {path} has been read: give its path again in the first steps"
                ));
            }
            Answer::Laid { catalogue, policy, furniture } => {
                (self.world.catalogue, self.world.policy) = (catalogue, policy);
                self.world.furniture = furniture;
                self.judge();
                self.say("It is in the room's folder now");
                self.step_on();
                if self.world.has_stock() {
                    // The shelf is known by the catalogue's names: it is read once more.
                    self.world.shelf.read_again();
                    let back_to = self.world.begins_at();
                    return vec![Effect::Read(Wanted::Shelf { back_to })];
                }
            }
            Answer::Furniture(furniture) => self.world.furniture = furniture,
            Answer::Refused(why) => {
                let lines: Vec<String> = why.lines().map(String::from).collect();
                self.heed(format!("Nothing was written: {} to mend", lines.len()));
                return self.show_sheet("Nothing is written: this has to be mended first", lines, None);
            }
        }
        Vec::new()
    }

    fn show_sheet(&mut self, title: &str, lines: Vec<String>, lays: Option<Lays>) -> Effects {
        self.open(Overlay::Sheet(Sheet { title: title.into(), lines, scroll: 0, lays }))
    }

    fn sheet(&mut self) -> Option<&mut Sheet> {
        match &mut self.overlay {
            Some(Overlay::Sheet(sheet)) => Some(sheet),
            _ => None,
        }
    }

    fn act_sheet(&mut self, action: Action) -> Effects {
        if action != ACCEPT {
            return Effects::new();
        }
        let lays = self.sheet().and_then(|sheet| sheet.lays.take());
        self.overlay = None;
        match lays {
            Some(Lays::Files) => vec![Effect::Furnish(Ask::Lay)],
            Some(Lays::Stock { from, pieces }) => {
                self.write_for_room(vec![Fact::StockLoaded { from, pieces }])
            }
            None => Effects::new(),
        }
    }

    /// The cursor goes to what is to be done next.
    pub(super) fn step_on(&mut self) {
        self.first.shown = self.next_step().unwrap_or(self.first.shown);
    }

    /// A scan while a scanner is tried: it is shown, and nothing of it is kept.
    pub(super) fn tried(&mut self, bytes: &[u8], complete: bool) {
        let year = self.world.today().year();
        if let Some(Overlay::Trial(trial)) = &mut self.overlay {
            trial.lines = scan_report::report(bytes, complete, year);
            trial.loose.clear();
        }
    }

    /// A key that came alone while a scanner is tried.
    fn loose_char(&mut self, c: char) -> Effects {
        if let Some(Overlay::Trial(trial)) = &mut self.overlay {
            trial.loose.push(c);
            if trial.loose.chars().count() > LOOSE {
                trial.loose = trial.loose.chars().skip(1).collect();
            }
        }
        Vec::new()
    }

    /// Remembers in the room, once, that a scanner sends separators; the demo's practice scans are none.
    pub(super) fn notes_scanner(&mut self, bytes: &[u8], arrival: Arrival) -> Effects {
        let settings = Settings::of_year(self.world.today().year());
        let sent = arrival == Arrival::Scanned
            && label::holds_separator(bytes, &settings)
            && label::read(bytes, &settings).is_ok();
        if !sent || self.world.demo || self.world.furniture.scanner {
            return Vec::new();
        }
        self.world.furniture.scanner = true;
        vec![Effect::Furnish(Ask::ScannerSeen)]
    }
}

/// What a path that is typed leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PathFor {
    Products,
    Release,
    Stock,
}

impl Task {
    const fn title(&self) -> &'static str {
        match self {
            Task::Guides => "Would be laid as catalogue/guides.toml",
            Task::Policy => "Would be laid as policy.toml",
            Task::Products(_) => "What would change in the catalogue",
            Task::Release(_) => "What the release would bring",
            Task::Stock(_) => "What would be on hand",
        }
    }
}

fn look(task: Task) -> Effects {
    vec![Effect::Furnish(Ask::Look(task))]
}
