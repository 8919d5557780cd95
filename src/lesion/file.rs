//! A file of several lesions (TOML): `[[lesion]]`, each with an `id` and the measures of the command line as keys.

use super::{Lesion, Measurements, check};
use crate::catalogue::Guide;
use crate::intake::{self, FileFault, Node, Table, Value};
use crate::measure::Site;
use crate::policy::Policy;
use crate::units::{French, Length, number};
use std::fmt::Display;
use std::str::FromStr;

/// A number, or text as it would be typed.
struct Typed(String);

impl Value for Typed {
    const WANTED: &'static str = "a number, or text in quotes";
    fn take(value: &Node) -> Option<Self> {
        String::take(value).or_else(|| Some(f64::take(value)?.to_string())).map(Typed)
    }
}

/// Places in mm: one, or a list.
struct Places(Vec<Length>);

impl Value for Places {
    const WANTED: &'static str = "a number, or a list of numbers";
    fn take(value: &Node) -> Option<Self> {
        let one = |node: &Node| Some(Length::from_mm(number(&Typed::take(node)?.0)?));
        match value.as_array() {
            Some(list) => list.iter().map(|item| one(item.get_ref())).collect::<Option<_>>().map(Places),
            None => one(value).map(|place| Places(vec![place])),
        }
    }
}

/// Reads a file of lesions and checks each. `guides` are the room's. A key may be written with hyphens, as on the
/// command line (`distal-eem`), or with underscores.
///
/// # Errors
/// Every fault of the file at once, those of the measures among them.
pub fn read(
    file: &str,
    text: &str,
    policy: &Policy,
    guides: &[Guide],
) -> Result<Vec<(String, Lesion)>, Vec<FileFault>> {
    intake::read(file, text, |table| Some(visit(table, policy, guides)))
}

fn visit(table: &mut Table, policy: &Policy, guides: &[Guide]) -> Vec<(String, Lesion)> {
    let mut lesions: Vec<(String, Lesion)> = Vec::new();
    let mut ids: Vec<String> = Vec::new();
    for mut row in table.some_tables("lesion", "lesion").unwrap_or_default() {
        let id = row.words("id");
        if let Some(id) = &id {
            if ids.contains(id) {
                row.fault("id", format!("{id:?} is another lesion already"));
            }
            ids.push(id.clone());
        }
        let mut keys = Keys { row, bad: false };
        let measurements = keys.measurements();
        let checked = if keys.bad { None } else { Some(check(&measurements, policy, guides)) };
        match checked {
            Some(Ok(lesion)) => lesions.extend(id.map(|id| (id, lesion))),
            Some(Err(found)) => {
                for bad in found {
                    let other = bad.field.replace('-', "_");
                    let key = if keys.row.has(&other) { other } else { bad.field };
                    keys.row.fault(&key, bad.message);
                }
            }
            None => {}
        }
        keys.row.finish();
    }
    lesions
}

struct Keys<'a> {
    row: Table<'a>,
    /// Some value could not be read, and it has been said.
    bad: bool,
}

impl Keys<'_> {
    fn measurements(&mut self) -> Measurements {
        let plain = |text: &str| number(text).ok_or_else(|| format!("{text:?} is not a number"));
        let millimetres = |text: &str| plain(text).map(Length::from_mm);
        let mut places = self.places().into_iter();
        Measurements {
            method: self.take("method", "method", parsed),
            proximal_lumen: self.take("proximal-lumen", "proximal_lumen", parsed),
            proximal_eem: self.take("proximal-eem", "proximal_eem", parsed),
            distal_lumen: self.take("distal-lumen", "distal_lumen", parsed),
            distal_eem: self.take("distal-eem", "distal_eem", parsed),
            length: self.take("length", "length", millimetres),
            branch_lumen: self.take("branch-lumen", "branch_lumen", parsed),
            branch_at: places.next(),
            further_branches_at: places.collect(),
            limit: self.take("limit", "limit", millimetres),
            rule: self.take("rule", "rule", parsed),
            guide: self.take("guide", "guide", |text| plain(text).map(French::new)),
            segment: self.take("segment", "segment", |text| Ok::<_, String>(text.to_string())),
            dominance: self.take("dominance", "dominance", parsed),
            sites: self.sites(),
        }
    }

    /// By either spelling of its key.
    fn take<T, E: Display>(
        &mut self,
        name: &'static str,
        other: &'static str,
        read: impl Fn(&str) -> Result<T, E>,
    ) -> Option<T> {
        let first: Option<Typed> = self.row.optional(name);
        let second = if other == name { None } else { self.row.optional(other) };
        self.bad |= (self.row.has(name) && first.is_none())
            || (other != name && self.row.has(other) && second.is_none());
        if first.is_some() && second.is_some() {
            self.row.fault(other, format!("is here as {name} already"));
            self.bad = true;
        }
        let key = if first.is_some() { name } else { other };
        let Typed(text) = first.or(second)?;
        let value = read(text.trim());
        value
            .map_err(|error| {
                self.row.fault(key, error.to_string());
                self.bad = true;
            })
            .ok()
    }

    /// One place or a list of them, by either spelling of the key.
    fn places(&mut self) -> Vec<Length> {
        const KEYS: [&str; 2] = ["branch-at", "branch_at"];
        let [first, second] = KEYS.map(|key| self.row.optional::<Places>(key));
        self.bad |= (self.row.has(KEYS[0]) && first.is_none()) || (self.row.has(KEYS[1]) && second.is_none());
        if first.is_some() && second.is_some() {
            self.row.fault(KEYS[1], "is here as branch-at already");
            self.bad = true;
        }
        first.or(second).map_or_else(Vec::new, |Places(places)| places)
    }

    /// A list of words.
    fn sites(&mut self) -> Vec<Site> {
        let Some(list) = self.row.list::<String>("site") else {
            self.bad |= self.row.has("site");
            return Vec::new();
        };
        let sites: Vec<Site> =
            list.iter().filter_map(|text| self.row.word(text, Site::NAMES, Site::from_name)).collect();
        self.bad |= sites.len() < list.len();
        sites
    }
}

fn parsed<T: FromStr<Err = String>>(text: &str) -> Result<T, String> {
    text.parse()
}
