//! A hand at a keyboard, without a terminal: a small world, keys in, a screen out.

use boxcall::catalogue::enrol::Front;
use boxcall::catalogue::{self, Catalogue, Piece, demo, product, stock};
use boxcall::journal::{CaseCode, Entry, Fact, LastDay};
use boxcall::label::Arrival;
use boxcall::ledger::Known;
use boxcall::policy::{self, Policy};
use boxcall::room::{Behind, Kept, Opening, Room};
use boxcall::shelf::{ReadShelf, Shelf};
use boxcall::store::Appended;
use boxcall::tui::effects::{Backend, carry_out};
use boxcall::tui::furnish::Furnisher;
use boxcall::tui::keys::Key;
use boxcall::tui::settings::Settings;
use boxcall::tui::state::{Answer, Ask, Draft, Message, Screen, State, World};
use boxcall::tui::view::{self, Hits, Look};
use chrono::{DateTime, FixedOffset, TimeDelta};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::sync::{Arc, LazyLock, Mutex};

/// The day on which the demo stock was laid out, a case's morning.
pub const MORNING: &str = "2026-11-25T10:30:00+01:00";

/// Somebody at the keyboard of the demo room.
pub struct Hand {
    pub state: State,
    /// What is "on disk".
    pub journal: Vec<Entry>,
    /// When set, the disk refuses.
    pub disk_full: bool,
    pub records: Vec<CaseCode>,
    now: DateTime<FixedOffset>,
    codes: u8,
    folder: Option<Mutex<Folder>>,
}

/// What stands for the disk.
struct Desk<'a> {
    journal: &'a mut Vec<Entry>,
    disk_full: bool,
    records: &'a mut Vec<CaseCode>,
    codes: &'a mut u8,
    folder: &'a mut Option<Mutex<Folder>>,
    catalogue: Arc<Catalogue>,
}

/// The folder of a room, for what the first steps lay there.
struct Folder {
    room: Room,
    furnisher: Furnisher,
    _dir: tempfile::TempDir,
}

pub fn demo_catalogue() -> Catalogue {
    let files: Vec<(String, String)> =
        demo::files().into_iter().map(|(name, text)| (name.to_string(), text.to_string())).collect();
    catalogue::read(&files).expect("the demo catalogue is free of faults")
}

pub fn demo_pieces(catalogue: &Catalogue) -> Vec<Piece> {
    stock::read("stock.csv", demo::stock(), catalogue).expect("the demo stock is free of faults").pieces
}

/// A room that goes on from this journal, its shelf and its cases read.
pub fn world(
    catalogue: Arc<Catalogue>,
    policy: Arc<Policy>,
    journal: &[Entry],
    now: DateTime<FixedOffset>,
    spare_code: CaseCode,
) -> World {
    let behind = behind(&catalogue, journal);
    let mut world = World::opening(catalogue, policy, opening(journal, now, spare_code));
    assert_eq!(world.arrived(behind), None, "nothing more has to be read");
    world
}

/// What the first frame is made of.
fn opening(journal: &[Entry], now: DateTime<FixedOffset>, spare_code: CaseCode) -> Opening {
    let latest = journal.iter().rev().find_map(|entry| entry.case.clone());
    let own = journal.iter().filter(|entry| entry.case.is_some() && entry.case == latest);
    let upto = journal.last().map_or(0, |entry| entry.seq);
    let mut last_day = LastDay::default();
    journal.iter().for_each(|entry| last_day.apply(entry));
    Opening { entries: own.cloned().collect(), upto, spare_code, now, last_day }
}

/// What is read behind it, by the fold of everything.
fn behind(catalogue: &Catalogue, journal: &[Entry]) -> Behind {
    let shelf = Shelf::fold_with(catalogue, journal);
    let mut cases = Known::default();
    journal.iter().for_each(|entry| cases.apply(entry));
    let upto = journal.last().map_or(0, |entry| entry.seq);
    let stock = |entry: &Entry| {
        matches!(
            entry.fact,
            Fact::StockLoaded { .. } | Fact::StockReceived { .. } | Fact::StockCounted { .. }
        )
    };
    let stocked = journal.iter().any(stock);
    let mut last_day = LastDay::default();
    journal.iter().for_each(|entry| last_day.apply(entry));
    Behind { reading: ReadShelf { shelf, from: 0, upto }, cases, stocked, last_day }
}

impl Hand {
    /// The demo room, its welcome read.
    pub fn demo() -> Self {
        static DEMO: LazyLock<Hand> = LazyLock::new(|| {
            let catalogue = demo_catalogue();
            let pieces = demo_pieces(&catalogue);
            let mut hand = Hand::with(catalogue, Vec::new());
            hand.room(vec![Fact::StockLoaded { from: "stock.csv".into(), pieces }]);
            hand.state.world.demo = true;
            hand.state.go(Screen::Sizes);
            hand
        });
        DEMO.copy()
    }

    /// A room with this catalogue that goes on from this journal.
    pub fn with(catalogue: Catalogue, journal: Vec<Entry>) -> Self {
        let now = DateTime::parse_from_rfc3339(MORNING).expect("a date");
        let policy = policy::read("policy.toml", demo::policy()).expect("the demo policy is free of faults");
        let (catalogue, policy) = (Arc::new(catalogue), Arc::new(policy));
        let world = world(catalogue, policy, &journal, now, CaseCode::from_random([0; 5]));
        Hand {
            state: State::new(world, Settings::default()),
            journal,
            disk_full: false,
            records: Vec::new(),
            now,
            codes: 0,
            folder: None,
        }
    }

    /// An empty room that has just been laid, with a folder of its own.
    pub fn bare() -> Self {
        let dir = tempfile::tempdir().expect("a folder");
        let room = Room::lay_empty(&dir.path().join("room")).expect("it is laid");
        let mut hand = Hand::with(Catalogue::default(), Vec::new());
        hand.state.world.furniture = room.furniture();
        hand.state.world.furniture.dir = DIR.into();
        hand.folder = Some(Mutex::new(Folder { room, furnisher: Furnisher::new(|_| false), _dir: dir }));
        hand
    }

    /// The same room after its program was killed: only what was on disk is left.
    pub fn killed(&self) -> Self {
        let mut hand = Hand::with(demo_catalogue(), self.journal.clone());
        hand.state.world.demo = true;
        hand.codes = self.codes;
        let code = CaseCode::from_random([hand.codes; 5]);
        hand.send(Message::SpareCode(code));
        hand
    }

    /// The same room opened once more, at its first frame: the shelf is not read yet.
    pub fn reopened(&self) -> Self {
        let world = &self.state.world;
        let opening = opening(&self.journal, self.now, world.spare_code.clone());
        let world = World::opening(world.catalogue.clone(), world.policy.clone(), opening);
        Hand {
            state: State::new(world, Settings::default()),
            journal: self.journal.clone(),
            disk_full: false,
            records: Vec::new(),
            now: self.now,
            codes: self.codes,
            folder: None,
        }
    }

    /// Keys as in `m<Tab>3.2<Enter>`: a name of the key table in angle brackets, any other character as itself.
    pub fn keys(&mut self, keys: &str) -> &mut Self {
        let mut rest = keys;
        while let Some(first) = rest.chars().next() {
            let named = rest.strip_prefix('<').and_then(|after| after.split_once('>'));
            let (key, left) = match named.and_then(|(name, left)| Some((Key::spelt(name)?, left))) {
                Some(named) if rest.len() > 1 => named,
                _ => {
                    let text = first.to_string();
                    let spelling = if first == ' ' { "Space" } else { &text };
                    (Key::spelt(spelling).expect("a key"), &rest[first.len_utf8()..])
                }
            };
            rest = left;
            self.press(key);
        }
        self
    }

    /// One key, a second after what was before.
    pub fn press(&mut self, key: Key) {
        self.now += TimeDelta::seconds(1);
        self.send(Message::Tick(self.now));
        self.send(Message::Key(key));
    }

    /// Another hand in the same place, without a folder.
    pub fn copy(&self) -> Self {
        Hand {
            state: self.state.clone(),
            journal: self.journal.clone(),
            disk_full: self.disk_full,
            records: self.records.clone(),
            now: self.now,
            codes: self.codes,
            folder: None,
        }
    }

    /// A scan, and a second goes by, so that no key rests.
    pub fn scan(&mut self, label: &str) -> &mut Self {
        self.scan_at_once(label).passes(TimeDelta::seconds(1))
    }

    /// So much time goes by.
    pub fn passes(&mut self, time: TimeDelta) -> &mut Self {
        self.now += time;
        self.send(Message::Tick(self.now));
        self
    }

    /// A scan at the very time of what was before, with nothing after it.
    pub fn scan_at_once(&mut self, label: &str) -> &mut Self {
        self.send(Message::Scan {
            bytes: label.as_bytes().to_vec(),
            complete: true,
            arrival: Arrival::Scanned,
        });
        self
    }

    /// Something happens in the room, not in a case.
    pub fn room(&mut self, facts: Vec<Fact>) {
        let entries = write(&mut self.journal, self.now, None, &facts);
        self.send(Message::Written(entries));
    }

    /// Another program of the room writes this.
    pub fn elsewhere(&mut self, case: Option<CaseCode>, facts: Vec<Fact>) -> &mut Self {
        let known = self.journal.len();
        for fact in facts {
            let seq = self.journal.len() as u64 + 1;
            let command = format!("elsewhere-{seq}");
            self.journal.push(Entry { seq, at: self.now, command, case: case.clone(), fact });
        }
        self.send(Message::News(self.journal[known..].to_vec()));
        self
    }

    pub fn send(&mut self, message: Message) {
        let effects = self.state.on(message);
        let Hand { state, journal, disk_full, records, codes, folder, .. } = self;
        let catalogue = state.world.catalogue.clone();
        let mut desk = Desk { journal, disk_full: *disk_full, records, codes, folder, catalogue };
        carry_out(state, &mut desk, effects);
    }

    /// Shelf and cases are read, by the fold of everything.
    pub fn shelf_arrives(&mut self) {
        let behind = behind(&self.state.world.catalogue, &self.journal);
        self.send(Message::Arrived(Box::new(behind)));
    }

    pub fn buffer(&self, width: u16, height: u16, look: Look) -> Buffer {
        let area = Rect::new(0, 0, width, height);
        let mut buffer = Buffer::empty(area);
        view::draw(&self.state, look, area, &mut buffer);
        buffer
    }

    /// Clicks where these words stand on the smallest screen, as the terminal would tell it.
    pub fn click(&mut self, words: &str) -> &mut Self {
        let screen = self.small();
        let (row, line) = screen
            .lines()
            .enumerate()
            .find(|(_, line)| line.contains(words))
            .unwrap_or_else(|| panic!("{words:?} is not there:\n{screen}"));
        let column = line[..line.find(words).expect("it is there")].chars().count();
        if let Some(spot) = self.hits(80, 24).at(column as u16, row as u16) {
            self.send(Message::Click(spot));
        }
        self
    }

    /// Where things are on a screen of this size.
    pub fn hits(&self, width: u16, height: u16) -> Hits {
        let area = Rect::new(0, 0, width, height);
        view::draw(&self.state, Look::default(), area, &mut Buffer::empty(area))
    }

    /// What the screen shows, line by line, blanks at the ends left out.
    pub fn screen(&self, width: u16, height: u16) -> String {
        text(&self.buffer(width, height, Look::default()))
    }

    /// What the smallest screen shows.
    pub fn small(&self) -> String {
        self.screen(80, 24)
    }
}

/// The same words on every machine.
const DIR: &str = "/srv/lab2";

fn write(
    journal: &mut Vec<Entry>,
    at: DateTime<FixedOffset>,
    case: Option<&CaseCode>,
    facts: &[Fact],
) -> Vec<Entry> {
    let first = journal.len() as u64 + 1;
    let entry = |(seq, fact): (u64, &Fact)| {
        let (command, case) = (format!("command-{seq}"), case.cloned());
        let entry = Entry { seq, at, command, case, fact: fact.clone() };
        // What is stored is the body: what does not survive it was never on disk.
        Entry::from_body(&entry.body().expect("a body")).expect("a body reads back")
    };
    let entries: Vec<Entry> = (first..).zip(facts).map(entry).collect();
    journal.extend(entries.clone());
    entries
}

impl Backend for Desk<'_> {
    fn new_id(&mut self) -> String {
        String::new()
    }

    fn write(&mut self, draft: &Draft) -> Result<Appended, String> {
        if self.disk_full {
            return Err("the disk is full".into());
        }
        let entries = write(self.journal, draft.entered, draft.case.as_ref(), &draft.facts);
        Ok(Appended { entries, already: false })
    }

    fn entries_after(&mut self, seq: u64) -> Vec<Entry> {
        self.journal[seq as usize..].to_vec()
    }

    fn put_back(&mut self) -> bool {
        false
    }

    fn rescue(&mut self, folder: Option<String>, _: Vec<Kept>) -> Result<String, String> {
        Ok(folder.unwrap_or("home".into()))
    }

    fn enrol(&mut self, front: &Front) -> Result<Arc<Catalogue>, String> {
        let product = product::read(&front.file(), &front.text()).map_err(|faults| faults[0].to_string())?;
        Arc::make_mut(&mut self.catalogue).products.push(product);
        Ok(self.catalogue.clone())
    }

    fn furnish(&mut self, ask: Ask) -> Option<Answer> {
        let folder = self.folder.as_mut()?.get_mut().expect("nobody panicked with it");
        let mut answer = folder.furnisher.ask(&mut folder.room, ask)?;
        if let Answer::Laid { furniture, .. } | Answer::Furniture(furniture) = &mut answer {
            furniture.dir = DIR.into();
        }
        Some(answer)
    }

    fn record(&mut self, code: &CaseCode) -> Result<String, String> {
        self.records.push(code.clone());
        Ok(format!("{DIR}/records/{code}.md"))
    }

    fn spare_code(&mut self) -> CaseCode {
        *self.codes += 1;
        CaseCode::from_random([*self.codes; 5])
    }

    fn case_entries(&mut self, code: &CaseCode) -> Result<Vec<Entry>, String> {
        Ok(self.journal.iter().filter(|entry| entry.case.as_ref() == Some(code)).cloned().collect())
    }

    fn read_shelf(&mut self, _: Option<u64>) -> Option<Message> {
        Some(Message::Arrived(Box::new(behind(&self.catalogue, self.journal))))
    }
}

pub fn text(buffer: &Buffer) -> String {
    let area = buffer.area;
    let mut lines = Vec::new();
    for y in area.top()..area.bottom() {
        let line: String = (area.left()..area.right()).map(|x| buffer[(x, y)].symbol()).collect();
        lines.push(line.trim_end().to_string());
    }
    lines.join("\n")
}
