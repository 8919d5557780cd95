//! Free text cut into numbers, units and the few words that name a size.

use super::believed::{Figure, Unit};

/// Which of both a word names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    Diameter,
    Length,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Token {
    Figure(Figure),
    Unit(Unit),
    Times,
    Role(Role),
    /// The same word, but perhaps of another part: "shaft length".
    Foreign(Role),
    Open,
    Close,
    Colon,
    Dash,
    /// Everything else, which parts what is before and after it.
    Word,
}

/// Words that may be before "length" or "diameter" of a stent or balloon. Any other (shaft, crossing, vessel,
/// working, maximum) makes it the length or diameter of something else.
const OWN: [&str; 12] = [
    "stent", "balloon", "device", "system", "exchange", "size", "nominal", "labelled", "labeled", "and", "x",
    "by",
];

/// Cuts a text.
pub fn lex(text: &str) -> Vec<Token> {
    let chars: Vec<char> = text.chars().collect();
    let mut tokens = Vec::new();
    let mut last_word = String::new();
    let mut at = 0;
    while at < chars.len() {
        let c = chars[at];
        if c.is_ascii_digit()
            || matches!(c, '.' | ',') && next_is_digit(&chars, at) && !digit_before(&chars, at)
        {
            let end = figure_end(&chars, at);
            let written: String = chars[at..end].iter().collect();
            tokens.push(Figure::read(&written).map_or(Token::Word, Token::Figure));
            at = end;
            last_word.clear();
            continue;
        }
        if c.is_alphabetic() {
            let end = (at..chars.len()).find(|&i| !chars[i].is_alphabetic()).unwrap_or(chars.len());
            let word: String = chars[at..end].iter().flat_map(|c| c.to_lowercase()).collect();
            at = alphabetic(&chars, end, &word, &last_word, &mut tokens);
            last_word = word;
            continue;
        }
        match c {
            '×' | '*' => tokens.push(Token::Times),
            '⌀' | '∅' => tokens.push(Token::Role(Role::Diameter)),
            '"' | '″' if matches!(tokens.last(), Some(Token::Figure(_))) => {
                tokens.push(Token::Unit(Unit::Inch));
            }
            '(' | '[' => tokens.push(Token::Open),
            ')' | ']' => tokens.push(Token::Close),
            ':' | '=' => tokens.push(Token::Colon),
            '-' | '–' | '—' => tokens.push(Token::Dash),
            c if c.is_whitespace() => {
                at += 1;
                continue;
            }
            _ => tokens.push(Token::Word),
        }
        last_word.clear();
        at += 1;
    }
    tokens
}

fn next_is_digit(chars: &[char], at: usize) -> bool {
    chars.get(at + 1).is_some_and(char::is_ascii_digit)
}

fn digit_before(chars: &[char], at: usize) -> bool {
    at > 0 && chars[at - 1].is_ascii_digit()
}

/// Digits, and points and commas with a digit behind them: `1.2.3` comes out whole, and is then no number.
fn figure_end(chars: &[char], start: usize) -> usize {
    let mut end = start;
    while end < chars.len()
        && (chars[end].is_ascii_digit() || matches!(chars[end], '.' | ',') && next_is_digit(chars, end))
    {
        end += 1;
    }
    end
}

/// Takes a run of letters that ends before `end`; returns where to go on.
fn alphabetic(chars: &[char], end: usize, word: &str, last_word: &str, tokens: &mut Vec<Token>) -> usize {
    let behind_figure = matches!(tokens.last(), Some(Token::Figure(_)));
    let digit_follows = chars.get(end).is_some_and(char::is_ascii_digit);
    if behind_figure {
        // "3.00mmx28": the x belongs to the next number.
        let (unit, times) = match word.strip_suffix('x').filter(|rest| !rest.is_empty()) {
            Some(rest) if Unit::from_word(rest).is_some() => (rest, true),
            _ => (word, false),
        };
        if let Some(unit) = Unit::from_word(unit) {
            tokens.push(Token::Unit(unit));
            if times {
                tokens.push(Token::Times);
            }
            return end;
        }
    }
    let behind_unit = matches!(tokens.last(), Some(Token::Unit(_)));
    let own = last_word.is_empty() || OWN.contains(&last_word) || behind_unit;
    // A lone letter names a number only where it is tied to one: "(D)", "D3.0", "D: 3.0", but not "3D".
    let tied = digit_follows
        || matches!(tokens.last(), Some(Token::Open))
        || matches!(chars.get(end), Some(':' | '='));
    let lone = word.chars().count() == 1;
    let role = |role| match own {
        _ if lone && !(own && tied) => None,
        true => Some(Token::Role(role)),
        false => Some(Token::Foreign(role)),
    };
    let token = match word {
        "x" | "by" => Some(Token::Times),
        "ø" => Some(Token::Role(Role::Diameter)),
        "d" | "dia" | "diam" | "diameter" => role(Role::Diameter),
        "l" | "len" | "length" => role(Role::Length),
        _ => None,
    };
    if let Some(token) = token {
        tokens.push(token);
        return end;
    }
    tokens.push(Token::Word);
    // A number that letters run into belongs to them: FL30029.
    if digit_follows { figure_end(chars, end) } else { end }
}
