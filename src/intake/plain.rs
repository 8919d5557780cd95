//! The TOML that product files are written in, read in one pass without places: a catalogue of thousands of boxes is
//! loaded each time the program starts. Whatever else TOML allows is left to the parser: here it gives `None`.
//!
//! What is understood: comments, `[table]` and `[[table]]` with a bare name, bare keys, text in double quotes without
//! escapes, plain decimal numbers, `true` and `false`, lists, tables in braces on one line.

use super::node::{Entries, Entry, Item, Node};
use std::borrow::Cow;

/// The tree of a plain text; `None` where anything in it is not plain, or may be wrong.
pub fn read(text: &str) -> Option<Entries<'_>> {
    let mut reader = Reader { text, at: 0 };
    let mut root = Entries::new();
    // Which tables of the top were begun by a header.
    let mut listed: Vec<&str> = Vec::new();
    let mut current: Option<(&str, bool)> = None;
    loop {
        reader.blank_lines()?;
        match reader.peek() {
            None => return Some(root),
            Some(b'[') => {
                let (name, is_list) = reader.header()?;
                let there = root.iter_mut().find(|entry| entry.key == name);
                match (is_list, there) {
                    (true, Some(Entry { node: Node::List(items), .. })) if listed.contains(&name) => {
                        items.push(item(Node::Table(Entries::new())));
                    }
                    (true, None) => {
                        listed.push(name);
                        root.push(entry(name, Node::List(vec![item(Node::Table(Entries::new()))])));
                    }
                    (false, None) => root.push(entry(name, Node::Table(Entries::new()))),
                    _ => return None,
                }
                current = Some((name, is_list));
            }
            Some(_) => {
                let (key, node) = reader.pair()?;
                reader.line_end()?;
                add(table(&mut root, current)?, key, node)?;
            }
        }
    }
}

fn table<'t, 'a>(root: &'t mut Entries<'a>, current: Option<(&str, bool)>) -> Option<&'t mut Entries<'a>> {
    let Some((name, is_list)) = current else { return Some(root) };
    // The newest stands last; a header that is gone back to is not plain.
    match &mut root.iter_mut().rev().find(|entry| entry.key == name)?.node {
        Node::Table(table) if !is_list => Some(table),
        Node::List(items) if is_list => match &mut items.last_mut()?.node {
            Node::Table(table) => Some(table),
            _ => None,
        },
        _ => None,
    }
}

/// A key that stands twice is a fault, which the parser tells.
fn add<'a>(table: &mut Entries<'a>, key: &'a str, node: Node<'a>) -> Option<()> {
    if table.iter().any(|entry| entry.key == key) {
        return None;
    }
    table.push(entry(key, node));
    Some(())
}

fn entry<'a>(key: &'a str, node: Node<'a>) -> Entry<'a> {
    Entry { key: Cow::Borrowed(key), at: 0, node }
}

fn item(node: Node<'_>) -> Item<'_> {
    Item { at: 0, node }
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
}

/// Lists within lists deeper than this are left to the parser.
const DEEPEST: usize = 8;

impl<'a> Reader<'a> {
    fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn takes(&mut self, byte: u8) -> bool {
        let is = self.peek() == Some(byte);
        self.at += usize::from(is);
        is
    }

    fn spaces(&mut self) {
        while matches!(self.peek(), Some(b' ' | b'\t')) {
            self.at += 1;
        }
    }

    /// Where the run of bytes of this kind ends.
    fn run(&self, of: impl Fn(u8) -> bool) -> usize {
        let rest = &self.text.as_bytes()[self.at..];
        self.at + rest.iter().position(|byte| !of(*byte)).unwrap_or(rest.len())
    }

    /// A comment, where one stands here, and the end of the line or of the text.
    fn line_end(&mut self) -> Option<()> {
        self.spaces();
        if self.peek() == Some(b'#') {
            self.at = self.run(|byte| byte == b'\t' || byte >= b' ' && byte != 0x7f);
        }
        match self.peek() {
            None => Some(()),
            Some(b'\n') => {
                self.at += 1;
                Some(())
            }
            Some(b'\r') if self.text.as_bytes().get(self.at + 1) == Some(&b'\n') => {
                self.at += 2;
                Some(())
            }
            Some(_) => None,
        }
    }

    fn blank_lines(&mut self) -> Option<()> {
        loop {
            self.spaces();
            match self.peek() {
                Some(b'\n' | b'\r' | b'#') => self.line_end()?,
                _ => return Some(()),
            }
        }
    }

    fn header(&mut self) -> Option<(&'a str, bool)> {
        self.at += 1;
        let is_list = self.takes(b'[');
        let name = self.bare()?;
        let closed = self.takes(b']') && (!is_list || self.takes(b']'));
        if !closed {
            return None;
        }
        self.line_end()?;
        Some((name, is_list))
    }

    fn bare(&mut self) -> Option<&'a str> {
        let end = self.run(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'-'));
        let name = &self.text[self.at..end];
        self.at = end;
        (!name.is_empty()).then_some(name)
    }

    fn pair(&mut self) -> Option<(&'a str, Node<'a>)> {
        let key = self.bare()?;
        self.spaces();
        if !self.takes(b'=') {
            return None;
        }
        self.spaces();
        Some((key, self.value(0)?))
    }

    fn value(&mut self, depth: usize) -> Option<Node<'a>> {
        match self.peek()? {
            b'"' => self.string(),
            b'[' if depth < DEEPEST => self.list(depth),
            b'{' if depth < DEEPEST => self.braces(depth),
            b'0'..=b'9' => self.number(),
            b't' | b'f' => match self.bare()? {
                "true" => Some(Node::Truth(true)),
                "false" => Some(Node::Truth(false)),
                _ => None,
            },
            _ => None,
        }
    }

    fn string(&mut self) -> Option<Node<'a>> {
        self.at += 1;
        let end =
            self.run(|byte| byte != b'"' && byte != b'\\' && (byte >= b' ' || byte == b'\t') && byte != 0x7f);
        let text = &self.text[self.at..end];
        self.at = end;
        // Two quotes and a third begin a text of several lines.
        let plain = self.takes(b'"') && !(text.is_empty() && self.peek() == Some(b'"'));
        plain.then_some(Node::Text(Cow::Borrowed(text)))
    }

    /// Digits, and perhaps a point and digits; nothing else may follow at once.
    fn number(&mut self) -> Option<Node<'a>> {
        let start = self.at;
        self.at = self.run(|byte| byte.is_ascii_digit());
        let whole = &self.text[start..self.at];
        if whole.len() > 1 && whole.starts_with('0') {
            return None;
        }
        let is_float = self.takes(b'.');
        if is_float {
            let fraction = self.at;
            self.at = self.run(|byte| byte.is_ascii_digit());
            if self.at == fraction {
                return None;
            }
        }
        let text = Cow::Borrowed(&self.text[start..self.at]);
        let ends =
            matches!(self.peek(), None | Some(b' ' | b'\t' | b'\n' | b'\r' | b',' | b']' | b'}' | b'#'));
        let node = if is_float { Node::Float(text) } else { Node::Whole(text, 10) };
        ends.then_some(node)
    }

    fn list(&mut self, depth: usize) -> Option<Node<'a>> {
        self.at += 1;
        let mut items = Vec::new();
        loop {
            self.blank_lines()?;
            if self.takes(b']') {
                return Some(Node::List(items));
            }
            items.push(item(self.value(depth + 1)?));
            self.blank_lines()?;
            if !self.takes(b',') {
                return self.takes(b']').then_some(Node::List(items));
            }
        }
    }

    fn braces(&mut self, depth: usize) -> Option<Node<'a>> {
        self.at += 1;
        let mut entries = Entries::new();
        loop {
            self.spaces();
            let key = self.bare()?;
            self.spaces();
            if !self.takes(b'=') {
                return None;
            }
            self.spaces();
            let node = self.value(depth + 1)?;
            add(&mut entries, key, node)?;
            self.spaces();
            if self.takes(b'}') {
                return Some(Node::Table(entries));
            }
            if !self.takes(b',') {
                return None;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake::node::of_table;
    use proptest::prelude::*;
    use toml::de::DeTable;

    /// The same tree without places and in the order of the keys.
    fn bare(entries: &Entries) -> Entries<'static> {
        let mut list: Entries = entries
            .iter()
            .map(|one| Entry { key: one.key.clone().into_owned().into(), at: 0, node: without(&one.node) })
            .collect();
        list.sort_by(|a, b| a.key.cmp(&b.key));
        list
    }

    fn without(node: &Node) -> Node<'static> {
        match node {
            Node::Text(text) => Node::Text(text.clone().into_owned().into()),
            Node::Whole(text, base) => Node::Whole(text.clone().into_owned().into(), *base),
            Node::Float(text) => Node::Float(text.clone().into_owned().into()),
            Node::Truth(truth) => Node::Truth(*truth),
            Node::Date(date) => Node::Date(date.clone()),
            Node::List(items) => Node::List(items.iter().map(|one| item(without(&one.node))).collect()),
            Node::Table(table) => Node::Table(bare(table)),
        }
    }

    /// Outside: the toml crate's own parser. What is read here it reads too, and the same.
    fn agrees(text: &str) -> bool {
        let Some(read) = read(text) else { return false };
        let (tree, errors) = DeTable::parse_recoverable(text);
        assert!(errors.is_empty(), "{text:?}: {errors:?}");
        assert_eq!(bare(&read), bare(&of_table(tree.get_ref())), "{text:?}");
        true
    }

    #[test]
    fn product_files_are_plain_and_read_as_the_parser_reads_them() {
        let files = [
            include_str!("../../catalogues/fell.toml"),
            include_str!("../../catalogues/oxbow.toml"),
            include_str!("../../catalogues/brae.toml"),
            include_str!("../../catalogues/estuary.toml"),
            include_str!("../../catalogues/guides.toml"),
        ];
        for text in files {
            assert!(agrees(text), "not plain: {text}");
        }
    }

    #[test]
    fn whatever_is_not_plain_is_left_to_the_parser() {
        let texts = [
            "a = 'x'",
            "a = \"\\n\"",
            "a = \"\"\"x\"\"\"",
            "a.b = 1",
            "[a.b]",
            "a = 1\na = 2",
            "a = 01",
            "a = 1_0",
            "a = 1e3",
            "a = 0x1",
            "a = -1",
            "a = +1",
            "a = 2026-11-25",
            "a = 1 b = 2",
            "a = inf",
            "a = [1 2]",
            "a = {}",
            "a = { b = 1, }",
            "a = { b = 1, b = 2 }",
            "a = [1]\n[[a]]",
            "[a]\n[a]",
            "[[a]]\n[a]",
            "\u{feff}a = 1",
            "a = \"\u{7f}\"",
            "# \u{7}",
            "a = 1\rb = 2",
            "a",
            "= 1",
            "a = ",
            "[a] b = 1",
            "a = 1.",
            "a = tru",
            "a = truer",
            "[ a ]",
            "a = \"x\ny\"",
        ];
        for text in texts {
            assert_eq!(read(text), None, "{text:?}");
        }
        for text in [
            "",
            "a = 1",
            "a=1 # x\r\n",
            "a = [ # x\n 1,\n 2 # y\n]\n",
            "a = { b = [\"x\"] }",
            "[[a]]\nb = 1\n[[a]]\n[c]\nd = 1.50",
        ] {
            assert!(agrees(text), "{text:?}");
        }
    }

    proptest! {
        /// A character put in, taken out or changed anywhere in a product file.
        #[test]
        fn a_slip_anywhere_is_never_read_otherwise_than_by_the_parser(
            place in 0usize..10_000,
            what in prop::sample::select(vec!["", "\"", "[", "]", "{", "}", "=", ",", "\n", "#", ".", " ", "0", "a", "-", "'", "\\", "\r", "é"]),
            removed in 0usize..3,
        ) {
            let text = include_str!("../../catalogues/fell.toml");
            let places: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
            let start = places[place % places.len()];
            let end = places.get(place % places.len() + removed).copied().unwrap_or(text.len());
            agrees(&[&text[..start], what, &text[end..]].concat());
        }
    }
}
