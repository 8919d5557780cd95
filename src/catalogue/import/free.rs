//! Sizes in free text: `3.00mm x 28mm`, `28 mm (L) x 3 mm (D)`, `2,25 x 8`, `Diameter: 3.0 mm, Length: 28 mm`.
//!
//! Read only where one meaning is left. Without words for the two numbers the smaller is the diameter: no coronary
//! stent or balloon is as wide as it is long (common practice, no source), and a pair whose numbers lie close
//! together is not read.

use super::believed::{Figure, Unit, diameter, length};
use super::lexed::{Role, Token, lex};

/// The longer of two unnamed numbers is at least this many times the other. Ours: a 5 x 6 can be turned round.
const APART: f64 = 1.5;
/// A third number in centimetres from here on is the catheter's own length.
const SHAFT_CM: f64 = 60.0;

/// What a text says of a size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Said {
    /// At least one of the two, believable for a coronary device.
    Size {
        /// In mm, where it was said.
        diameter: Option<f64>,
        /// In mm, where it was said.
        length: Option<f64>,
    },
    /// No size of this device.
    Nothing,
    /// And why it is not read.
    Doubtful(&'static str),
}

#[derive(Debug, Clone, Copy)]
struct Group {
    figure: Figure,
    unit: Option<Unit>,
    role: Option<Role>,
    /// From one number to another.
    range: bool,
}

/// What this text says.
pub fn read(text: &str) -> Said {
    let tokens = lex(text);
    let mut chains = chains(&tokens);
    chains.retain(|chain| chain.len() > 1 || chain[0].role.is_some());
    let mut whole = (None, None);
    for chain in &chains {
        let (diameter, length) = match size_of(chain) {
            Ok(size) => size,
            Err(why) => return Said::Doubtful(why),
        };
        for (kept, said) in [(&mut whole.0, diameter), (&mut whole.1, length)] {
            match (*kept, said) {
                (Some(a), Some(b)) if a != b => return Said::Doubtful("the text names more than one size"),
                (None, Some(_)) => *kept = said,
                _ => {}
            }
        }
    }
    if foreign(&tokens).any(|(role, mm)| {
        let (own, said) = match role {
            Role::Diameter => (whole.0, diameter(mm)),
            Role::Length => (whole.1, length(mm)),
        };
        said.is_some() && said != own
    }) {
        return Said::Doubtful("the text names a measure that may be this device's or another part's");
    }
    match whole {
        (None, None) => Said::Nothing,
        (diameter, length) => Said::Size { diameter, length },
    }
}

/// What the text gives as the length or diameter of something, perhaps of a shaft, a vessel or a guide.
fn foreign(tokens: &[Token]) -> impl Iterator<Item = (Role, (f64, f64))> {
    (0..tokens.len()).filter_map(|at| {
        let (Token::Foreign(role), rest) = (&tokens[at], &tokens[at + 1..]) else { return None };
        let rest = rest.strip_prefix(&[Token::Colon]).unwrap_or(rest);
        let (figure, unit) = match rest {
            [Token::Figure(figure), Token::Unit(unit), ..] => (figure, *unit),
            [Token::Figure(figure), ..] => (figure, Unit::Millimetre),
            _ => return None,
        };
        Some((*role, figure.millimetres(unit)?))
    })
}

/// Numbers that an `x` joins, with their units and the words that name them.
fn chains(tokens: &[Token]) -> Vec<Vec<Group>> {
    // "Diameter 3 mm length 28 mm" or "3 mm diameter 28 mm length": which of both, the first word tells.
    let names_come_first = tokens.iter().find_map(|token| match token {
        Token::Role(_) => Some(true),
        Token::Figure(_) => Some(false),
        _ => None,
    });
    let mut chains: Vec<Vec<Group>> = Vec::new();
    let mut joined = false;
    let mut at = 0;
    while at < tokens.len() {
        let Token::Figure(figure) = tokens[at] else {
            joined = matches!(tokens[at], Token::Times) && at > 0 && joined_before(&tokens[..at]);
            at += 1;
            continue;
        };
        let before = &tokens[..at];
        let named_before = match before {
            [.., Token::Role(role)] | [.., Token::Role(role), Token::Colon] => Some(*role),
            _ => None,
        };
        let mut range = matches!(before, [.., Token::Figure(_), Token::Dash])
            || matches!(before, [.., Token::Figure(_), Token::Unit(_), Token::Dash]);
        at += 1;
        let unit = match tokens.get(at) {
            Some(Token::Unit(unit)) => {
                at += 1;
                Some(*unit)
            }
            _ => None,
        };
        let (named_after, width) = match &tokens[at..] {
            [Token::Open, Token::Role(role), Token::Close, ..] => (Some((*role, true)), 3),
            [Token::Role(role), rest @ ..] if !matches!(rest, [Token::Colon, ..]) => {
                (Some((*role, false)), 1)
            }
            _ => (None, 0),
        };
        range |= matches!(tokens[at..], [Token::Dash, Token::Figure(_), ..]);
        let role = match (named_before, named_after) {
            (_, Some((role, true))) => Some(role),
            (Some(role), _) if names_come_first == Some(true) => Some(role),
            (_, Some((role, false))) if names_come_first == Some(false) => Some(role),
            _ => None,
        };
        if role.is_some() && named_after.is_some_and(|(_, bracketed)| bracketed || named_before != role) {
            at += width;
        }
        let group = Group { figure, unit, role, range };
        match chains.last_mut() {
            Some(chain) if joined => chain.push(group),
            _ => chains.push(vec![group]),
        }
        joined = false;
    }
    chains
}

/// Whether an `x` at the end of these is behind a number.
fn joined_before(tokens: &[Token]) -> bool {
    matches!(tokens.last(), Some(Token::Figure(_) | Token::Unit(_) | Token::Role(_) | Token::Close))
}

type Size = (Option<f64>, Option<f64>);

fn size_of(chain: &[Group]) -> Result<Size, &'static str> {
    if chain.iter().any(|group| group.range) {
        return Err("the text names a range of sizes");
    }
    match chain {
        [one] => {
            let mm = one.figure.millimetres(one.unit.unwrap_or(Unit::Millimetre));
            let mm = mm.ok_or("a French gauge is a catheter's")?;
            match one.role {
                Some(Role::Diameter) => {
                    Ok((Some(diameter(mm).ok_or("no labelled diameter is believed to be that")?), None))
                }
                Some(Role::Length) => {
                    Ok((None, Some(length(mm).ok_or("no labelled length is believed to be that")?)))
                }
                None => Ok((None, None)),
            }
        }
        [a, b] => pair(a, b),
        [a, b, c] if c.unit == Some(Unit::Centimetre) && c.figure.value >= SHAFT_CM && a.unit.is_some() => {
            pair(a, b)
        }
        _ => Err("more than two numbers are joined"),
    }
}

fn pair(a: &Group, b: &Group) -> Result<Size, &'static str> {
    // "3.0 x 29 mm": one unit stands for both; none at all is millimetres, the only unit that is believed.
    let shared = a.unit.or(b.unit).unwrap_or(Unit::Millimetre);
    let mm = |group: &Group| {
        let unit = group.unit.unwrap_or(shared);
        group.figure.millimetres(unit).ok_or("a French gauge is a catheter's")
    };
    let (a_mm, b_mm) = (mm(a)?, mm(b)?);
    let (wide, long) = match (a.role, b.role) {
        (Some(Role::Diameter), Some(Role::Diameter)) | (Some(Role::Length), Some(Role::Length)) => {
            return Err("both numbers bear the same name");
        }
        (Some(Role::Diameter), _) | (_, Some(Role::Length)) => (a_mm, b_mm),
        (Some(Role::Length), _) | (_, Some(Role::Diameter)) => (b_mm, a_mm),
        (None, None) => {
            let (small, large) = if a_mm.0 <= b_mm.0 { (a_mm, b_mm) } else { (b_mm, a_mm) };
            if large.0 < APART * small.0 {
                return Err("which number is the diameter can't be told");
            }
            (small, large)
        }
    };
    match (diameter(wide), length(long)) {
        (Some(diameter), Some(length)) if diameter < length => Ok((Some(diameter), Some(length))),
        _ => Err("no stent or balloon is believed to have that size"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn size(diameter: f64, length: f64) -> Said {
        Said::Size { diameter: Some(diameter), length: Some(length) }
    }

    /// How makers write sizes: the first four as public release files have them, the rest common practice.
    #[test]
    fn sizes_are_read_where_one_meaning_is_left() {
        for text in [
            "3.00mm x 29mm",
            "29 mm (L) x 3 mm (D)",
            "3,00 x 29",
            "0.118 in x 1.14 in",
            "3.0X29MM",
            "3.00mmx29mm",
            "Stent System 3.0 mm x 29 mm x 140 cm",
            "29 x 3.0",
            "Diameter: 3.0 mm, Length: 29 mm",
            "stent length 29 mm stent diameter 3.00 mm",
            "3.0 mm diameter x 29 mm length",
            "3.0 mm diameter, 29 mm length",
            "Ø3.0 × 29 mm, 6F compatible, nominal 11 atm, for 0.014\" wires",
            "D3.0 x L29",
            "REF FL30029 3.00 by 29 mm",
        ] {
            assert_eq!(read(text), size(3.0, 29.0), "{text:?}");
        }
        assert_eq!(read("2,25 x 8"), size(2.25, 8.0));
        assert_eq!(read("Length 29 mm"), Said::Size { diameter: None, length: Some(29.0) });
    }

    #[test]
    fn doubtful_ones_are_not() {
        for text in [
            "3.0 x 29 and 3.5 x 29",
            "2.0-4.0 mm x 29 mm",
            "3.0 x 29 x 30 mm",
            "5 x 6",
            "29 mm (D) x 3 mm (L)",
            "6F x 100 cm",
            "300 x 29",
            "1.04 x 29 mm",
            "3.5 x 3.0 mm",
            "diameter 29 mm",
            "vessel diameter 3.0 mm",
            "PTCA catheter length 29 mm",
        ] {
            assert!(matches!(read(text), Said::Doubtful(_)), "{text:?}: {:?}", read(text));
        }
        for text in [
            "",
            "29mm",
            "Coronary stent system, 6F, 140 cm shaft",
            "crossing diameter 1.04 mm",
            "working length 142 cm",
            "FL30029",
        ] {
            assert_eq!(read(text), Said::Nothing, "{text:?}");
        }
    }
}
