//! Any box by loose spelling: words of its product, its catalogue number, its size in any order, a lot on the shelf.
//!
//! The boxes are gone through once, when the catalogue is read, and the lots when the shelf changes; 50,000 boxes then
//! answer a keystroke within a frame.

use super::Shelf;
use super::look::{boxes, every_box};
use crate::catalogue::{Catalogue, Found};
use crate::units::{Decimal, plain, shown_with};
use fuzzy_matcher::FuzzyMatcher;
use fuzzy_matcher::skim::SkimMatcherV2;
use memchr::memmem::Finder;
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
    products: Vec<Indexed>,
    slots: Vec<Slot>,
    /// Each diameter and each length once, in mm.
    diameters: Vec<f64>,
    lengths: Vec<f64>,
}

/// One product.
#[derive(Debug, Clone, PartialEq)]
struct Indexed {
    /// In lower case.
    name: String,
    kind: &'static str,
    /// The place of its first box.
    first: usize,
}

/// One box.
#[derive(Debug, Clone, PartialEq)]
struct Slot {
    product: usize,
    /// Places in `diameters` and `lengths`; none where it has no size.
    size: Option<(usize, usize)>,
    /// In lower case.
    reference: String,
}

/// The lots and serial numbers on hand.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Lots(Vec<Lot>);

#[derive(Debug, Clone, PartialEq)]
struct Lot {
    /// In lower case.
    text: String,
    /// Of its box.
    place: usize,
    /// `lot K7 at A1`.
    shown: String,
}

/// One box that answers: its place among all boxes of the catalogue, and the lot by which it was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hit {
    /// From 0, in the order of products, diameters and lengths; sundries after the sizes of their product.
    pub place: usize,
    /// `lot K7 at A1` or `SN 0417 at A1`. None: found by name, REF or size.
    pub lot: Option<String>,
}

impl Index {
    /// Goes through every box of the catalogue: once, when it is read.
    pub fn new(catalogue: &Catalogue) -> Index {
        let mut index = Index::default();
        let (mut diameters, mut lengths) = (HashMap::new(), HashMap::new());
        for (number, product) in catalogue.products.iter().enumerate() {
            let (name, kind) = (product.name.to_lowercase(), product.kind.name());
            index.products.push(Indexed { name, kind, first: index.slots.len() });
            for found in boxes(product) {
                let size = found.size().map(|(diameter, length)| {
                    let diameter = place(&mut index.diameters, &mut diameters, diameter.mm());
                    (diameter, place(&mut index.lengths, &mut lengths, length.mm()))
                });
                let reference = found.reference().trim().to_ascii_lowercase();
                index.slots.push(Slot { product: number, size, reference });
            }
        }
        index
    }

    /// The box that a hit means.
    pub fn found<'a>(&self, catalogue: &'a Catalogue, place: usize) -> Option<Found<'a>> {
        let number = self.slots.get(place)?.product;
        boxes(catalogue.products.get(number)?).nth(place - self.products[number].first)
    }

    /// The boxes that answer every word, best first, at most [`MOST`]. Sizes may be typed in any order and shape: `29
    /// 3.0`, `3x29`, `3,00 × 29`; while they are being typed, what begins like them answers.
    pub fn find(&self, lots: &Lots, query: &str) -> Vec<Hit> {
        let query = query.replace(',', ".").replace('×', "x").to_lowercase();
        // `3 x 29` is one size, like `3x29`.
        let query = query.replace(" x ", "x");
        let matcher = SkimMatcherV2::default();
        let texts = query.split_whitespace().map(|text| text.trim_end_matches('x'));
        let words: Vec<Word> =
            texts.filter(|text| !text.is_empty()).map(|text| Word::new(text, self, lots, &matcher)).collect();
        let mut scored: Vec<(u32, usize, Option<&str>)> = Vec::new();
        for (place, slot) in self.slots.iter().enumerate() {
            let mut lot = None;
            let fits = words.iter().map(|word| {
                let fit = word.fits(slot, place, &mut lot);
                (fit > 0).then_some(u32::from(fit))
            });
            let sum: Option<u32> = fits.sum();
            scored.extend(sum.map(|sum| (sum + both_measures(&words, slot), place, lot)));
        }
        let order = |a: &(u32, usize, _), b: &(u32, usize, _)| b.0.cmp(&a.0).then(a.1.cmp(&b.1));
        if scored.len() > MOST {
            scored.select_nth_unstable_by(MOST, order);
            scored.truncate(MOST);
        }
        scored.sort_unstable_by(order);
        scored.into_iter().map(|(_, place, lot)| Hit { place, lot: lot.map(String::from) }).collect()
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
        let mut lots = Vec::new();
        for (place, found) in every_box(catalogue).enumerate() {
            for at in found.di().iter().filter_map(|di| of_box.get(di.as_str())).flatten() {
                let piece = pieces[*at];
                let lot = Some(("lot", &piece.lot));
                for (what, text) in lot.into_iter().chain(piece.serial.as_ref().map(|serial| ("SN", serial)))
                {
                    let shown = format!("{what} {text} at {}", piece.shelf);
                    lots.push(Lot { text: text.trim().to_ascii_lowercase(), place, shown });
                }
            }
        }
        Lots(lots)
    }
}

/// One word of the query, and what it fits.
struct Word<'a> {
    text: &'a str,
    finder: Finder<'a>,
    matcher: &'a SkimMatcherV2,
    /// Each product by its name or its kind.
    products: Vec<u16>,
    /// A number, as a diameter and as a length.
    number: Option<Measures>,
    /// `3x29`.
    pair: Option<[Measures; 2]>,
    /// Boxes by a lot of theirs.
    lots: HashMap<usize, (u16, &'a str)>,
}

/// How a number fits each diameter and each length.
type Measures = (Vec<u16>, Vec<u16>);

impl<'a> Word<'a> {
    fn new(text: &'a str, index: &Index, lots: &'a Lots, matcher: &'a SkimMatcherV2) -> Self {
        let number = index.measures(text);
        let pair = text.split_once('x');
        let pair = pair.and_then(|(a, b)| Some([index.measures(a)?, index.measures(b)?]));
        let products = index.products.iter().map(|product| named(text, &product.name, product.kind, matcher));
        let mut word = Word {
            text,
            finder: Finder::new(text),
            matcher,
            products: products.collect(),
            number,
            pair,
            lots: HashMap::new(),
        };
        // A word of one character would be answered by too many.
        for lot in lots.0.iter().filter(|_| text.len() > 1) {
            let fit = match word.within(&lot.text) {
                0 => continue,
                WITHIN => WITHIN - 1,
                _ => LOT,
            };
            // A number is a size first.
            if fit == LOT || word.number.is_none() {
                let best = word.lots.entry(lot.place).or_insert((fit, &lot.shown));
                if fit > best.0 {
                    *best = (fit, &lot.shown);
                }
            }
        }
        word
    }

    /// How it fits one box; 0: not at all. The lot is noted by which it does.
    fn fits(&self, slot: &Slot, place: usize, lot: &mut Option<&'a str>) -> u16 {
        let mut best = self.within(&slot.reference);
        // Digits left out of a number would answer everything.
        if best == 0 && self.number.is_none() && self.pair.is_none() && self.text.len() > 1 {
            best = loosely(self.matcher, self.text, &slot.reference);
        }
        if let Some((fit, shown)) = self.lots.get(&place).filter(|(fit, _)| *fit > best) {
            best = *fit;
            lot.get_or_insert(shown);
        }
        best = best.max(self.products[slot.product]);
        if let Some((diameter, length)) = slot.size {
            if let Some([first, second]) = &self.pair {
                best = best.max(both(first, second, slot));
            }
            if let Some((diameters, lengths)) = &self.number {
                best = best.max(diameters[diameter]).max(lengths[length]);
            }
        }
        best
    }

    /// Whether a text is the word, begins with it or holds it.
    fn within(&self, text: &str) -> u16 {
        match self.finder.find(text.as_bytes()) {
            Some(0) if text.len() == self.text.len() => EXACT,
            Some(0) => BEGINS,
            Some(_) => WITHIN,
            None => 0,
        }
    }
}

impl Index {
    /// How a number fits each diameter and each length; none where the text is not a number.
    fn measures(&self, text: &str) -> Option<Measures> {
        let digits = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
        let value: f64 = text.parse().ok().filter(|_| digits)?;
        let fits = |mm: f64, begun: bool| match crate::units::same(value, mm) {
            true => EXACT,
            false if begun => BEGUN,
            false => 0,
        };
        // What is typed has its commas read as points.
        let plain = |mm: f64| shown_with(Decimal::Point, || plain(mm));
        let diameter =
            |mm: &f64| fits(*mm, format!("{mm:.2}").starts_with(text) || plain(*mm).starts_with(text));
        let length = |mm: &f64| fits(*mm, plain(*mm).starts_with(text));
        Some((self.diameters.iter().map(diameter).collect(), self.lengths.iter().map(length).collect()))
    }
}

/// Two numbers that are diameter and length of one box, in either order, are what was meant.
fn both_measures(words: &[Word], slot: &Slot) -> u32 {
    let mut numbers = words.iter().filter_map(|word| word.number.as_ref());
    let (Some(a), Some(b), None) = (numbers.next(), numbers.next(), numbers.next()) else { return 0 };
    u32::from(both(a, b, slot))
}

/// How well one of two numbers is the diameter of a box and the other its length; 0 where one does not fit.
fn both(a: &Measures, b: &Measures, slot: &Slot) -> u16 {
    let Some((diameter, length)) = slot.size else { return 0 };
    let mean = |a: u16, b: u16| if a == 0 || b == 0 { 0 } else { a.midpoint(b) };
    mean(a.0[diameter], b.1[length]).max(mean(b.0[diameter], a.1[length]))
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

/// The word's characters are in the text in this order, others between them: the closer together, the better.
fn loosely(matcher: &SkimMatcherV2, word: &str, text: &str) -> u16 {
    // Most texts lack one of them, and that is seen sooner.
    let mut rest = text.bytes();
    if !word.bytes().all(|wanted| rest.any(|byte| byte == wanted)) {
        return 0;
    }
    let close = |score: i64| u16::try_from(score / 16).unwrap_or(0).min(SLIP - LOOSE - 1);
    matcher.fuzzy_match(text, word).map_or(0, |score| LOOSE + close(score))
}

/// Where a measure is in a list that has each once.
fn place(list: &mut Vec<f64>, places: &mut HashMap<u64, usize>, mm: f64) -> usize {
    *places.entry(mm.to_bits()).or_insert_with(|| {
        list.push(mm);
        list.len() - 1
    })
}

#[cfg(test)]
mod tests;
