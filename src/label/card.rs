//! The command card: printed codes that a scanner reads as commands of this room.
//!
//! Invariant: a code is a command or a refusal, never another command; it is never a label, nor a label a command.
//!
//! A code is `BXC`, two digits that name the command, two check digits: `BXC1342`. Why so:
//! - `B`, `X`, `C` are on the same keys of the English, French and German layouts, and no label can begin with
//!   them: GS1 begins with a digit, `(`, `]` or an address, HIBC with `+`, ISBT 128 with `=` or `&`.
//! - Caps lock turns all three letters small: that is read as the same command. Letters of both cases are refused.
//! - Digits come as other signs from a French keyboard, and from a German one with its shift lock on: then the
//!   letters still tell the card, and the code is refused with what to set.
//! - The check digits are those of @iso-7064: they see every wrong character and every pair of neighbours
//!   that changed places. A code whose letters are hurt is known by its likeness to one of the seven.

use super::write::{Matrix, QUIET, WriteError, plain_matrix};
use super::{LabelCode, Refusal, symbol::refuse};
use crate::deference::LONG;

crate::measure::words! {
    /// What a card's code tells the room to do.
    Command {
        Opened = "opened",
        PutBack = "put-back",
        Dropped = "dropped",
        Used = "used",
        BalloonUp = "balloon-up",
        BalloonDown = "balloon-down",
        SignOff = "sign-off",
    }
}

const PREFIX: &str = "BXC";

impl Command {
    /// No two of them share a digit at the same place.
    const fn digits(self) -> &'static str {
        match self {
            Command::Opened => "13",
            Command::PutBack => "24",
            Command::Dropped => "35",
            Command::Used => "46",
            Command::BalloonUp => "57",
            Command::BalloonDown => "68",
            Command::SignOff => "79",
        }
    }

    /// The word on the card, beside the code.
    pub const fn word(self) -> &'static str {
        match self {
            Command::Opened => "opened",
            Command::PutBack => "put back",
            Command::Dropped => "dropped",
            Command::Used => "used",
            Command::BalloonUp => "balloon up",
            Command::BalloonDown => "balloon down",
            Command::SignOff => "sign off",
        }
    }

    /// What the room says back when it has heard the command.
    pub const fn says(self) -> &'static str {
        match self {
            Command::Opened => "Opened.",
            Command::PutBack => "Put back, unopened.",
            Command::Dropped => "Dropped: not to be used.",
            Command::Used => "Used.",
            Command::BalloonUp => "Balloon up.",
            Command::BalloonDown => "Balloon down.",
            Command::SignOff => "Signed off.",
        }
    }

    /// The characters of the printed code.
    pub fn code(self) -> String {
        format!("{PREFIX}{}{:02}", self.digits(), check(self.digits()))
    }
}

/// @iso-7064 over the prefix (A = 10 … Z = 35) and the digits: 2 to 98.
fn check(digits: &str) -> u32 {
    let of = |rest: u32, value: u32| (rest * if value > 9 { 100 } else { 10 } + value) % 97;
    let rest = PREFIX.chars().chain(digits.chars()).filter_map(|c| c.to_digit(36)).fold(0, of);
    98 - rest * 100 % 97
}

/// Every command with its code, in the order of the card.
pub fn all() -> Vec<(Command, String)> {
    Command::ALL.iter().map(|command| (*command, command.code())).collect()
}

fn command_of(code: &str) -> Option<Command> {
    Command::ALL.iter().copied().find(|command| command.code() == code)
}

/// Reads what a scanner sent, with or without its symbology identifier and its terminators. `None`: this is not a code
/// of a card, so ask [`super::read()`].
///
/// # Errors
/// `keyboard-layout` where the letters are a card's and the digits are another keyboard's; `card-misread`
/// for every other code that is hurt.
pub fn read(bytes: &[u8]) -> Option<Result<Command, Refusal>> {
    let text = std::str::from_utf8(bytes).ok()?;
    let text = text.trim_matches(|c: char| c.is_ascii_whitespace() || matches!(c, '\x02' | '\x03' | '\x04'));
    let (text, strange) = without_identifier(text);
    let upper = text.to_ascii_uppercase();
    let one_case =
        !text.contains(|c: char| c.is_ascii_lowercase()) || !text.contains(|c: char| c.is_ascii_uppercase());
    if let Some(command) = command_of(&upper).filter(|_| one_case) {
        return Some(if strange { Err(layout()) } else { Ok(command) });
    }
    if strange {
        return None;
    }
    let behind = upper.strip_prefix(PREFIX);
    if behind.is_some_and(|behind| !behind.is_empty() && behind.chars().all(|c| !c.is_ascii_alphanumeric())) {
        return Some(Err(layout()));
    }
    let like = behind.is_some() || all().iter().any(|(_, code)| is_near(&upper, code));
    like.then(|| {
        Err(refuse(
            LabelCode::CardMisread,
            0,
            "This is a code of the command card, but it came through damaged: scan it again, or use the key.",
        ))
    })
}

fn layout() -> Refusal {
    refuse(
        LabelCode::KeyboardLayout,
        0,
        "This is a code of the command card on the keys of another keyboard: set the scanner to this computer's \
         keyboard layout.",
    )
}

/// Takes off `]d1` and its like; says whether the bracket came as another sign: `+` German, `$` French. Such a text
/// may be a label of HIBC, so only what is a whole code behind it is taken for a card.
fn without_identifier(text: &str) -> (&str, bool) {
    let mut chars = text.chars();
    let (Some(sign), Some(letter), Some(digit)) = (chars.next(), chars.next(), chars.next()) else {
        return (text, false);
    };
    let strange = match sign {
        ']' => false,
        '+' | '$' => true,
        _ => return (text, false),
    };
    let is_digit = digit.is_ascii_digit() || (strange && !digit.is_alphanumeric());
    if letter.is_ascii_alphabetic() && is_digit { (chars.as_str(), strange) } else { (text, false) }
}

/// One character wrong, or two neighbours that changed places.
fn is_near(text: &str, code: &str) -> bool {
    let (text, code): (Vec<char>, Vec<char>) = (text.chars().collect(), code.chars().collect());
    if text.len() != code.len() {
        return false;
    }
    let wrong: Vec<usize> = (0..code.len()).filter(|at| text[*at] != code[*at]).collect();
    match wrong[..] {
        [] | [_] => true,
        [first, second] => second == first + 1 && text[first] == code[second] && text[second] == code[first],
        _ => false,
    }
}

/// The height of a row of the sheet, in modules.
const ROW: usize = 24;
/// Of a line of the caution below the codes, in modules.
const LINE_HEIGHT: usize = 5;

/// The card on one sheet: each code as a Data Matrix with its word beside it, `module` millimetres a module.
///
/// # Errors
/// [`WriteError`], which seven characters can't bring about.
pub fn sheet_svg(module: f64) -> Result<String, WriteError> {
    let codes = all();
    let sentences: Vec<&str> = LONG.split_inclusive(". ").collect();
    let (width, height) = (150, codes.len() * ROW + 2 * QUIET + sentences.len() * LINE_HEIGHT);
    let mm = |modules: usize| modules as f64 * module;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{:.2}mm\" height=\"{:.2}mm\" \
         viewBox=\"0 0 {width} {height}\">\n<rect width=\"{width}\" height=\"{height}\" fill=\"white\"/>\n",
        mm(width),
        mm(height),
    );
    for (place, (command, code)) in codes.iter().enumerate() {
        let matrix: Matrix = plain_matrix(code.as_bytes())?;
        let y = place * ROW + QUIET + 4;
        svg.push_str(&format!(
            "<path d=\"{}\" fill=\"black\" shape-rendering=\"crispEdges\"/>\n\
             <text x=\"30\" y=\"{}\" font-family=\"sans-serif\" font-size=\"9\">{}</text>\n\
             <text x=\"30\" y=\"{}\" font-family=\"monospace\" font-size=\"4\">{code}</text>\n",
            matrix.path(QUIET + 4, y),
            y + 7,
            command.word(),
            y + 13,
        ));
    }
    svg.push_str("<text font-family=\"sans-serif\" font-size=\"3\">\n");
    for (place, sentence) in sentences.iter().enumerate() {
        let y = codes.len() * ROW + 2 * QUIET + place * LINE_HEIGHT;
        svg.push_str(&format!("<tspan x=\"{}\" y=\"{y}\">{sentence}</tspan>\n", QUIET + 4));
    }
    svg.push_str("</text>\n</svg>\n");
    Ok(svg)
}
