//! A TOML tree, as little of it as a walk asks for, whoever parsed it.

use std::borrow::Cow;
use toml::de::{DeTable, DeValue};

/// One value.
#[derive(Debug, Clone, PartialEq)]
pub enum Node<'a> {
    /// In quotes, escapes resolved.
    Text(Cow<'a, str>),
    /// Digits without underscores, and their base.
    Whole(Cow<'a, str>, u32),
    /// As it stands there.
    Float(Cow<'a, str>),
    /// `true` or `false`.
    Truth(bool),
    /// As it stands there.
    Date(String),
    /// In the order of the file.
    List(Vec<Item<'a>>),
    /// Its keys and their values.
    Table(Entries<'a>),
}

/// One item of a list, and the byte at which it begins; 0 where nobody looks at places.
#[derive(Debug, Clone, PartialEq)]
pub struct Item<'a> {
    pub at: usize,
    pub node: Node<'a>,
}

/// One key, the byte at which it begins (0 where nobody looks at places), and its value.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry<'a> {
    pub key: Cow<'a, str>,
    pub at: usize,
    pub node: Node<'a>,
}

/// A table: few keys, so that going through them is quicker than any order.
pub type Entries<'a> = Vec<Entry<'a>>;

/// The table that the parser gave.
pub fn of_table<'a>(table: &DeTable<'a>) -> Entries<'a> {
    let entry = |(key, value): (&toml::Spanned<Cow<'a, str>>, &toml::Spanned<DeValue<'a>>)| Entry {
        key: key.get_ref().clone(),
        at: key.span().start,
        node: of_value(value.get_ref()),
    };
    table.iter().map(entry).collect()
}

fn of_value<'a>(value: &DeValue<'a>) -> Node<'a> {
    match value {
        DeValue::String(text) => Node::Text(text.clone()),
        DeValue::Integer(whole) => Node::Whole(whole.as_str().to_string().into(), whole.radix()),
        DeValue::Float(float) => Node::Float(float.as_str().to_string().into()),
        DeValue::Boolean(truth) => Node::Truth(*truth),
        DeValue::Datetime(date) => Node::Date(date.to_string()),
        DeValue::Array(items) => {
            let item = |item: &toml::Spanned<DeValue<'a>>| Item {
                at: item.span().start,
                node: of_value(item.get_ref()),
            };
            Node::List(items.iter().map(item).collect())
        }
        DeValue::Table(table) => Node::Table(of_table(table)),
    }
}
