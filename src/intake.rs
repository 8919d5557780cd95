//! TOML and tables (CSV) in; values with their places out, and every fault of a file in one run.
//!
//! Derived readers stop at the first fault, and a nurse who mends a file wants the whole list. So the spanned
//! tree is walked: each key that is asked for is known from then on, and `Table::finish` reports the rest.
//!
//! Invariant: knows no other module and nothing of the trade; opens no file itself. Pure.

pub mod spreadsheet;
pub mod table;

use std::cell::RefCell;
use std::fmt;
use toml::Spanned;
use toml::de::DeTable;

pub use toml::de::DeValue as Node;

/// One thing that is wrong in a file. Shown as `FILE:LINE: KEY: MESSAGE`; in JSON by the names of its fields.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct FileFault {
    /// As the caller named it.
    pub file: String,
    /// From 1.
    pub line: usize,
    /// The way to it, lists counted from 1: `diameter[2].boxes[3].di[1]`. Empty where no key is meant.
    pub key: String,
    /// What is wrong, and what to do.
    pub message: String,
}

impl fmt::Display for FileFault {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let FileFault { file, line, key, message } = self;
        match key.as_str() {
            "" => write!(f, "{file}:{line}: {message}"),
            key => write!(f, "{file}:{line}: {key}: {message}"),
        }
    }
}

impl std::error::Error for FileFault {}

/// Where something is in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// From 1.
    pub line: usize,
    /// The way to it, as in [`FileFault::key`].
    pub key: String,
}

/// A value and its place.
#[derive(Debug, Clone, PartialEq)]
pub struct At<T> {
    /// What was read.
    pub value: T,
    /// Its own, or that of its key.
    pub place: Place,
}

/// Walks a file. The first is `None` where the text is not TOML; then the faults are what the parser says of it, and
/// nothing is asked of a tree with holes. Faults are in the order of their lines.
pub fn walk<T>(file: &str, text: &str, visit: impl FnOnce(&mut Table) -> T) -> (Option<T>, Vec<FileFault>) {
    let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
    let source = Source { file: file.into(), starts, faults: RefCell::default() };
    let (tree, errors) = DeTable::parse_recoverable(text);
    let value = if errors.is_empty() {
        let mut table =
            Table { source: &source, table: tree.get_ref(), at: 0, path: String::new(), known: Vec::new() };
        let value = visit(&mut table);
        table.finish();
        Some(value)
    } else {
        for error in errors {
            let line = error.span().map_or(1, |span| source.line(span.start));
            let message = error.message().lines().collect::<Vec<_>>().join("; ");
            source.fault(Place { line, key: String::new() }, format!("not valid TOML: {message}"));
        }
        None
    };
    let mut faults = source.faults.into_inner();
    faults.sort_by_key(|fault| fault.line);
    (value, faults)
}

/// Walks a file of which a value counts only where nothing is wrong.
///
/// # Errors
/// Every fault of the file.
pub fn read<T>(
    file: &str,
    text: &str,
    visit: impl FnOnce(&mut Table) -> Option<T>,
) -> Result<T, Vec<FileFault>> {
    let (value, mut faults) = walk(file, text, visit);
    match value.flatten() {
        Some(value) if faults.is_empty() => Ok(value),
        value => {
            // A walk that gives no value has said why; should one forget, the file is still not taken.
            if value.is_none() && faults.is_empty() {
                let message = "could not be read".into();
                faults.push(FileFault { file: file.into(), line: 1, key: String::new(), message });
            }
            Err(faults)
        }
    }
}

/// A text as TOML writes it, with its quotes.
pub fn quoted(text: &str) -> String {
    toml::Value::String(text.into()).to_string()
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

/// Of power over what it is printed on: control characters (escapes among them), line separators, and the marks that
/// turn the direction of writing (@bidi).
pub fn steers(character: char) -> bool {
    character.is_control()
        || matches!(
            character,
            '\u{061c}' | '\u{2028}' | '\u{2029}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
        )
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
            Node::Float(float) => float.as_str().parse().ok()?,
            Node::Integer(whole) => i64::from_str_radix(whole.as_str(), whole.radix()).ok()? as f64,
            _ => return None,
        };
        number.is_finite().then_some(number)
    }
}

impl Value for u32 {
    const WANTED: &'static str = "a whole number, 0 or more";
    fn take(node: &Node) -> Option<Self> {
        let whole = node.as_integer()?;
        u32::from_str_radix(whole.as_str(), whole.radix()).ok()
    }
}

impl Value for bool {
    const WANTED: &'static str = "true or false";
    fn take(node: &Node) -> Option<Self> {
        node.as_bool()
    }
}

impl Value for String {
    const WANTED: &'static str = "text in quotes, without control characters";
    /// A name is printed as it is: one that moves a terminal's cursor, or turns its letters about, is none.
    fn take(node: &Node) -> Option<Self> {
        node.as_str()
            .filter(|text| !crate::control::holds("names-without-power") || !text.chars().any(steers))
            .map(String::from)
    }
}

impl Value for [f64; 2] {
    const WANTED: &'static str = "two numbers in brackets";
    fn take(node: &Node) -> Option<Self> {
        let [first, second] = &node.as_array()?[..] else { return None };
        Some([f64::take(first.get_ref())?, f64::take(second.get_ref())?])
    }
}

fn found(node: &Node) -> String {
    match node {
        Node::String(text) => format!("the text {text:?}"),
        Node::Float(number) if number.as_str().ends_with("nan") || number.as_str().ends_with("inf") => {
            format!("{number}, which measures nothing")
        }
        Node::Integer(number) => format!("the number {number}"),
        Node::Float(number) => format!("the number {number}"),
        Node::Boolean(value) => value.to_string(),
        Node::Datetime(date) => format!("the date {date}"),
        Node::Array(items) => format!("a list of {}", items.len()),
        Node::Table(_) => "a table".into(),
    }
}

/// One file under inspection.
struct Source {
    file: String,
    /// The byte at which each line begins.
    starts: Vec<usize>,
    faults: RefCell<Vec<FileFault>>,
}

impl Source {
    /// The line of a byte.
    fn line(&self, at: usize) -> usize {
        self.starts.partition_point(|&start| start <= at)
    }

    fn fault(&self, Place { line, key }: Place, message: impl Into<String>) {
        self.faults.borrow_mut().push(FileFault {
            file: self.file.clone(),
            line,
            key,
            message: message.into(),
        });
    }
}

/// One table of a file. Whatever is asked for by name is known; `finish` reports what nobody asked for.
pub struct Table<'a> {
    source: &'a Source,
    table: &'a DeTable<'a>,
    /// The byte at which it begins.
    at: usize,
    path: String,
    known: Vec<&'static str>,
}

impl<'a> Table<'a> {
    /// The place of a key; that of the table where it is not there.
    pub fn place(&self, key: &str) -> Place {
        let at = self.table.get_key_value(key).map_or(self.at, |(name, _)| name.span().start);
        Place { line: self.source.line(at), key: self.path(key) }
    }

    /// Reports what is wrong with a key of this table.
    pub fn fault(&self, key: &str, message: impl Into<String>) {
        self.fault_at(&self.place(key), message);
    }

    /// Reports what is wrong at a place.
    pub fn fault_at(&self, place: &Place, message: impl Into<String>) {
        self.source.fault(place.clone(), message);
    }

    /// A key that must be there.
    pub fn required<T: Value>(&mut self, key: &'static str) -> Option<T> {
        self.wanted(key);
        self.optional(key)
    }

    /// A key that may be left out. `None` too where it holds something else; then a fault says so.
    pub fn optional<T: Value>(&mut self, key: &'static str) -> Option<T> {
        let node = self.node(key)?.get_ref();
        self.take(node, || self.place(key))
    }

    /// The same without a word about what is wrong with it; it has yet to be asked for.
    pub fn peek<T: Value>(&self, key: &str) -> Option<T> {
        self.table.get(key).and_then(|node| T::take(node.get_ref()))
    }

    /// Text that must be there and not be blank.
    pub fn words(&mut self, key: &'static str) -> Option<String> {
        let text: String = self.required(key)?;
        if text.trim().is_empty() {
            self.fault(key, "must not be empty");
            return None;
        }
        Some(text)
    }

    /// One word of a closed list, where it is there.
    pub fn one_of<T>(&mut self, key: &'static str, names: &[&str], from: fn(&str) -> Option<T>) -> Option<T> {
        let text: String = self.optional(key)?;
        self.word(&At { value: text, place: self.place(key) }, names, from)
    }

    /// The same for an item of a list.
    pub fn word<T>(&self, text: &At<String>, names: &[&str], from: fn(&str) -> Option<T>) -> Option<T> {
        let word = from(&text.value);
        if word.is_none() {
            let hint = hint(&text.value, names);
            self.fault_at(&text.place, format!("{:?} is not one of {}{hint}", text.value, names.join(", ")));
        }
        word
    }

    /// A number within these ends, which belong to it.
    pub fn number(
        &mut self,
        key: &'static str,
        [least, most]: [f64; 2],
        unit: &str,
        must: bool,
    ) -> Option<f64> {
        let number: f64 = if must { self.required(key) } else { self.optional(key) }?;
        if (least..=most).contains(&number) {
            return Some(number);
        }
        let ends =
            if most < f64::INFINITY { format!("{least} to {most}") } else { format!("at least {least}") };
        let slip = if (least..=most).contains(&(number / 10.0)) { "; a missing decimal point?" } else { "" };
        let space = if unit.is_empty() { "" } else { " " };
        self.fault(key, format!("{number}{space}{unit} is out of range: {ends}{space}{unit}{slip}"));
        None
    }

    /// The schema of a file; this program knows one.
    pub fn schema(&mut self, must: bool) {
        let schema = if must { self.required::<u32>("schema") } else { self.optional("schema") };
        if let Some(schema) = schema.filter(|schema| *schema != 1) {
            self.fault("schema", format!("schema {schema} is not known; this program reads schema 1"));
        }
    }

    /// The items of a list; those that are something else are reported and left out.
    pub fn list<T: Value>(&mut self, key: &'static str) -> Option<Vec<At<T>>> {
        let items = self.items(key, "a list in brackets")?.filter_map(|(place, item)| {
            let value = self.take(item.get_ref(), || place.clone())?;
            Some(At { value, place })
        });
        Some(items.collect())
    }

    /// A list of tables, `[[key]]` or `key = [{ … }]`. `None` where the key is not there.
    pub fn tables(&mut self, key: &'static str) -> Option<Vec<Table<'a>>> {
        let items = self.items(key, &format!("a list of tables, [[{key}]]"))?;
        Some(items.filter_map(|(place, item)| self.sub(place, item)).collect())
    }

    /// The same where there must be one at least, of what is said.
    pub fn some_tables(&mut self, key: &'static str, of_what: &str) -> Option<Vec<Table<'a>>> {
        self.wanted(key);
        let tables = self.tables(key)?;
        if self
            .table
            .get(key)
            .and_then(|node| node.get_ref().as_array())
            .is_some_and(|items| items.is_empty())
        {
            self.fault(key, format!("name at least one {of_what}"));
        }
        Some(tables)
    }

    /// A table within this one.
    pub fn table(&mut self, key: &'static str) -> Option<Table<'a>> {
        let node = self.node(key)?;
        self.sub(self.place(key), node)
    }

    /// Every key with its value, in the order of the file, for tables whose keys are the room's own words (such
    /// a table has no unknown key, so it is not finished).
    pub fn entries<T: Value>(&self) -> Vec<(String, At<T>)> {
        let entries = self.table.iter().filter_map(|(key, node)| {
            let place = self.place(key.get_ref());
            let value = self.take(node.get_ref(), || place.clone())?;
            Some((key.get_ref().to_string(), At { value, place }))
        });
        let mut entries: Vec<_> = entries.collect();
        entries.sort_by_key(|(_, at)| at.place.line);
        entries
    }

    /// Reports the keys that nobody asked for.
    pub fn finish(self) {
        for name in self.table.keys().map(|key| key.get_ref().as_ref()) {
            if !self.known.contains(&name) {
                self.fault(name, format!("is not known here{}", hint(name, &self.known)));
            }
        }
    }

    /// Whether the key is there, asked for or not.
    pub fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Reports a key that is missing.
    pub fn wanted(&self, key: &str) {
        if !self.has(key) {
            self.fault(key, "is missing");
        }
    }

    fn node(&mut self, key: &'static str) -> Option<&'a Spanned<Node<'a>>> {
        if !self.known.contains(&key) {
            self.known.push(key);
        }
        self.table.get(key)
    }

    fn take<T: Value>(&self, node: &Node, place: impl FnOnce() -> Place) -> Option<T> {
        let taken = T::take(node);
        if taken.is_none() {
            self.fault_at(&place(), format!("expected {}, found {}", T::WANTED, found(node)));
        }
        taken
    }

    /// The items of a list with their places.
    fn items(
        &mut self,
        key: &'static str,
        what: &str,
    ) -> Option<impl Iterator<Item = (Place, &'a Spanned<Node<'a>>)> + use<'a>> {
        let node = self.node(key)?.get_ref();
        let Some(items) = node.as_array() else {
            self.fault(key, format!("expected {what}, found {}", found(node)));
            return None;
        };
        let (source, path) = (self.source, self.path(key));
        Some(items.iter().enumerate().map(move |(index, item)| {
            let key = format!("{path}[{}]", index + 1);
            (Place { line: source.line(item.span().start), key }, item)
        }))
    }

    fn sub(&self, place: Place, node: &'a Spanned<Node<'a>>) -> Option<Table<'a>> {
        let Some(table) = node.get_ref().as_table() else {
            self.fault_at(&place, format!("expected a table, found {}", found(node.get_ref())));
            return None;
        };
        Some(Table { source: self.source, table, at: node.span().start, path: place.key, known: Vec::new() })
    }

    fn path(&self, key: &str) -> String {
        match self.path.as_str() {
            "" => key.to_string(),
            path => [path, ".", key].concat(),
        }
    }
}
