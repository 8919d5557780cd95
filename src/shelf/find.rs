//! Any box by loose spelling: words of its product, its catalogue number, its size in any order, a lot on the shelf.
//!
//! The boxes are gone through once, when the catalogue is read, and the lots when the shelf changes; a keystroke then
//! looks at short tables and at one run of text, so that 50,000 boxes answer within a frame.

use super::Shelf;
use super::look::every_box;
use crate::catalogue::{Catalogue, Found};
use crate::units::{Decimal, plain, shown_with};
use fuzzy_matcher::FuzzyMatcher;
use fuzzy_matcher::skim::SkimMatcherV2;
use std::collections::HashMap;

/// Longest list of answers.
pub const MOST: usize = 200;

/// How well a word fits, the best first. Only their order matters. Ours, no source.
const EXACT: u16 = 100;
const BEGINS: u16 = 85;
const LOT: u16 = 80;
const BEGUN: u16 = 75;
const WITHIN: u16 = 60;
const KIND: u16 = 40;
const SLIP: u16 = 30;
const LOOSE: u16 = 20;

/// What of the catalogue can be found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Index {
    /// Lower-case name and kind of each product.
    products: Vec<(String, &'static str)>,
    /// The place of each product's first box.
    first_of: Vec<u32>,
    slots: Vec<Slot>,
    references: Lines,
    diameters: Vec<f64>,
    lengths: Vec<f64>,
}

/// One box.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Slot {
    product: u32,
    /// Places in `diameters` and `lengths`; none where it has no size.
    size: Option<(u16, u16)>,
    /// Which letters and digits its catalogue number holds.
    holds: u64,
}

/// The lots and serial numbers on hand, each with the box that it belongs to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Lots {
    text: Lines,
    /// Place of the box, and what is shown: `lot K7 at A1`.
    rows: Vec<(u32, String)>,
}

/// One box that answers: its place among all boxes of the catalogue, and the lot by which it was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hit {
    /// From 0, in the order of products, diameters and lengths; sundries after the sizes of their product.
    pub place: usize,
    /// `lot K7 at A1` or `SN 0417 at A1`. None: found by name, REF or size.
    pub lot: Option<String>,
}

/// Lines of lower-case text, one after the other.
#[derive(Debug, Clone, Default, PartialEq)]
struct Lines {
    text: String,
    /// Where each begins; each ends with a line end.
    starts: Vec<u32>,
}

impl Lines {
    fn add(&mut self, line: &str) {
        self.starts.push(u32::try_from(self.text.len()).unwrap_or(u32::MAX));
        self.text.extend(line.trim().chars().map(|c| if c == '\n' { ' ' } else { c.to_ascii_lowercase() }));
        self.text.push('\n');
    }

    fn get(&self, line: usize) -> &str {
        let start = self.starts[line] as usize;
        let end = self.starts.get(line + 1).map_or(self.text.len(), |next| *next as usize);
        &self.text[start..end - 1]
    }

    /// Every line that holds the word, and whether it is the whole line or stands at its beginning.
    fn holding(&self, word: &str, mut tell: impl FnMut(usize, u16)) {
        let mut line = 0;
        let mut told = None;
        for at in memchr::memmem::find_iter(self.text.as_bytes(), word.as_bytes()) {
            while self.starts.get(line + 1).is_some_and(|next| *next as usize <= at) {
                line += 1;
            }
            if told == Some(line) {
                continue;
            }
            told = Some(line);
            let begins = self.starts[line] as usize == at;
            let whole = begins && self.text.as_bytes().get(at + word.len()) == Some(&b'\n');
            tell(
                line,
                if whole {
                    EXACT
                } else if begins {
                    BEGINS
                } else {
                    WITHIN
                },
            );
        }
    }
}

impl Index {
    /// Goes through every box of the catalogue: once, when it is read.
    pub fn new(catalogue: &Catalogue) -> Index {
        let mut index = Index::default();
        let (mut diameters, mut lengths) = (HashMap::new(), HashMap::new());
        for (number, product) in catalogue.products.iter().enumerate() {
            index.products.push((product.name.to_lowercase(), product.kind.name()));
            index.first_of.push(index.slots.len() as u32);
            for found in super::look::boxes(product) {
                let size = found.size().map(|(diameter, length)| {
                    (
                        known(&mut index.diameters, &mut diameters, diameter.mm()),
                        known(&mut index.lengths, &mut lengths, length.mm()),
                    )
                });
                let place = index.slots.len();
                index.references.add(found.reference());
                let holds = letters(index.references.get(place));
                index.slots.push(Slot { product: number as u32, size, holds });
            }
        }
        index
    }

    /// The box that a hit means.
    pub fn found<'a>(&self, catalogue: &'a Catalogue, place: usize) -> Option<Found<'a>> {
        let product = catalogue.products.get(self.slots.get(place)?.product as usize)?;
        let first = self.first_of.get(self.slots[place].product as usize)?;
        super::look::boxes(product).nth(place - *first as usize)
    }

    /// The boxes that answer every word, best first, at most [`MOST`]. Sizes may be typed in any order and shape: `28
    /// 3.0`, `3x29`, `3,00 × 29`; while they are being typed, what begins like them answers.
    pub fn find(&self, lots: &Lots, query: &str) -> Vec<Hit> {
        let words = words(query);
        let mut table = Table::new(self, &words);
        let matcher = SkimMatcherV2::default();
        for (at, word) in words.iter().enumerate() {
            self.look(word, &matcher, &mut table.words[at]);
        }
        let by_lot = lots.look(&words, &mut table);
        let mut scored: Vec<(u32, usize)> = (0..self.slots.len())
            .filter_map(|place| Some((table.score(self.slots[place], place)?, place)))
            .collect();
        let order = |a: &(u32, usize), b: &(u32, usize)| b.0.cmp(&a.0).then(a.1.cmp(&b.1));
        if scored.len() > MOST {
            scored.select_nth_unstable_by(MOST, order);
            scored.truncate(MOST);
        }
        scored.sort_unstable_by(order);
        let hit = |(_, place)| Hit { place, lot: by_lot.get(&place).cloned() };
        scored.into_iter().map(hit).collect()
    }

    /// What one word fits, before the boxes are gone through.
    fn look(&self, word: &Word, matcher: &SkimMatcherV2, fits: &mut Fits) {
        let measures = |number: &Number| {
            // What is typed has its commas read as points.
            let plain = |mm: f64| shown_with(Decimal::Point, || plain(mm));
            let diameter = |mm: &f64| number.fits(&[format!("{mm:.2}"), plain(*mm)], *mm);
            let length = |mm: &f64| number.fits(&[plain(*mm)], *mm);
            (self.diameters.iter().map(diameter).collect(), self.lengths.iter().map(length).collect())
        };
        fits.number = word.number.as_ref().map(measures);
        fits.pair = word.pair.as_ref().map(|(first, second)| [measures(first), measures(second)]);
        fits.products =
            self.products.iter().map(|(name, kind)| named(&word.text, name, kind, matcher)).collect();
        self.references.holding(&word.text, |line, fit| fits.boxes[line] = fit);
        // Digits left out of a number would answer everything.
        if word.number.is_none() && word.pair.is_none() && word.text.len() > 1 {
            for (place, slot) in self.slots.iter().enumerate() {
                // A number that lacks one of the word's characters need not be asked.
                if fits.boxes[place] == 0 && slot.holds & word.holds == word.holds {
                    fits.boxes[place] = loosely(matcher, &word.text, self.references.get(place));
                }
            }
        }
    }
}

impl Lots {
    /// Goes through every piece on hand: once after each change of the shelf.
    pub fn new(catalogue: &Catalogue, shelf: &Shelf) -> Lots {
        let pieces = shelf.pieces();
        let mut of_box: HashMap<&str, Vec<usize>> = HashMap::new();
        for (at, piece) in pieces.iter().enumerate() {
            of_box.entry(piece.di.as_str()).or_default().push(at);
        }
        let mut lots = Lots::default();
        for (place, found) in every_box(catalogue).enumerate() {
            for at in found.di().iter().filter_map(|di| of_box.get(di.as_str())).flatten() {
                let piece = pieces[*at];
                let mut add = |text: &str, words: String| {
                    lots.text.add(text);
                    lots.rows.push((place as u32, words));
                };
                add(&piece.lot, format!("lot {} at {}", piece.lot, piece.shelf));
                if let Some(serial) = &piece.serial {
                    add(serial, format!("SN {serial} at {}", piece.shelf));
                }
            }
        }
        lots
    }

    /// Marks the boxes by whose lots a word is answered; a word of one character would be answered by too many.
    fn look(&self, words: &[Word], table: &mut Table) -> HashMap<usize, String> {
        let mut by_lot = HashMap::new();
        for (at, word) in words.iter().enumerate().filter(|(_, word)| word.text.len() > 1) {
            let fits = &mut table.words[at];
            self.text.holding(&word.text, |line, fit| {
                let (place, words) = &self.rows[line];
                let place = *place as usize;
                let fit = if fit == WITHIN { WITHIN - 1 } else { LOT };
                // A number is a size first.
                if fit > fits.boxes[place] && (fit == LOT || word.number.is_none()) {
                    fits.boxes[place] = fit;
                    by_lot.entry(place).or_insert_with(|| words.clone());
                }
            });
        }
        by_lot
    }
}

/// One word of the query.
#[derive(Debug)]
struct Word {
    text: String,
    holds: u64,
    number: Option<Number>,
    /// `3x29`.
    pair: Option<(Number, Number)>,
}

#[derive(Debug)]
struct Number {
    text: String,
    value: f64,
}

impl Number {
    fn parse(text: &str) -> Option<Number> {
        let digits = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
        let value = text.parse().ok().filter(|_| digits)?;
        Some(Number { text: text.into(), value })
    }

    fn fits(&self, shown: &[String], mm: f64) -> u16 {
        if crate::units::same(self.value, mm) {
            return EXACT;
        }
        if shown.iter().any(|shown| shown.starts_with(&self.text)) { BEGUN } else { 0 }
    }
}

fn words(query: &str) -> Vec<Word> {
    let query = query.replace(',', ".").replace('×', "x").to_lowercase();
    // `3 x 29` is one size, like `3x29`.
    let query = query.replace(" x ", "x");
    let word = |text: &str| Word {
        holds: letters(text),
        number: Number::parse(text),
        pair: text.split_once('x').and_then(|(a, b)| Some((Number::parse(a)?, Number::parse(b)?))),
        text: text.to_string(),
    };
    query
        .split_whitespace()
        .map(|text| text.trim_end_matches('x'))
        .filter(|text| !text.is_empty())
        .map(word)
        .collect()
}

/// What each word fits.
struct Table {
    words: Vec<Fits>,
}

/// By product, and by box.
struct Fits {
    products: Vec<u16>,
    boxes: Vec<u16>,
    number: Option<Measures>,
    pair: Option<[Measures; 2]>,
}

/// How a number fits each diameter and each length.
type Measures = (Vec<u16>, Vec<u16>);

impl Table {
    fn new(index: &Index, words: &[Word]) -> Table {
        let fits = |_: &Word| Fits {
            products: Vec::new(),
            boxes: vec![0; index.slots.len()],
            number: None,
            pair: None,
        };
        Table { words: words.iter().map(fits).collect() }
    }

    /// None where a word is not answered.
    fn score(&self, slot: Slot, place: usize) -> Option<u32> {
        let mut sum = 0;
        for word in &self.words {
            let named = word.products.get(slot.product as usize).copied().unwrap_or(0);
            let mut best = word.boxes[place].max(named);
            if let Some((diameter, length)) = slot.size {
                let (diameter, length) = (usize::from(diameter), usize::from(length));
                if let Some([first, second]) = &word.pair {
                    best = best
                        .max(both(first.0[diameter], second.1[length]))
                        .max(both(second.0[diameter], first.1[length]));
                }
                if let Some((diameters, lengths)) = &word.number {
                    best = best.max(diameters[diameter]).max(lengths[length]);
                }
            }
            if best == 0 {
                return None;
            }
            sum += u32::from(best);
        }
        Some(sum + self.both_measures(slot))
    }

    /// Two numbers that are diameter and length of one box, in either order, are what was meant.
    fn both_measures(&self, slot: Slot) -> u32 {
        let Some((diameter, length)) = slot.size else { return 0 };
        let (diameter, length) = (usize::from(diameter), usize::from(length));
        let mut numbers = self.words.iter().filter_map(|word| word.number.as_ref());
        let (Some(a), Some(b), None) = (numbers.next(), numbers.next(), numbers.next()) else { return 0 };
        u32::from(both(a.0[diameter], b.1[length]).max(both(b.0[diameter], a.1[length])))
    }
}

/// As good as both together, and nothing where one does not fit.
fn both(a: u16, b: u16) -> u16 {
    if a == 0 || b == 0 { 0 } else { a.midpoint(b) }
}

/// How a word fits a product's name or its kind.
fn named(word: &str, name: &str, kind: &str, matcher: &SkimMatcherV2) -> u16 {
    if name == word {
        return EXACT;
    }
    if name.starts_with(word) || name.split_whitespace().any(|part| part == word) {
        return BEGINS;
    }
    if name.split_whitespace().any(|part| part.starts_with(word)) {
        return BEGUN;
    }
    if word.len() > 1 && name.contains(word) {
        return WITHIN;
    }
    if word.len() > 2 && kind.contains(word) {
        return KIND;
    }
    // One slip of the finger in a short word, two in a long one, also while it is being typed.
    let slips = match word.chars().count() {
        0..=2 => 0,
        3..=5 => 1,
        _ => 2,
    };
    let is_digits = word.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    let near = |part: &str| {
        let begun: String = part.chars().take(word.chars().count()).collect();
        strsim::damerau_levenshtein(word, part) <= slips || strsim::damerau_levenshtein(word, &begun) <= slips
    };
    if slips > 0 && !is_digits && name.split_whitespace().any(near) {
        return SLIP;
    }
    if word.len() > 1 && !is_digits { loosely(matcher, word, name) } else { 0 }
}

/// The word's characters stand in the text in this order, others between them: the closer together, the better.
fn loosely(matcher: &SkimMatcherV2, word: &str, text: &str) -> u16 {
    let close = |score: i64| u16::try_from(score / 16).unwrap_or(0).min(SLIP - LOOSE - 1);
    matcher.fuzzy_match(text, word).map_or(0, |score| LOOSE + close(score))
}

/// A bit for each letter and digit that a text holds.
fn letters(text: &str) -> u64 {
    text.bytes().fold(0, |bits, byte| {
        bits | match byte.to_ascii_lowercase() {
            letter @ b'a'..=b'z' => 1 << (letter - b'a'),
            digit @ b'0'..=b'9' => 1 << (26 + digit - b'0'),
            _ => 0,
        }
    })
}

fn known(list: &mut Vec<f64>, places: &mut HashMap<u64, u16>, mm: f64) -> u16 {
    *places.entry(mm.to_bits()).or_insert_with(|| {
        list.push(mm);
        u16::try_from(list.len() - 1).unwrap_or(u16::MAX)
    })
}

#[cfg(test)]
mod tests;
