//! What surrounds a label: symbology identifiers, terminators, and what scanners send for the separator.
//!
//! Invariant: knows characters, not what they mean.

/// The separator, GS.
pub(super) const GS: char = '\x1d';

/// A character and the byte at which it was in what was given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Ch {
    pub c: char,
    pub at: usize,
}

/// What one symbol sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Segment {
    /// The letter and the digit behind `]`.
    pub id: Option<[char; 2]>,
    pub text: Vec<Ch>,
    /// Bytes from 0.
    pub at: usize,
    /// A terminator was before it, or nothing.
    pub apart: bool,
}

pub(super) fn text_of(chars: &[Ch]) -> String {
    chars.iter().map(|ch| ch.c).collect()
}

/// The characters of the bytes; what is no UTF-8 becomes U+FFFD, which no label holds.
pub(super) fn decode(bytes: &[u8]) -> Vec<Ch> {
    let mut chars = Vec::with_capacity(bytes.len());
    let mut at = 0;
    for chunk in bytes.utf8_chunks() {
        chars.extend(chunk.valid().char_indices().map(|(offset, c)| Ch { c, at: at + offset }));
        at += chunk.valid().len();
        if !chunk.invalid().is_empty() {
            chars.push(Ch { c: '\u{fffd}', at });
            at += chunk.invalid().len();
        }
    }
    chars
}

/// Cuts a burst where a terminator or a further symbology identifier stands. Empty pieces are dropped; spaces
/// before a piece go, spaces behind it stay: the check character of HIBC can be one.
pub(super) fn segments(chars: &[Ch]) -> Vec<Segment> {
    let mut found = Vec::new();
    for line in chars.split(|ch| matches!(ch.c, '\r' | '\n' | '\t' | '\x02' | '\x03' | '\x04')) {
        let mut cuts: Vec<usize> = (0..line.len()).filter(|&i| identifier(&line[i..]).is_some()).collect();
        if cuts.first() != Some(&0) {
            cuts.insert(0, 0);
        }
        cuts.push(line.len());
        let mut apart = true;
        for ends in cuts.windows(2) {
            let (Some(&from), Some(&to)) = (ends.first(), ends.last()) else { continue };
            let piece = &line[from..to];
            let id = identifier(piece);
            let text = if id.is_some() { &piece[3..] } else { piece };
            let blank = text.iter().all(|ch| ch.c == ' ' || ch.c == GS);
            let Some(first) = piece.first().filter(|_| id.is_some() || !blank) else { continue };
            let spaces = text.iter().take_while(|ch| ch.c == ' ').count();
            found.push(Segment { id, text: text[spaces..].to_vec(), at: first.at, apart });
            apart = false;
        }
    }
    found
}

fn identifier(chars: &[Ch]) -> Option<[char; 2]> {
    match chars {
        [bracket, letter, digit, ..]
            if bracket.c == ']' && letter.c.is_ascii_alphabetic() && digit.c.is_ascii_digit() =>
        {
            Some([letter.c, digit.c])
        }
        _ => None,
    }
}

impl Segment {
    /// Carries application identifiers: GS1-128, GS1 Data Matrix, GS1 QR, GS1 DataBar and composite, GS1 DotCode.
    pub(super) fn gs1_marked(&self) -> bool {
        matches!(self.id, Some(['C', '1'] | ['d', '2'] | ['Q', '3'] | ['e', '0'] | ['J', '1']))
    }

    /// An identifier that caps lock has turned round: none of these is on a device label.
    pub(super) fn caps_lock(&self) -> bool {
        match self.id {
            Some(
                ['D', '1' | '2'] | ['c', '0' | '1' | '4'] | ['q', _] | ['j', '1'] | ['a', '0'] | ['i', _],
            ) => true,
            // EAN-13 has thirteen digits: more of them, beginning with 01, come from GS1 DataBar, `]e0`.
            Some(['E', '0']) => {
                let digits = self.text.iter().take_while(|ch| ch.c.is_ascii_digit()).count();
                digits > 13 && text_of(&self.text[..2]) == "01"
            }
            _ => false,
        }
    }
}

/// Turns the case of every letter.
pub(super) fn turn_case(chars: &mut [Ch]) {
    for ch in chars {
        if ch.c.is_ascii_lowercase() {
            ch.c = ch.c.to_ascii_uppercase();
        } else {
            ch.c = ch.c.to_ascii_lowercase();
        }
    }
}

/// What scanners send for GS, since it has no key of its own. Longer ones first.
const REPLACEMENTS: &[&str] = &[
    "\x1b0\x1b2\x1b9", "\x1b[19~", "{FNC1}", "{GS}", "<GS>", "[GS]", "\\x1d", "\\x1D", "\\F", "^]", "^", "|",
    "~", "\u{241d}",
];

/// Puts GS where a replacement stands; also where the sign stands that the user has set. Letters, digits and
/// round brackets can't be set: they are part of every label.
pub(super) fn with_separators(chars: &[Ch], set: Option<char>) -> Vec<Ch> {
    let set = set.filter(|c| !c.is_ascii_alphanumeric() && *c != '(' && *c != ')');
    let mut clean = Vec::with_capacity(chars.len());
    let mut rest = chars;
    while let Some(first) = rest.first() {
        let matches = |word: &&&str| {
            let mut letters = word.chars();
            let mut here = rest.iter();
            letters.all(|letter| here.next().is_some_and(|ch| ch.c == letter))
        };
        let (c, used) = if set == Some(first.c) {
            (GS, 1)
        } else if let Some(word) = REPLACEMENTS.iter().find(matches) {
            (GS, word.chars().count())
        } else {
            (first.c, 1)
        };
        clean.push(Ch { c, at: first.at });
        rest = &rest[used..];
    }
    clean
}

/// Without spaces at either end.
pub(super) fn trim(mut chars: &[Ch]) -> &[Ch] {
    while let [first, rest @ ..] = chars
        && first.c == ' '
    {
        chars = rest;
    }
    while let [rest @ .., last] = chars
        && last.c == ' '
    {
        chars = rest;
    }
    chars
}
