//! HIBC: what is behind the identifier - quantity, date, lot, serial and the supplements.
//!
//! Invariant: knows one section; no check character, no link.

use super::carrier::{Ch, text_of};
use super::place;
use super::symbol::{Symbol, bad_charset, cut_short, empty, refuse};
use super::{LabelCode, dates};
use chrono::NaiveDate;

/// Lots and serials have at most this many characters.
const LONGEST: usize = 18;

/// A capital letter or a digit: HIBC has nothing else in its data.
pub(super) fn plain(c: char) -> bool {
    c.is_ascii_digit() || c.is_ascii_uppercase()
}

/// A section behind `/`, or the data of a symbol of its own (`alone`). `end` is the byte behind it.
pub(super) fn section(symbol: &mut Symbol, chars: &[Ch], end: usize, year: i32, alone: bool) {
    let text = text_of(chars);
    let at = chars.first().map_or(end, |ch| ch.at);
    let mut cursor = Cursor { rest: chars, end };
    if text.is_empty() {
        symbol.fail(empty("what should follow the slash", end));
    } else if text.starts_with('$') {
        secondary(symbol, chars, end, year);
    } else if let Some(date) = ["14D", "16D"].iter().find(|id| text.starts_with(**id)) {
        cursor.skip(3);
        supplement_date(symbol, date, cursor, at);
    } else if text.starts_with('S') {
        cursor.skip(1);
        name(symbol, "S", "serial", cursor.rest, end);
    } else if text.starts_with('Q') && !alone {
        cursor.skip(1);
        if let Some(bad) = cursor.rest.iter().find(|ch| !ch.c.is_ascii_digit()) {
            symbol.fail(bad_charset("the quantity", bad.at));
        } else if cursor.rest.is_empty() {
            symbol.fail(empty("the quantity", end));
        } else {
            symbol.claim("quantity", &text[1..], at);
            symbol.field("Q", &text[1..]);
        }
    } else if chars[0].c.is_ascii_digit() && (alone || chars.iter().take(5).all(|ch| ch.c.is_ascii_digit())) {
        // The old form: YYJJJ and the lot.
        let Some(date) = cursor.digits(symbol, "the use-by date", 5) else { return };
        use_by(symbol, dates::yyjjj(&date, year), &date, at);
        symbol.field("YYJJJ", &date);
        if !cursor.rest.is_empty() {
            name(symbol, "lot", "lot", cursor.rest, end);
        }
    } else {
        symbol.fail(refuse(
            LabelCode::UnknownAi,
            at,
            format!("At byte {at} there is no HIBC identifier that is known: scan again, or type the printed text."),
        ));
    }
}

struct Cursor<'a> {
    rest: &'a [Ch],
    end: usize,
}

impl Cursor<'_> {
    fn skip(&mut self, count: usize) {
        self.rest = &self.rest[count.min(self.rest.len())..];
    }

    /// So many digits; `None`, and a fault in the symbol, if they aren't there.
    fn digits(&mut self, symbol: &mut Symbol, place: &str, count: usize) -> Option<String> {
        let taken = &self.rest[..count.min(self.rest.len())];
        if let Some(bad) = taken.iter().find(|ch| !ch.c.is_ascii_digit()) {
            symbol.fail(bad_charset(place, bad.at));
            return None;
        }
        if taken.len() < count {
            symbol.fail(cut_short(place, self.end));
            return None;
        }
        let text = text_of(taken);
        self.skip(count);
        Some(text)
    }
}

/// `$`, `$+`, `$$`, `$$+` and what follows.
fn secondary(symbol: &mut Symbol, chars: &[Ch], end: usize, year: i32) {
    let mut cursor = Cursor { rest: chars, end };
    let begins = |cursor: &Cursor, c| cursor.rest.first().is_some_and(|ch| ch.c == c);
    cursor.skip(1);
    let dated = begins(&cursor, '$');
    cursor.skip(usize::from(dated));
    let serial = begins(&cursor, '+');
    cursor.skip(usize::from(serial));
    let id = format!("{}{}", if dated { "$$" } else { "$" }, if serial { "+" } else { "" });
    symbol.field(&id, &text_of(cursor.rest));
    let what = if serial { "serial" } else { "lot" };
    if !dated {
        return name(symbol, "", what, cursor.rest, end);
    }
    if let Some(length) =
        cursor.rest.first().and_then(|ch| [('8', 2), ('9', 5)].into_iter().find(|q| q.0 == ch.c))
    {
        let at = cursor.rest[0].at;
        cursor.skip(1);
        let Some(quantity) = cursor.digits(symbol, "the quantity", length.1) else { return };
        symbol.claim("quantity", &quantity, at);
        if cursor.rest.is_empty() {
            return;
        }
    }
    let Some(first) = cursor.rest.first().copied() else {
        return symbol.fail(empty("what should follow $$", end));
    };
    if first.c == '7' {
        cursor.skip(1);
        return name(symbol, "", what, cursor.rest, end);
    }
    if !matches!(first.c, '0'..='6') {
        return symbol.fail(bad_charset("the date behind $$", first.at));
    }
    if first.c >= '2' {
        cursor.skip(1);
    }
    let length = match first.c {
        '0' | '1' => 4,
        '2' | '3' => 6,
        '4' => 8,
        '5' => 5,
        _ => 7,
    };
    let Some(text) = cursor.digits(symbol, "the use-by date", length) else { return };
    // Digits only, so bytes are characters.
    let (day, hour) = text.split_at(text.len() - if matches!(first.c, '4' | '6') { 2 } else { 0 });
    let date = match first.c {
        '0' | '1' => dates::mmyy(day, year),
        '2' => dates::mmddyy(day, year),
        '3' | '4' => dates::yymmdd(day, year, false),
        _ => dates::yyjjj(day, year),
    };
    use_by(symbol, date.filter(|_| hour.is_empty() || dates::is_time(hour)), &text, first.at);
    if !cursor.rest.is_empty() {
        name(symbol, "", what, cursor.rest, end);
    }
}

/// A lot or a serial. With an identifier it is a field of its own; without one it is part of a field.
fn name(symbol: &mut Symbol, identifier: &str, what: &str, chars: &[Ch], end: usize) {
    let place = if what == "serial" { "the serial number" } else { "the lot" };
    let Some(first) = chars.first() else { return symbol.fail(empty(place, end)) };
    if let Some((index, bad)) = chars.iter().enumerate().find(|(_, ch)| !plain(ch.c))
        && index < LONGEST
    {
        return symbol.fail(bad_charset(place, bad.at));
    }
    if let Some(over) = chars.get(LONGEST) {
        return symbol.fail(refuse(
            LabelCode::TooLong,
            over.at,
            format!(
                "{} is longer than {LONGEST} characters, at byte {}: scan again.",
                place::first_word(place),
                over.at
            ),
        ));
    }
    let text = text_of(chars);
    symbol.claim(what, &text, first.at);
    if !identifier.is_empty() {
        symbol.field(identifier, &text);
    }
    if what == "serial" {
        symbol.serial.get_or_insert(text);
    } else {
        symbol.lot.get_or_insert(text);
    }
}

fn use_by(symbol: &mut Symbol, date: Option<NaiveDate>, raw: &str, at: usize) {
    match date {
        Some(date) => {
            symbol.claim("use-by date", &date.to_string(), at);
            symbol.use_by = Some(date);
        }
        None => {
            symbol.claim("use-by date", raw, at);
            symbol.bad_date("the use-by date");
        }
    }
}

/// `14D` use-by and `16D` made, YYYYMMDD.
fn supplement_date(symbol: &mut Symbol, id: &str, mut cursor: Cursor, at: usize) {
    let place = if id == "14D" { "the use-by date (14D)" } else { "the date made (16D)" };
    let Some(text) = cursor.digits(symbol, place, 8) else { return };
    if let Some(over) = cursor.rest.first() {
        let message = format!("{} is too long at byte {}: scan again.", place::first_word(place), over.at);
        return symbol.fail(refuse(LabelCode::TooLong, over.at, message));
    }
    symbol.field(id, &text);
    let date = dates::yyyymmdd(&text);
    if id == "14D" {
        return use_by(symbol, date, &text, at);
    }
    symbol.claim("date made", &text, at);
    symbol.made = date;
    if date.is_none() {
        symbol.bad_date(place);
    }
}
