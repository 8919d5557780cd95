//! TOML and tables (CSV) in; values with their places out, and every fault of a file in one run.
//!
//! Derived readers stop at the first fault, and a nurse who mends a file wants the whole list. So the spanned
//! tree is walked: each key that is asked for is known from then on, and `Table::finish` reports the rest.
//!
//! Invariant: knows no other room and nothing of the trade; opens no file itself. Pure.

mod node;
mod plain;
pub mod table;

pub use node::Node;
use node::{Entries, Entry};
use std::cell::RefCell;
use std::fmt;
use toml::de::DeTable;

/// One thing that is wrong in a file. Shown as `FILE:LINE: KEY: MESSAGE`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// As the caller named it.
    pub file: String,
    /// From 1.
    pub line: usize,
    /// The way to it, lists counted from 1: `diameter[2].boxes[3].di[1]`. Empty where no key is meant.
    pub key: String,
    /// What is wrong, and what to do.
    pub message: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let Fault { file, line, key, message } = self;
        match key.as_str() {
            "" => write!(f, "{file}:{line}: {message}"),
            key => write!(f, "{file}:{line}: {key}: {message}"),
        }
    }
}

impl std::error::Error for Fault {}

/// Where something stands in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// From 1.
    pub line: usize,
    /// The way to it, as in [`Fault::key`].
    pub key: String,
}

/// A value and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct At<T> {
    /// What was read.
    pub value: T,
    /// Where it stands.
    pub place: Place,
}

impl<T> At<T> {
    /// The value changed, its place kept.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> At<U> {
        At { value: change(self.value), place: self.place }
    }
}

/// Walks a file. The first is `None` only where the text is no TOML; then the faults are what the parser could tell
/// of it, and nothing is asked of a tree with holes. Faults come in the order of their lines.
pub fn walk<T>(file: &str, text: &str, visit: impl FnOnce(&mut Table) -> T) -> (Option<T>, Vec<Fault>) {
    let source = Source::new(file, text, true);
    let (tree, errors) = DeTable::parse_recoverable(text);
    let value = if errors.is_empty() {
        let place = Place { line: 1, key: String::new() };
        let entries = node::of_table(tree.get_ref());
        let mut table = Table { source: &source, table: &entries, place, known: Vec::new() };
        let value = visit(&mut table);
        table.finish();
        Some(value)
    } else {
        for error in errors {
            let line = error.span().map_or(1, |span| source.line(span.start));
            let message = error.message().lines().collect::<Vec<_>>().join("; ");
            source.fault(&Place { line, key: String::new() }, format!("this is no TOML: {message}"));
        }
        None
    };
    let mut faults = source.faults.into_inner();
    faults.sort_by_key(|fault| fault.line);
    (value, faults)
}

/// Walks a file that is expected to be free of faults: several times as quick as [`walk`], because nobody looks at
/// places. `None` where anything is wrong, or where the text is not as plain as product files are: then [`walk`] tells.
pub fn quick<T>(text: &str, visit: impl FnOnce(&mut Table) -> T) -> Option<T> {
    let entries = plain::read(text)?;
    let source = Source::new("", "", false);
    let place = Place { line: 0, key: String::new() };
    let mut table = Table { source: &source, table: &entries, place, known: Vec::new() };
    let value = visit(&mut table);
    table.finish();
    source.faults.into_inner().is_empty().then_some(value)
}

/// A text as TOML writes it, with its quotes.
pub fn quoted(text: &str) -> String {
    toml::Value::String(text.into()).to_string()
}

/// A value counts only where nothing in its file is wrong.
///
/// # Errors
/// Every fault of the file; one at least.
pub fn settle<T>(file: &str, value: Option<T>, mut faults: Vec<Fault>) -> Result<T, Vec<Fault>> {
    match value {
        Some(value) if faults.is_empty() => Ok(value),
        _ => {
            // A walk that gives no value has said why; should one forget, the file is still not taken.
            if faults.is_empty() {
                let message = "could not be read".into();
                faults.push(Fault { file: file.into(), line: 1, key: String::new(), message });
            }
            Err(faults)
        }
    }
}

/// The known word that is nearest to this one, by edits; none where the words have nothing in common.
pub fn nearest<'w>(word: &str, known: &[&'w str]) -> Option<&'w str> {
    let close = |candidate: &&str| strsim::normalized_damerau_levenshtein(&word.to_lowercase(), candidate);
    let best = known.iter().copied().max_by(|a, b| close(a).total_cmp(&close(b)))?;
    (close(&best) > 0.0).then_some(best)
}

/// What to append to a message about an unknown word: the nearest known one, or nothing.
pub fn hint(word: &str, known: &[&str]) -> String {
    nearest(word, known).map(|near| format!("; the nearest known one is {near:?}")).unwrap_or_default()
}

/// What a TOML value can be read as.
pub trait Value: Sized {
    /// In words, for a message: `a number`.
    const WANTED: &'static str;
    /// None where the value is of another kind.
    fn take(node: &Node) -> Option<Self>;
}

impl Value for f64 {
    const WANTED: &'static str = "a number";
    /// Whole numbers are numbers; `inf` and `nan` are none.
    fn take(node: &Node) -> Option<Self> {
        let number = match node {
            Node::Float(text) => text.parse().ok()?,
            Node::Whole(text, base) => i64::from_str_radix(text, *base).ok()? as f64,
            _ => return None,
        };
        number.is_finite().then_some(number)
    }
}

impl Value for u32 {
    const WANTED: &'static str = "a whole number, 0 or more";
    fn take(node: &Node) -> Option<Self> {
        match node {
            Node::Whole(text, base) => u32::from_str_radix(text, *base).ok(),
            _ => None,
        }
    }
}

impl Value for bool {
    const WANTED: &'static str = "true or false";
    fn take(node: &Node) -> Option<Self> {
        match node {
            Node::Truth(truth) => Some(*truth),
            _ => None,
        }
    }
}

impl Value for String {
    const WANTED: &'static str = "text in quotes";
    fn take(node: &Node) -> Option<Self> {
        match node {
            Node::Text(text) => Some(text.to_string()),
            _ => None,
        }
    }
}

impl Value for [f64; 2] {
    const WANTED: &'static str = "two numbers in brackets";
    fn take(node: &Node) -> Option<Self> {
        let Node::List(items) = node else { return None };
        match items.as_slice() {
            [first, second] => Some([f64::take(&first.node)?, f64::take(&second.node)?]),
            _ => None,
        }
    }
}

fn found(node: &Node) -> String {
    match node {
        Node::Text(text) => format!("the text {text:?}"),
        Node::Float(number) if number.ends_with("nan") || number.ends_with("inf") => {
            format!("{number}, which measures nothing")
        }
        Node::Whole(number, _) | Node::Float(number) => format!("the number {number}"),
        Node::Truth(value) => value.to_string(),
        Node::Date(date) => format!("the date {date}"),
        Node::List(items) => format!("a list of {}", items.len()),
        Node::Table(_) => "a table".into(),
    }
}

/// One file under inspection.
struct Source {
    file: String,
    /// The byte at which each line begins.
    starts: Vec<usize>,
    /// Whether places are worked out at all.
    placed: bool,
    faults: RefCell<Vec<Fault>>,
}

impl Source {
    fn new(file: &str, text: &str, placed: bool) -> Self {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Source { file: file.into(), starts, placed, faults: RefCell::default() }
    }

    /// The line in which a byte stands.
    fn line(&self, at: usize) -> usize {
        self.starts.partition_point(|&start| start <= at)
    }

    /// A place; where nobody looks at them it is empty, and costs nothing.
    fn place(&self, at: usize, key: impl FnOnce() -> String) -> Place {
        if !self.placed {
            return Place { line: 0, key: String::new() };
        }
        Place { line: self.line(at), key: key() }
    }

    fn fault(&self, place: &Place, message: impl Into<String>) {
        let Place { line, key } = place.clone();
        self.faults.borrow_mut().push(Fault { file: self.file.clone(), line, key, message: message.into() });
    }
}

/// One table of a file. Whatever is asked for by name is known; `finish` reports what nobody asked for.
pub struct Table<'a> {
    source: &'a Source,
    table: &'a Entries<'a>,
    place: Place,
    known: Vec<&'static str>,
}

impl<'a> Table<'a> {
    /// Where the table begins.
    pub fn place(&self) -> &Place {
        &self.place
    }

    /// Reports a fault of what stands at this place.
    pub fn fault(&self, place: &Place, message: impl Into<String>) {
        self.source.fault(place, message);
    }

    /// Reports that a key of this table is missing.
    pub fn missing(&self, key: &str) {
        let place = Place { line: self.place.line, key: self.path(key) };
        self.fault(&place, "is missing");
    }

    /// A key that must be there.
    pub fn required<T: Value>(&mut self, key: &'static str) -> Option<At<T>> {
        if !self.has(key) {
            self.missing(key);
        }
        self.optional(key)
    }

    /// A key that may be left out. `None` too where it holds something else; then a fault says so.
    pub fn optional<T: Value>(&mut self, key: &'static str) -> Option<At<T>> {
        let (place, value) = self.entry(key)?;
        self.take(place, value)
    }

    /// Text that must be there and not be blank.
    pub fn words(&mut self, key: &'static str) -> Option<At<String>> {
        let text: At<String> = self.required(key)?;
        if text.value.trim().is_empty() {
            self.fault(&text.place, "must not be empty");
            return None;
        }
        Some(text)
    }

    /// One word of a closed list.
    pub fn one_of<T>(&self, text: At<String>, names: &[&str], from: fn(&str) -> Option<T>) -> Option<At<T>> {
        let value = from(&text.value);
        if value.is_none() {
            let hint = hint(&text.value, names);
            self.fault(&text.place, format!("{:?} is none of {}{hint}", text.value, names.join(", ")));
        }
        Some(At { value: value?, place: text.place })
    }

    /// The items of a list; those that are something else are reported and left out.
    pub fn list<T: Value>(&mut self, key: &'static str) -> Option<At<Vec<At<T>>>> {
        let (place, value) = self.entry(key)?;
        let Node::List(items) = value else {
            self.fault(&place, format!("expected a list in brackets, found {}", found(value)));
            return None;
        };
        let items = items
            .iter()
            .enumerate()
            .filter_map(|(index, item)| self.take(self.item_place(&place, index, item.at), &item.node));
        Some(At { value: items.collect(), place: place.clone() })
    }

    /// A list of tables, `[[key]]` or `key = [{ … }]`. `None` where the key is not there.
    pub fn tables(&mut self, key: &'static str) -> Option<At<Vec<Table<'a>>>> {
        let (place, value) = self.entry(key)?;
        let Node::List(items) = value else {
            self.fault(&place, format!("expected a list of tables, [[{key}]], found {}", found(value)));
            return None;
        };
        let items = items
            .iter()
            .enumerate()
            .filter_map(|(index, item)| self.sub(self.item_place(&place, index, item.at), &item.node));
        Some(At { value: items.collect(), place: place.clone() })
    }

    /// A table within this one.
    pub fn table(&mut self, key: &'static str) -> Option<Table<'a>> {
        let (place, value) = self.entry(key)?;
        self.sub(place, value)
    }

    /// Every key with its value, in the order of the file, for tables whose keys are the room's own words (such
    /// a table has no unknown key, so it is not finished).
    pub fn entries<T: Value>(&self) -> Vec<(String, At<T>)> {
        let entries = self.table.iter().filter_map(|Entry { key, at, node }| {
            let place = self.source.place(*at, || self.path(key));
            Some((key.to_string(), self.take(place, node)?))
        });
        let mut entries: Vec<_> = entries.collect();
        entries.sort_by_key(|(_, at)| at.place.line);
        entries
    }

    /// Reports the keys that nobody asked for.
    pub fn finish(self) {
        for Entry { key, at, .. } in self.table {
            let name = key.as_ref();
            if !self.known.contains(&name) {
                let place = self.source.place(*at, || self.path(name));
                self.fault(&place, format!("is not known here{}", hint(name, &self.known)));
            }
        }
    }

    /// Whether the key is there, asked for or not.
    pub fn has(&self, key: &str) -> bool {
        self.table.iter().any(|entry| entry.key == key)
    }

    fn entry(&mut self, key: &'static str) -> Option<(Place, &'a Node<'a>)> {
        if !self.known.contains(&key) {
            self.known.push(key);
        }
        let Entry { at, node, .. } = self.table.iter().find(|entry| entry.key == key)?;
        Some((self.source.place(*at, || self.path(key)), node))
    }

    fn take<T: Value>(&self, place: Place, value: &Node) -> Option<At<T>> {
        let taken = T::take(value);
        if taken.is_none() {
            self.fault(&place, format!("expected {}, found {}", T::WANTED, found(value)));
        }
        Some(At { value: taken?, place })
    }

    fn sub(&self, place: Place, value: &'a Node<'a>) -> Option<Table<'a>> {
        let Node::Table(table) = value else {
            self.fault(&place, format!("expected a table, found {}", found(value)));
            return None;
        };
        Some(Table { source: self.source, table, place, known: Vec::new() })
    }

    fn item_place(&self, list: &Place, index: usize, at: usize) -> Place {
        self.source.place(at, || format!("{}[{}]", list.key, index + 1))
    }

    fn path(&self, key: &str) -> String {
        match self.place.key.as_str() {
            "" => key.to_string(),
            path => [path, ".", key].concat(),
        }
    }
}
