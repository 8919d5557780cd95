//! The measures as they are typed: the fields, what stands in them, and the verdicts that follow every key.

use super::ask::Outcome;
use super::{Effects, Field, Form, Input, Overlay, Purpose, State, World};
use crate::journal::Fact;
use crate::lesion::{Measurements, Reading};
use crate::measure::{Dominance, Method, Rule, Site};
use crate::units::{self, French, Length};

/// The sites, each with its letter.
pub const SITES: &[(char, Site)] = &[
    ('o', Site::Ostial),
    ('l', Site::LeftMain),
    ('i', Site::InStent),
    ('g', Site::Graft),
    ('c', Site::Occlusion),
    ('a', Site::Acute),
];

impl State {
    pub(super) fn open_measure_form(&mut self) -> Effects {
        let form = measure_form(self.lesion, &self.sizes.measured, &self.world);
        self.ask(form);
        self.measure_changed();
        Effects::new()
    }

    /// Judges again while somebody types; a field that can't be read is marked and left out.
    pub(super) fn measure_changed(&mut self) {
        let Some(Overlay::Form(form)) = &mut self.overlay else { return };
        let measured = read_measure_form(form);
        let method = measured.method;
        for field in &mut form.fields {
            if field.id == "length" {
                field.label = method.map_or("length", Method::length_field).to_string();
            }
        }
        self.sizes.measured = measured;
        self.judge();
        let sum = self.sizes.lesion.as_ref().map(|lesion| lesion.target.length_in_words());
        let faults = self.sizes.faults.clone();
        if let Some(Overlay::Form(form)) = &mut self.overlay {
            for field in &mut form.fields {
                let fault = faults.iter().find(|fault| fault.field == field.id && !field.value().is_empty());
                if field.fault.is_none() {
                    field.fault = fault.map(|fault| fault.message.clone());
                }
                if field.id == "length" {
                    let meant = method.map_or("mm", Method::length_is);
                    field.hint = sum.as_ref().map_or(meant.to_string(), |sum| format!("{meant}: {sum}"));
                }
            }
        }
    }

    pub(super) fn accept_measure(&mut self, lesion: u8, form: &Form) -> Outcome {
        if let Some(field) = form.fields.iter().find(|field| field.fault.is_some()) {
            return Err(field.fault.clone().unwrap_or_default());
        }
        let measured = self.sizes.measured.clone();
        if measured == Measurements::default() {
            return Ok(Vec::new());
        }
        if let Some(fault) = self.sizes.faults.first() {
            return Err(fault.message.clone());
        }
        let known = self.world.case.as_ref().and_then(|case| case.lesions.get(&lesion));
        if self.world.open_case().is_some() && known == Some(&measured) {
            return Ok(Vec::new());
        }
        Ok(self.write(vec![Fact::LesionMeasured { lesion, measured }]))
    }
}

fn measure_form(lesion: u8, measured: &Measurements, world: &World) -> Form {
    let reading = |reading: Option<Reading>| reading.map(|reading| reading.to_string()).unwrap_or_default();
    let plain = |length: Option<Length>| length.map(|length| length.to_string()).unwrap_or_default();
    let one_of = |id, label: &str, names: Vec<String>, chosen: Option<usize>| {
        let choices = std::iter::once("–".to_string()).chain(names).collect();
        Field::one_of(id, label, choices, chosen.map_or(0, |place| place + 1))
    };
    let place = |found: Option<usize>| found;
    let names = |words: &[&str]| words.iter().map(|word| word.to_string()).collect::<Vec<_>>();
    let guides: Vec<String> = world.catalogue.guides.iter().map(|guide| guide.french.to_string()).collect();
    let guide =
        measured.guide.and_then(|french| world.catalogue.guides.iter().position(|g| g.french == french));
    let methods = Method::ALL.iter().map(|method| method.label().to_string()).collect();
    let sites = Field {
        id: "site",
        label: "site".into(),
        input: Input::AnyOf {
            choices: SITES.iter().map(|(letter, site)| (*letter, site.name().to_string())).collect(),
            chosen: SITES
                .iter()
                .filter(|(_, site)| measured.sites.contains(site))
                .map(|(letter, _)| *letter)
                .collect(),
        },
        hint: String::new(),
        fault: None,
    };
    let fields = vec![
        one_of(
            "method",
            "method",
            methods,
            place(measured.method.and_then(|m| Method::ALL.iter().position(|o| *o == m))),
        ),
        Field::text("distal-lumen", "distal lumen", reading(measured.distal_lumen), "mm, 2.9x3.1 or 7.1mm2"),
        Field::text("distal-eem", "distal EEM", reading(measured.distal_eem), "mm; IVUS and OCT only"),
        Field::text("proximal-lumen", "proximal lumen", reading(measured.proximal_lumen), "mm"),
        Field::text("proximal-eem", "proximal EEM", reading(measured.proximal_eem), "mm; IVUS and OCT only"),
        Field::text("length", "length", plain(measured.length), "mm"),
        Field::text(
            "branch-lumen",
            "side branch",
            reading(measured.branch_lumen),
            "mm, its lumen; if one leaves the lesion",
        ),
        Field::text("branch-at", "branch at", plain(measured.branch_at), "mm from the distal landing zone"),
        Field::text("limit", "longest device", plain(measured.limit), "mm, if there is a limit"),
        Field::text("segment", "segment", measured.segment.clone().unwrap_or_default(), "1 to 16c, if named"),
        one_of(
            "dominance",
            "dominance",
            names(Dominance::NAMES),
            measured.dominance.and_then(|d| Dominance::ALL.iter().position(|o| *o == d)),
        ),
        one_of("guide", "guide", guides, guide),
        sites,
        one_of(
            "rule",
            "rule",
            names(Rule::NAMES),
            measured.rule.and_then(|r| Rule::ALL.iter().position(|o| *o == r)),
        ),
    ];
    Form::new(Purpose::Measure { lesion }, format!("Lesion {lesion}, measured"), &[], fields)
}

/// What stands in the fields; each that can't be read carries its fault and counts as not given.
fn read_measure_form(form: &mut Form) -> Measurements {
    for field in &mut form.fields {
        field.fault = None;
    }
    let chosen = |id: &str| form.chosen(id).checked_sub(1);
    let method = chosen("method").and_then(|place| Method::ALL.get(place).copied());
    let dominance = chosen("dominance").and_then(|place| Dominance::ALL.get(place).copied());
    let rule = chosen("rule").and_then(|place| Rule::ALL.get(place).copied());
    let guide = match form.value("guide") {
        text if text == "–" => None,
        text => units::number(text.trim_end_matches(" Fr")).map(French::new),
    };
    let letters: Vec<char> = form
        .fields
        .iter()
        .find(|field| field.id == "site")
        .map(|field| field.input.letters().to_vec())
        .unwrap_or_default();
    let sites = SITES.iter().filter(|(letter, _)| letters.contains(letter)).map(|(_, site)| *site).collect();
    let mut reading =
        |id: &str| read_field(form, id, |text| Reading::parse(text).map_err(|fault| fault.to_string()));
    let (distal_lumen, distal_eem) = (reading("distal-lumen"), reading("distal-eem"));
    let (proximal_lumen, proximal_eem) = (reading("proximal-lumen"), reading("proximal-eem"));
    let millimetres = |text: &str| {
        units::number(text)
            .map(Length::from_mm)
            .ok_or_else(|| format!("{text:?} is no number of millimetres"))
    };
    let length = read_field(form, "length", millimetres);
    let limit = read_field(form, "limit", millimetres);
    let branch_at = read_field(form, "branch-at", millimetres);
    let branch_lumen =
        read_field(form, "branch-lumen", |text| Reading::parse(text).map_err(|fault| fault.to_string()));
    let segment = Some(form.value("segment")).filter(|text| !text.is_empty());
    Measurements {
        method,
        proximal_lumen,
        proximal_eem,
        distal_lumen,
        distal_eem,
        length,
        branch_lumen,
        branch_at,
        limit,
        rule,
        guide,
        segment,
        dominance,
        sites,
    }
}

fn read_field<T>(form: &mut Form, id: &str, read: impl Fn(&str) -> Result<T, String>) -> Option<T> {
    let field = form.fields.iter_mut().find(|field| field.id == id)?;
    let text = field.value();
    if text.is_empty() {
        return None;
    }
    match read(&text) {
        Ok(value) => Some(value),
        Err(why) => {
            field.fault = Some(why);
            // A point is on its way to the next digit: what stands before it goes on being judged meanwhile, and is
            // not taken.
            text.strip_suffix(['.', ',']).and_then(|before| read(before).ok())
        }
    }
}
