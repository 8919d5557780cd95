//! GS1 element strings: one symbol's characters into fields; what a lost separator leaves open.
//!
//! Invariant: knows one symbol at a time; what holds over all symbols of a box is `gs1_item`'s business.

use super::carrier::{Ch, GS, text_of, trim};
use super::gs1_elements::{Element, Elements, pairs_of};
use super::gs1_table::{self, Ai};
use super::gs1_value::{self, ValueFault};
use super::symbol::{personal_data, refuse};
use super::{LabelCode, PossibleReading, Refusal, place};

/// More readings than these are not looked for.
const READINGS: usize = 24;

/// Nor is longer looked for them: a label needs some dozens of steps.
const STEPS: usize = 4_000;

/// Only these are tried where a separator may be lost: more would cry wolf at every lot with digits in it.
const TRIED: [&str; 4] = ["10", "11", "17", "21"];

/// How the reader must take what is not there.
pub(super) struct Gs1Context {
    pub year: i32,
    /// This scanner sends separators: an absent one is absent.
    pub separators: bool,
}

/// The identifier with which these characters begin.
fn identifier(chars: &[Ch]) -> Option<&'static Ai> {
    (2..=4).find_map(|length| {
        let code = chars.get(..length)?;
        code.iter().all(|ch| ch.c.is_ascii_digit()).then(|| gs1_table::find(&text_of(code))).flatten()
    })
}

/// `before` is the field behind which it stands.
fn unknown_ai(at: usize, before: Option<&Ai>) -> Refusal {
    let behind = before.map_or_else(String::new, |ai| format!(", behind {},", place::gs1(ai)));
    refuse(
        LabelCode::UnknownAi,
        at,
        format!(
            "At byte {at}{behind} there is no GS1 identifier that is known: scan again, or type the printed text."
        ),
    )
}

/// Reads characters in which every separator is GS. `end` is the byte behind the last of them. It goes on after
/// a fault, for a person's data must be found wherever they stand.
///
/// # Errors
/// A person's data, and nothing else.
pub(super) fn read(chars: &[Ch], end: usize, context: &Gs1Context) -> Result<Elements, Refusal> {
    let mut all = Elements::default();
    let mut rest = chars;
    while let Some(first) = rest.first() {
        if first.c == GS {
            rest = &rest[1..];
            continue;
        }
        let to_gs = rest.iter().position(|ch| ch.c == GS).unwrap_or(rest.len());
        let Some(ai) = identifier(rest) else {
            all.fail(unknown_ai(first.at, all.found.last().map(|e| e.ai)));
            rest = &rest[to_gs..];
            continue;
        };
        if ai.personal() {
            return Err(personal_data());
        }
        let from = ai.code.len();
        let to = if ai.predefined { to_gs.min(from + ai.greatest()) } else { to_gs };
        let value = &rest[from.min(to)..to];
        let behind = rest.get(to).map_or(end, |ch| ch.at);
        if !ai.predefined && to == rest.len() && !context.separators {
            let seen: Vec<&str> = all.found.iter().map(|e| e.ai.code.as_str()).collect();
            let mut search = Search { year: context.year, found: Vec::new(), personal: false, steps: 0 };
            search.splits(&mut Vec::new(), &seen, ai, first.at, value);
            if search.personal {
                return Err(personal_data());
            }
            if !search.found.is_empty() {
                let whole = Element { ai, at: first.at, value: value.to_vec() };
                if gs1_value::check(ai, value, context.year).is_ok() {
                    search.found.insert(0, vec![whole]);
                }
                let known = pairs_of(&all.found);
                let reading = |tail: &Vec<Element>| PossibleReading {
                    fields: known.iter().cloned().chain(pairs_of(tail)).collect(),
                };
                let most = if crate::control::holds("all-readings-shown") { usize::MAX } else { 1 };
                all.readings = search.found.iter().take(most).map(reading).collect();
                return Ok(all);
            }
        }
        all.take(ai, first.at, value, behind, context.year);
        rest = &rest[to..];
    }
    Ok(all)
}

/// The readings of a string that has lost its separators.
struct Search {
    year: i32,
    found: Vec<Vec<Element>>,
    personal: bool,
    steps: usize,
}

impl Search {
    fn full(&self) -> bool {
        self.found.len() >= READINGS || self.personal || self.steps > STEPS
    }

    /// Ends this field wherever one of the four could begin that was not read before.
    fn splits(&mut self, before: &mut Vec<Element>, seen: &[&str], ai: &'static Ai, at: usize, value: &[Ch]) {
        for cut in 1..value.len().min(ai.greatest() + 1) {
            let (head, tail) = value.split_at(cut);
            let Some(next) = identifier(tail) else { continue };
            let code = next.code.as_str();
            self.steps += 1;
            if self.full() {
                return;
            }
            if !TRIED.contains(&code) || code == ai.code || seen.contains(&code) {
                continue;
            }
            if gs1_value::check(ai, head, self.year) != Ok(true) {
                continue;
            }
            let mut now_seen = seen.to_vec();
            now_seen.push(&ai.code);
            before.push(Element { ai, at, value: head.to_vec() });
            self.follow(before, &now_seen, tail);
            before.pop();
        }
    }

    /// Reads on to the end; keeps the reading if it gets there.
    fn follow(&mut self, before: &mut Vec<Element>, seen: &[&str], chars: &[Ch]) {
        let Some(first) = chars.first() else {
            self.found.push(before.clone());
            return;
        };
        let Some(ai) = identifier(chars) else { return };
        if self.full() {
            return;
        }
        let from = ai.code.len();
        let to = if ai.predefined { chars.len().min(from + ai.greatest()) } else { chars.len() };
        let value = &chars[from..to];
        let holds = gs1_value::check(ai, value, self.year) == Ok(true);
        if ai.personal() {
            self.personal |= holds;
            return;
        }
        if holds {
            let mut now_seen = seen.to_vec();
            now_seen.push(&ai.code);
            before.push(Element { ai, at: first.at, value: value.to_vec() });
            self.follow(before, &now_seen, &chars[to..]);
            before.pop();
        }
        if !ai.predefined {
            self.splits(before, seen, ai, first.at, value);
        }
    }
}

/// Does the text begin with an identifier in round brackets? Gives it and the characters behind.
fn bracket(chars: &[Ch]) -> Option<(&'static Ai, &[Ch])> {
    let (_, rest) = chars.split_first().filter(|(first, _)| first.c == '(')?;
    let close = rest.iter().take(5).position(|ch| ch.c == ')')?;
    let ai = gs1_table::find(&text_of(&rest[..close]))?;
    Some((ai, &rest[close + 1..]))
}

/// Does this look like the line under the bars, `(01)…`?
pub(super) fn is_readable_line(chars: &[Ch]) -> bool {
    chars.first().is_some_and(|ch| ch.c == '(')
}

/// Reads the line under the bars. Round brackets belong to set 82 too: only those round a known identifier open
/// a field. Spaces round a value are taste, and so are they among digits.
///
/// # Errors
/// A person's data; `not-a-label` where no bracket opens a field.
pub(super) fn read_line(chars: &[Ch], end: usize, year: i32) -> Result<Elements, Refusal> {
    let mut all = Elements::default();
    let mut rest = trim(chars);
    while let Some(first) = rest.first() {
        if first.c == ' ' || first.c == GS {
            rest = &rest[1..];
            continue;
        }
        let Some((ai, behind)) = bracket(rest) else {
            all.fail(unknown_ai(first.at, all.found.last().map(|e| e.ai)));
            rest = &rest[1..];
            while !rest.is_empty() && bracket(rest).is_none() {
                rest = &rest[1..];
            }
            continue;
        };
        if ai.personal() {
            return Err(personal_data());
        }
        let opens = |&at: &usize| behind[at].c == GS || bracket(&behind[at..]).is_some();
        let to = (0..behind.len()).find(opens).unwrap_or(behind.len());
        let mut value = trim(&behind[..to]).to_vec();
        if ai.digits_only() {
            value.retain(|ch| ch.c != ' ');
        }
        let after = behind.get(to).map_or(end, |ch| ch.at);
        match gs1_value::check(ai, &value, year) {
            // A bracket behind the digits: it was meant to open a field.
            Err((ValueFault::TooLong | ValueFault::Charset, place)) if value[place].c == '(' => {
                all.fail(unknown_ai(value[place].at, Some(ai)));
            }
            _ => all.take(ai, first.at, &value, after, year),
        }
        rest = &behind[to..];
    }
    Ok(all)
}

/// Does it begin with brackets round digits, known or not?
pub(super) fn opens_with_bracket(chars: &[Ch]) -> bool {
    let digits = chars.iter().skip(1).take_while(|ch| ch.c.is_ascii_digit()).count();
    is_readable_line(chars)
        && (2..=4).contains(&digits)
        && chars.get(digits + 1).is_some_and(|ch| ch.c == ')')
}

/// Does the table know an identifier with which these characters begin?
pub(super) fn begins(chars: &[Ch]) -> bool {
    identifier(chars).is_some()
}

/// Do these characters end in a field behind which a separator stands, if another follows?
pub(super) fn ends_open(chars: &[Ch]) -> bool {
    let mut rest = chars;
    while let Some(ai) = identifier(rest) {
        if !ai.predefined {
            return true;
        }
        rest = rest.get(ai.code.len() + ai.greatest()..).unwrap_or(&[]);
    }
    false
}
