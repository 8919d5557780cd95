//! Random hands: keys that mean something in the place in front and keys that do not, right, wrong, expired and
//! broken scans, clicks, a disk that refuses, drawn at any size. `benches/fuzz.rs` runs the same with a count.
//!
//! After each step: nothing panics; what was written is said on the smallest screen; Esc leads out of every
//! overlay and writes nothing.

use crate::hand::{Hand, demo_catalogue, text};
use boxcall::catalogue::{Catalogue, Piece};
use boxcall::deference::FOOTER;
use boxcall::label::Arrival;
use boxcall::shelf::scan_of;
use boxcall::tui::keys::{Key, Place};
use boxcall::tui::settings::actions;
use boxcall::tui::state::{Effect, Message, Spot, State, sizes, welcome};
use boxcall::tui::view::{self, Look};
use chrono::NaiveDate;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Steps of one sequence.
const STEPS: usize = 48;
/// Sequences of `cargo test`, where BOXCALL_FUZZ says no other number.
const FEW: u64 = 150;
/// Esc this often leads out of everything.
const WAYS_OUT: usize = 12;
/// Typed as a person would: sizes, pressures, diameters, a lot, words, what no field takes.
const PHRASES: &[&str] = &[
    "3 29",
    "3.00 x 29",
    "2.75",
    "3.2",
    "3",
    "28",
    "40",
    "12",
    "14 20",
    "0",
    "-1",
    "LOT7",
    "fell",
    "(01)09521234543213(17)271231(10)L1",
    "wire came back",
    "é漢\u{301}",
    "999999999999",
];

/// One thing that somebody does; told so that it can be done again.
#[derive(Debug, Clone)]
enum Step {
    Key(Key),
    Scan(Vec<u8>, bool),
    Click(Spot),
    Wheel(bool),
    Draw(u16, u16),
    Disk { full: bool },
}

/// SplitMix64 (@splitmix64): the same numbers on every machine.
struct Dice(u64);

impl Dice {
    fn throw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, end: usize) -> usize {
        (self.throw() % end.max(1) as u64) as usize
    }

    fn one<'a, T>(&mut self, of: &'a [T]) -> Option<&'a T> {
        of.get(self.below(of.len()))
    }
}

/// The rooms that sequences begin in.
pub struct Rooms {
    hands: Vec<Hand>,
    pieces: Vec<Piece>,
}

impl Rooms {
    pub fn laid() -> Self {
        let demo = Hand::demo();
        let mut welcome = demo.copy();
        welcome.state.open(welcome::Welcome);
        let mut quiet = demo.copy();
        quiet.keys("<Esc>");
        let mut deep = quiet.copy();
        // A first call, its box scanned, its printed size typed.
        deep.keys("3 29<Enter>").keys("xP").keys("3<Tab>29<Enter>");
        let bare = Hand::with(Catalogue::default(), Vec::new());
        let unstocked = Hand::with(demo_catalogue(), Vec::new());
        let pieces = quiet.state.world.shelf.pieces().into_iter().cloned().collect();
        Rooms { hands: vec![welcome, quiet, deep, bare, unstocked], pieces }
    }

    /// The sequence of this seed.
    ///
    /// # Errors
    /// What did not hold, and the fewest of its steps that show it.
    pub fn run(&self, seed: u64) -> Result<Told, String> {
        let begins = seed as usize % self.hands.len();
        let mut dice = Dice(seed.wrapping_mul(0xd134_2543_de82_ef95));
        let mut hand = self.hands[begins].copy();
        let mut done = Vec::new();
        let mut told = Told { steps: 0, written: 0 };
        while done.len() < STEPS && !hand.state.left {
            let why = match caught(|| self.next_steps(&hand, &mut dice)) {
                Ok(steps) => steps.into_iter().find_map(|step| {
                    done.push(step.clone());
                    told.steps += 1;
                    take(&mut hand, &step).err()
                }),
                Err(why) => Some(why),
            };
            if let Some(why) = why {
                let fewest = self.fewest(begins, done);
                return Err(format!("seed {seed}, room {begins}: {why}\nfewest steps: {fewest:#?}"));
            }
        }
        told.written = (hand.journal.len() - self.hands[begins].journal.len()) as u64;
        Ok(told)
    }

    fn next_steps(&self, hand: &Hand, dice: &mut Dice) -> Vec<Step> {
        let place = hand.state.place();
        let keys = &hand.state.settings.keys;
        let of =
            |place: &Place| -> Vec<Key> { place.rows.iter().flat_map(|row| keys.of(row.action)).collect() };
        let (own, everywhere) = (of(place), of(&boxcall::tui::keys::EVERYWHERE));
        let any: Vec<Key> = actions().into_iter().flat_map(|action| keys.of(action)).collect();
        let key = |key: Option<&Key>| key.map(|key| Step::Key(*key)).into_iter().collect();
        match dice.below(100) {
            0..45 => key(dice.one(&own)),
            45..53 => key(dice.one(&everywhere)),
            53..56 => key(dice.one(&any)),
            56..58 => {
                let c = char::from_u32(0x20 + dice.below(0x250) as u32).unwrap_or('x');
                let text = c.to_string();
                key(Key::spelt(&text).as_ref())
            }
            58..74 if place.takes_text() || place == &sizes::PLACE => {
                let phrase = dice.one(PHRASES).copied().unwrap_or_default();
                let spell = |c: char| Key::spelt(&if c == ' ' { "Space".into() } else { c.to_string() });
                phrase.chars().filter_map(spell).map(Step::Key).collect()
            }
            58..78 => key(Key::spelt(["P", "P", "Enter", "W"][dice.below(4)]).as_ref()),
            78..88 => self.scan(dice).into_iter().collect(),
            88..92 => {
                let spot = hand.hits(80, 24).at(dice.below(80) as u16, dice.below(24) as u16);
                spot.map(Step::Click).into_iter().collect()
            }
            92..94 => vec![Step::Wheel(dice.below(2) == 0)],
            94..98 => vec![Step::Draw(1 + dice.below(400) as u16, 1 + dice.below(120) as u16)],
            98 => vec![Step::Draw([1, 79, 80, 81][dice.below(4)], [1, 23, 24, 25][dice.below(4)])],
            _ => vec![Step::Disk { full: !hand.disk_full }],
        }
    }

    /// A box of the demo shelf: as it is, out of date, broken off, with one byte changed, or one that nobody knows.
    fn scan(&self, dice: &mut Dice) -> Option<Step> {
        let mut piece = dice.one(&self.pieces)?.clone();
        let mut complete = true;
        let kind = dice.below(6);
        if kind == 1 {
            piece.use_by = NaiveDate::from_ymd_opt(2025, 1, 31);
        }
        let mut bytes = scan_of(&piece);
        match kind {
            2 => {
                bytes.truncate(dice.below(bytes.len()));
                complete = dice.below(2) == 0;
            }
            3 => {
                let at = dice.below(bytes.len());
                bytes[at] = dice.throw() as u8;
            }
            4 => bytes = b"]d2010952999999999317280131105XYZ".to_vec(),
            _ => {}
        }
        Some(Step::Scan(bytes, complete))
    }

    /// Leaves out steps one by one while what is left still fails.
    fn fewest(&self, begins: usize, mut steps: Vec<Step>) -> Vec<Step> {
        let fails = |steps: &[Step]| {
            let mut hand = self.hands[begins].copy();
            steps.iter().any(|step| take(&mut hand, step).is_err())
        };
        let mut at = steps.len();
        while at > 0 {
            at -= 1;
            let mut fewer = steps.clone();
            fewer.remove(at);
            if fails(&fewer) {
                steps = fewer;
                at = at.min(steps.len());
            }
        }
        steps
    }
}

/// What a sequence came to.
pub struct Told {
    pub steps: u64,
    pub written: u64,
}

/// A panic, in words.
fn caught<T>(what: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(what)).map_err(|panic| {
        let text = panic.downcast_ref::<String>().cloned();
        let text = text.or_else(|| panic.downcast_ref::<&str>().map(|text| text.to_string()));
        format!("it panicked: {}", text.unwrap_or_default())
    })
}

fn take(hand: &mut Hand, step: &Step) -> Result<(), String> {
    let before = hand.journal.len();
    // What waited was told as NOT SAVED when it was entered, and is saved by the clock: whatever comes next is said.
    let waited = !hand.state.unsaved.drafts.is_empty();
    caught(|| match step.clone() {
        Step::Key(key) => hand.press(key),
        Step::Scan(bytes, complete) => {
            hand.send(Message::Scan { bytes, complete, arrival: Arrival::Scanned });
        }
        Step::Click(spot) => hand.send(Message::Click(spot)),
        Step::Wheel(down) => hand.send(Message::Wheel { down }),
        Step::Draw(width, height) => drop(hand.buffer(width, height, Look::default())),
        Step::Disk { full } => hand.disk_full = full,
    })?;
    if hand.journal.len() > before && !waited {
        caught(|| is_said(&hand.state))??;
    }
    caught(|| esc_leads_out(&hand.state))?
}

/// What was written just now is said on the smallest screen: by the message line in the words of the case's story,
/// or by the line that says where the record of that case lies, which follows a signature and what is settled after
/// it. A bar that something else is NOT SAVED outranks both.
fn is_said(state: &State) -> Result<(), String> {
    let area = Rect::new(0, 0, 80, 24);
    let mut buffer = Buffer::empty(area);
    view::draw(state, Look::default(), area, &mut buffer);
    let screen = text(&buffer);
    if !screen.contains(FOOTER) {
        return Err(format!("nothing says who decides\n{screen}"));
    }
    let words = state.world.last_words().ok_or("what was written has no words")?;
    let begins: String = words.chars().take(20).collect();
    let line = screen.lines().nth(22).unwrap_or_default();
    // A wide character fills two cells, the second of which is blank here: blanks do not count.
    let solid = |text: &str| text.split_whitespace().collect::<String>();
    let said = solid(line).contains(&solid(&format!("written: {begins}")));
    let record = state.world.case.as_ref().is_some_and(|case| {
        case.signed.is_some() && line.contains(&format!("The record of case {}", case.code))
    });
    if said || record || line.contains("NOT SAVED") {
        return Ok(());
    }
    Err(format!("written and not said: {words:?}\n{screen}"))
}

fn esc_leads_out(state: &State) -> Result<(), String> {
    let esc = Key::spelt("Esc").ok_or("Esc is a key")?;
    let mut state = state.clone();
    for _ in 0..WAYS_OUT {
        let resting = state.over().is_none();
        let effects = state.on(Message::Key(esc));
        if let Some(effect) = effects.iter().find(|effect| !matches!(effect, Effect::Read(_))) {
            return Err(format!("Esc has done something: {effect:?}"));
        }
        if resting && state.over().is_none() {
            return Ok(());
        }
    }
    Err(format!("Esc does not lead out of {:?}", state.over()))
}

#[test]
fn random_hands_find_no_panic_no_silent_entry_and_always_a_way_out() {
    let count = std::env::var("BOXCALL_FUZZ").ok().map_or(FEW, |count| count.parse().expect("a number"));
    let rooms = Rooms::laid();
    let mut written = 0;
    for seed in 0..count {
        written += rooms.run(seed).unwrap_or_else(|why| panic!("{why}")).written;
    }
    assert!(written > count, "sequences that write nothing prove nothing: {written} entries");
}
