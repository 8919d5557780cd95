//! A file of several lesions (TOML): `[[lesion]]`, each with an `id` and the measures of the command line as keys.

use super::{Lesion, Measurements, check};
use crate::catalogue::Guide;
use crate::intake::{self, At, Fault, Node, Place, Table, Value};
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
) -> Result<Vec<(String, Lesion)>, Vec<Fault>> {
    let (lesions, faults) = intake::walk(file, text, |table| visit(table, policy, guides));
    intake::settle(file, lesions, faults)
}

fn visit(table: &mut Table, policy: &Policy, guides: &[Guide]) -> Vec<(String, Lesion)> {
    let Some(rows) = table.tables("lesion") else {
        if !table.has("lesion") {
            table.missing("lesion");
        }
        return Vec::new();
    };
    if rows.value.is_empty() {
        table.fault(&rows.place, "names no lesion");
    }
    let mut lesions: Vec<(String, Lesion)> = Vec::new();
    let mut ids: Vec<String> = Vec::new();
    for mut row in rows.value {
        let id = row.words("id");
        if let Some(id) = &id {
            if ids.contains(&id.value) {
                row.fault(&id.place, format!("{:?} stands for another lesion already", id.value));
            }
            ids.push(id.value.clone());
        }
        let mut keys = Keys { row, places: Vec::new(), bad: false };
        let measurements = keys.measurements();
        let checked = if keys.bad { None } else { Some(check(&measurements, policy, guides)) };
        match checked {
            Some(Ok(lesion)) => lesions.extend(id.map(|id| (id.value, lesion))),
            Some(Err(found)) => {
                for bad in found {
                    let place = keys.places.iter().find(|(name, _)| *name == bad.field);
                    let place = place.map_or_else(|| keys.row.place().clone(), |(_, place)| place.clone());
                    keys.row.fault(&place, bad.message);
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
    places: Vec<(&'static str, Place)>,
    /// Some value could not be read, and it has been said.
    bad: bool,
}

impl Keys<'_> {
    fn measurements(&mut self) -> Measurements {
        let plain = |text: &str| number(text).ok_or_else(|| format!("{text:?} is no number"));
        let millimetres = |text: &str| plain(text).map(Length::from_mm);
        Measurements {
            method: self.take("method", "method", parsed),
            proximal_lumen: self.take("proximal-lumen", "proximal_lumen", parsed),
            proximal_eem: self.take("proximal-eem", "proximal_eem", parsed),
            distal_lumen: self.take("distal-lumen", "distal_lumen", parsed),
            distal_eem: self.take("distal-eem", "distal_eem", parsed),
            length: self.take("length", "length", millimetres),
            branch_lumen: self.take("branch-lumen", "branch_lumen", parsed),
            branch_at: self.take("branch-at", "branch_at", millimetres),
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
        let first: Option<At<Typed>> = self.row.optional(name);
        let second = if other == name { None } else { self.row.optional(other) };
        self.bad |= (self.row.has(name) && first.is_none())
            || (other != name && self.row.has(other) && second.is_none());
        if let (Some(_), Some(second)) = (&first, &second) {
            self.row.fault(&second.place, format!("stands here as {name} already"));
            self.bad = true;
        }
        let at = first.or(second)?;
        let value = read(at.value.0.trim());
        self.places.push((name, at.place.clone()));
        value
            .map_err(|error| {
                self.row.fault(&at.place, error.to_string());
                self.bad = true;
            })
            .ok()
    }

    /// A list of words.
    fn sites(&mut self) -> Vec<crate::measure::Site> {
        let Some(list) = self.row.list::<String>("site") else {
            self.bad |= self.row.has("site");
            return Vec::new();
        };
        self.places.push(("site", list.place));
        let mut sites = Vec::new();
        for at in list.value {
            match at.value.parse() {
                Ok(site) => sites.push(site),
                Err(error) => {
                    let error: String = error;
                    self.row.fault(&at.place, error);
                    self.bad = true;
                }
            }
        }
        sites
    }
}

fn parsed<T: FromStr<Err = String>>(text: &str) -> Result<T, String> {
    text.parse()
}
