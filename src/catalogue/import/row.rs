//! Lines of the release: pipes between fields, some fields in double quotes, columns found by name.
//!
//! There is no escaping that can be relied on, so a line counts only where its fields come out as many as the header
//! has. Where quotes make two readings possible, both must agree or the line is not read.

use crate::units::counted;

/// What is between fields.
pub const PIPE: u8 = b'|';

/// Where the columns stand that somebody asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Header {
    /// How many columns there are.
    pub columns: usize,
    places: Vec<Option<usize>>,
}

impl Header {
    /// Finds columns by name; case, spaces and brackets do not matter, because releases differ in them. `line` may
    /// begin with a byte-order mark. The first `needed` of the names must be there.
    ///
    /// # Errors
    /// The first needed column that is missing, or one that is twice, in words.
    pub fn read(line: &[u8], names: &[&str], needed: usize) -> Result<Header, String> {
        let line = line.strip_prefix(b"\xef\xbb\xbf").unwrap_or(line);
        let text = std::str::from_utf8(line).map_err(|_| "the header is no UTF-8 text".to_string())?;
        let found: Vec<String> = text.trim_end().split('|').map(bare).collect();
        let mut places = Vec::new();
        for (number, name) in names.iter().enumerate() {
            let wanted = bare(name);
            let mut at = found.iter().enumerate().filter(|(_, column)| **column == wanted).map(|(at, _)| at);
            let place = at.next();
            if at.next().is_some() {
                return Err(format!("the column {name} stands twice in the header"));
            }
            if place.is_none() && number < needed {
                return Err(format!("the header has no column {name}; is this the right file?"));
            }
            places.push(place);
        }
        Ok(Header { columns: found.len(), places })
    }

    /// The place of the column with this number among the names asked for.
    pub fn place(&self, number: usize) -> Option<usize> {
        self.places.get(number).copied().flatten()
    }

    /// The field under the column with this number, spaces around it taken off; empty where there is no such column.
    pub fn field<'l>(&self, fields: &[&'l str], number: usize) -> &'l str {
        self.place(number).and_then(|place| fields.get(place)).map_or("", |field| field.trim())
    }
}

fn bare(name: &str) -> String {
    name.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_lowercase()).collect()
}

/// The field at this place of a line, without quotes and spaces, found by counting pipes alone: right wherever no
/// field before it holds a pipe within quotes.
pub fn field_at(line: &[u8], place: usize) -> &[u8] {
    let mut rest = line;
    for _ in 0..place {
        match memchr::memchr(PIPE, rest) {
            Some(at) => rest = &rest[at + 1..],
            None => return b"",
        }
    }
    let field = memchr::memchr(PIPE, rest).map_or(rest, |at| &rest[..at]);
    unquoted_bytes(field.trim_ascii())
}

fn unquoted_bytes(field: &[u8]) -> &[u8] {
    match field {
        [b'"', inner @ .., b'"'] => inner.trim_ascii(),
        _ => field,
    }
}

/// The fields of a line, quotes taken off.
///
/// # Errors
/// Why the line cannot be read for certain, in words.
pub fn split(line: &[u8], columns: usize) -> Result<Vec<&str>, String> {
    let text = std::str::from_utf8(line).map_err(|_| "this is no UTF-8 text".to_string())?;
    let plain: Vec<&str> = text.split('|').collect();
    let quoted = by_quotes(text);
    let fits = |fields: &[&str]| fields.len() == columns;
    match quoted {
        Some(quoted) if fits(&quoted) => Ok(quoted),
        None if fits(&plain) => Ok(plain.into_iter().map(unquoted).collect()),
        Some(_) if fits(&plain) => Err("the quotes of this line can be read in two ways".into()),
        _ => Err(format!("{} under {}", counted(plain.len(), "field"), counted(columns, "column"))),
    }
}

fn unquoted(field: &str) -> &str {
    let inner = field.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
    inner.unwrap_or(field)
}

/// The fields, where a quote that opens one hides pipes up to a quote that closes one. None where a quote that opens
/// is never closed: then it is not a quote.
fn by_quotes(text: &str) -> Option<Vec<&str>> {
    let mut fields = Vec::new();
    let mut rest = text;
    loop {
        let Some(inner) = rest.strip_prefix('"') else {
            match rest.split_once('|') {
                Some((field, after)) => {
                    fields.push(field);
                    rest = after;
                    continue;
                }
                None => {
                    fields.push(rest);
                    return Some(fields);
                }
            }
        };
        match inner.find("\"|") {
            Some(at) => {
                fields.push(&inner[..at]);
                rest = &inner[at + 2..];
            }
            None => {
                fields.push(inner.strip_suffix('"')?);
                return Some(fields);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_found_whatever_their_spelling() {
        let line = b"\xef\xbb\xbfsize Type|PRIMARYDI|Size (Unit)|sizeText\r";
        let header = Header::read(line, &["PrimaryDI", "size (unit)", "sizeText", "other"], 3).unwrap();
        assert_eq!(header.columns, 4);
        assert_eq!([0, 1, 2, 3].map(|n| header.place(n)), [Some(1), Some(2), Some(3), None]);
        assert!(Header::read(line, &["other"], 1).unwrap_err().contains("no column other"));
        assert!(Header::read(b"a|A", &["a"], 1).unwrap_err().contains("twice"));
    }

    #[test]
    fn a_line_counts_only_where_its_fields_do() {
        assert_eq!(split(b"a|\"b|c\"|d", 3), Ok(vec!["a", "b|c", "d"]));
        assert_eq!(split(b"a|\"b\"|d", 3), Ok(vec!["a", "b", "d"]));
        assert_eq!(split(b"a|\"b|d", 3), Ok(vec!["a", "\"b", "d"]), "a quote that nothing closes");
        assert_eq!(split(b"a|b \"x\" c|", 3), Ok(vec!["a", "b \"x\" c", ""]));
        assert!(split(b"a|b", 3).unwrap_err().contains("2 fields under 3"));
        assert!(split(b"a|\"b|c\"", 3).unwrap_err().contains("two ways"));
        assert!(split(b"a|\xff|c", 3).is_err());
        assert_eq!(field_at(b"a| \"b\" |c", 1), b"b");
        assert_eq!(field_at(b"a", 3), b"");
    }
}
