//! Device identifiers and their check digits.
//!
//! Invariant: knows `units` only; pure. What a label says beyond the identifier is `label`'s business.
//!
//! Sources: @gs1-check-digit (modulo 10), @hibc-structures (modulo 43, no weights), @imdrf-udi-guide (lengths of the
//! identifiers in databases).

use serde::{Deserialize, Serialize};
use std::fmt;
use thiserror::Error;

/// A UDI-DI in the form in which databases keep it: a GTIN padded with zeros to 14 digits, an HIBC
/// labeler + product + unit (6 to 23 characters, without `+` and check), or the 16 characters of ISBT 128 `=/`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct DeviceId(String);

/// Why a text is not a device identifier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum DiError {
    /// Nothing, or zeros alone.
    #[error("there is no device identifier; give the UDI-DI as printed on the label")]
    Empty,
    /// A length that no form has.
    #[error(
        "a device identifier is a GTIN of 8, 12, 13 or 14 digits, an HIBC of 6 to 23 characters or an ISBT 128 \
         identifier of 16; compare it with the label"
    )]
    Length,
    /// A character that the form of this length does not have.
    #[error(
        "a device identifier is made of digits, or of digits and capital letters as HIBC and ISBT 128 write them; \
         compare it with the label"
    )]
    Charset,
    /// A number as spreadsheets show it, its last digits gone: `9.521E+12`.
    #[error(
        "a spreadsheet has made a number of the device identifier and its digits are lost; give its column the format \
         text and take the identifiers from the labels again"
    )]
    Rounded,
    /// A GTIN whose check digit is wrong.
    #[error("the check digit of this GTIN is wrong; compare it with the label")]
    CheckDigit,
}

/// Who gives out the identifier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Issuer {
    /// GTINs.
    Gs1,
    /// Health Industry Bar Code: LIC, REF and level.
    Hibc,
    /// ISBT 128: processor product identification code.
    Iccbba,
}

impl Issuer {
    /// As in `read --json`.
    pub const fn name(self) -> &'static str {
        match self {
            Issuer::Gs1 => "gs1",
            Issuer::Hibc => "hibc",
            Issuer::Iccbba => "iccbba",
        }
    }
}

impl fmt::Display for Issuer {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(self.name())
    }
}

impl DeviceId {
    /// Reads an identifier as databases and people write it; spaces around it are not data.
    ///
    /// # Errors
    /// See [`DiError`]. A GTIN of 8, 12 or 13 digits is padded with zeros to 14.
    pub fn parse(text: &str) -> Result<DeviceId, DiError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(DiError::Empty);
        }
        if !text.bytes().all(|b| b.is_ascii_digit() || b.is_ascii_uppercase()) {
            return Err(if is_rounded(text) { DiError::Rounded } else { DiError::Charset });
        }
        let digits_only = text.bytes().all(|b| b.is_ascii_digit());
        match text.len() {
            8 | 12 | 13 | 14 if digits_only => gtin(text),
            _ if digits_only && text.bytes().all(|b| b == b'0') => Err(DiError::Empty),
            16 if iccbba_shape(text) => Ok(DeviceId(text.into())),
            _ if digits_only => Err(DiError::Length),
            16 => Ok(DeviceId(text.into())),
            6..=23 if hibc_shape(text) => Ok(DeviceId(text.into())),
            6..=23 => Err(DiError::Charset),
            _ => Err(DiError::Length),
        }
    }

    /// As databases write it: a GTIN has 14 digits.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Told by the form alone. Sixteen characters can be HIBC or ISBT 128: those that begin as a facility number
    /// of ISBT 128 does (one character, four digits) are taken for ISBT 128. A label knows its own standard.
    pub fn issuer(&self) -> Issuer {
        if self.0.bytes().all(|b| b.is_ascii_digit()) && self.0.len() == 14 {
            Issuer::Gs1
        } else if iccbba_shape(&self.0) || !hibc_shape(&self.0) {
            Issuer::Iccbba
        } else {
            Issuer::Hibc
        }
    }

    /// 0 is the single unit, 1 to 8 a package of some level, 9 a variable quantity. ISBT 128 has none.
    /// GS1 puts the digit first, HIBC last.
    pub fn packaging_level(&self) -> Option<u8> {
        let digit = match self.issuer() {
            Issuer::Gs1 => self.0.bytes().next(),
            Issuer::Hibc => self.0.bytes().last(),
            Issuer::Iccbba => None,
        };
        digit.filter(u8::is_ascii_digit).map(|b| b - b'0')
    }

    /// The same number at this packaging level, 0 to 8: what a carton of these carries, or one box out of this carton.
    /// None for a variable quantity (level 9), for ISBT 128, and for a level that there is not.
    ///
    /// Sources: @gs1-indicator, and the check digit is worked out anew (@gs1-check-digit); @hibc-structures (the last
    /// character is the unit of measure).
    pub fn at_level(&self, level: u8) -> Option<DeviceId> {
        let digit = char::from_digit(u32::from(level), 10).filter(|_| level <= 8)?;
        self.packaging_level().filter(|own| *own <= 8)?;
        match self.issuer() {
            Issuer::Gs1 => {
                let body = format!("{digit}{}", self.0.get(1..13)?);
                let check = mod10_check(&body)?;
                Some(DeviceId(format!("{body}{check}")))
            }
            Issuer::Hibc => {
                let body = self.0.get(..self.0.len() - 1)?;
                Some(DeviceId(format!("{body}{digit}")))
            }
            Issuer::Iccbba => None,
        }
    }

    /// Itself, then the same number at every other packaging level.
    pub fn levels(&self) -> Vec<DeviceId> {
        let others = (0..=8).filter_map(|level| self.at_level(level)).filter(|other| other != self);
        std::iter::once(self.clone()).chain(others).collect()
    }

    /// Whether the two are one number, at whatever packaging level each stands.
    pub fn is_same_at_some_level(&self, other: &DeviceId) -> bool {
        self == other || self.at_level(0).is_some_and(|unit| other.at_level(0) == Some(unit))
    }
}

impl fmt::Display for DeviceId {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// Whether a text is a number with a power of ten.
fn is_rounded(text: &str) -> bool {
    let Some((number, power)) = text.split_once(['E', 'e']) else { return false };
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    digits(&number.replacen(['.', ','], "", 1)) && digits(power.strip_prefix('+').unwrap_or(power))
}

fn gtin(digits: &str) -> Result<DeviceId, DiError> {
    if digits.bytes().all(|b| b == b'0') {
        return Err(DiError::Empty);
    }
    if !mod10_holds(digits) {
        return Err(DiError::CheckDigit);
    }
    Ok(DeviceId(format!("{digits:0>14}")))
}

/// Facility (a character and four digits), six characters of the facility's own, five of the product code.
fn iccbba_shape(text: &str) -> bool {
    text.len() == 16
        && text.bytes().all(|b| b.is_ascii_digit() || b.is_ascii_uppercase())
        && text.bytes().next().is_some_and(|b| b != b'0' && b != b'O')
        && text.bytes().skip(1).take(4).all(|b| b.is_ascii_digit())
}

/// A letter, three letters or digits, 1 to 18 of the product, a digit for the unit.
fn hibc_shape(text: &str) -> bool {
    (6..=23).contains(&text.len())
        && text.bytes().all(|b| b.is_ascii_digit() || b.is_ascii_uppercase())
        && text.starts_with(|c: char| c.is_ascii_uppercase())
        && text.ends_with(|c: char| c.is_ascii_digit())
}

/// The check digit that belongs behind these digits: from the right, weights 3, 1, 3, 1 …; tens complement.
/// `None` if there is no digit or a character is none.
///
/// It does not see two neighbours that changed places when they differ by 5.
pub fn mod10_check(digits: &str) -> Option<char> {
    if digits.is_empty() {
        return None;
    }
    let mut sum = 0;
    for (place, c) in digits.chars().rev().enumerate() {
        let digit = c.to_digit(10)?;
        sum = (sum + digit * if place % 2 == 0 { 3 } else { 1 }) % 10;
    }
    char::from_digit((10 - sum) % 10, 10)
}

/// Does the last digit check the others?
pub fn mod10_holds(digits: &str) -> bool {
    let mut chars = digits.chars();
    let check = chars.next_back();
    check.is_some() && mod10_check(chars.as_str()) == check
}

/// The characters of modulo 43 in the order of their values.
const MOD43: &str = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%";

/// The check character that belongs behind this text: the plain sum of the values, modulo 43.
/// `None` if the text is empty or holds a character outside the table.
///
/// It has no weights: it does not see two characters that changed places.
pub fn mod43_check(text: &str) -> Option<char> {
    if text.is_empty() {
        return None;
    }
    let mut sum = 0;
    for c in text.chars() {
        sum += MOD43.find(c)?;
    }
    MOD43.chars().nth(sum % 43)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_digits_of_published_numbers() {
        // 9506000134352 and 9506000117843: examples of @gs1-strings and @imdrf-udi-guide. 614141123452: GS1's example prefix.
        assert_eq!(mod10_check("950600013435"), Some('2'));
        assert_eq!(mod10_check("0950600011784"), Some('3'));
        assert_eq!(mod10_check("61414112345"), Some('2'));
        assert_eq!(mod10_check(""), None);
        assert_eq!(mod10_check("12x"), None);
    }

    #[test]
    fn check_characters_of_published_labels() {
        // @hibc-examples.
        assert_eq!(mod43_check("+A99912345/$$52001510X3"), Some('3'));
        assert_eq!(mod43_check("+A123BJC5D6E71"), Some('G'));
        assert_eq!(mod43_check("+J123AQ3451"), Some('T'));
        assert_eq!(mod43_check("a"), None);
        assert_eq!(mod43_check(""), None);
    }

    #[test]
    fn identifiers_take_the_form_of_databases() {
        for (text, kept, issuer, level) in [
            ("9521234543213", "09521234543213", Issuer::Gs1, Some(0)),
            ("614141123452", "00614141123452", Issuer::Gs1, Some(0)),
            ("95211015", "00000095211015", Issuer::Gs1, Some(0)),
            ("59521234543218", "59521234543218", Issuer::Gs1, Some(5)),
            ("A123FL300290", "A123FL300290", Issuer::Hibc, Some(0)),
            ("A99912345", "A99912345", Issuer::Hibc, Some(5)),
            ("A9999XYZ100T0944", "A9999XYZ100T0944", Issuer::Iccbba, None),
            ("1AB370000007JC89", "1AB370000007JC89", Issuer::Iccbba, None),
        ] {
            let id = DeviceId::parse(text).unwrap();
            assert_eq!((id.as_str(), id.issuer(), id.packaging_level()), (kept, issuer, level), "{text}");
        }
    }

    /// 9506000134352 as above; its carton's check digit by hand: 1·3+0+9·3… as the General Specifications show it.
    #[test]
    fn a_carton_carries_the_number_of_its_boxes_at_another_level() {
        let id = |text: &str| DeviceId::parse(text).unwrap();
        let carton = id("9506000134352").at_level(1).unwrap();
        assert_eq!(DeviceId::parse(carton.as_str()), Ok(carton.clone()), "its check digit holds");
        assert_eq!((carton.packaging_level(), &carton.as_str()[1..13]), (Some(1), "950600013435"));
        assert_eq!(carton.at_level(0), Some(id("9506000134352")));
        assert_eq!(id("A123FL300290").at_level(3), Some(id("A123FL300293")));
        for alone in ["A9999XYZ100T0944", "99521234543216"] {
            assert_eq!(id(alone).levels(), [id(alone)], "no carton of it is known by its number");
        }
        assert_eq!(id("9506000134352").levels().len(), 9);
        assert_eq!(id("9506000134352").at_level(9), None);
        assert!(carton.is_same_at_some_level(&id("9506000134352")));
        assert!(!carton.is_same_at_some_level(&id("9521234543213")));
    }

    #[test]
    fn what_is_no_identifier_is_refused() {
        for (text, fault) in [
            ("", DiError::Empty),
            ("00000000000000", DiError::Empty),
            ("9521234543214", DiError::CheckDigit),
            ("12345", DiError::Length),
            ("Q95", DiError::Length),
            ("A123FL-300290", DiError::Charset),
            ("A123FL30029A", DiError::Charset),
            ("q952tn300280", DiError::Charset),
            ("A123AAAAAAAAAAAAAAAAAAAA0", DiError::Length),
        ] {
            assert_eq!(DeviceId::parse(text), Err(fault), "{text}");
        }
    }
}
