//! The measures: the pane that shows them, the fields in which they are typed, and the verdicts that follow every key.

use super::state::MEASURE;
use crate::journal::Fact;
use crate::lesion::{Measurements, Reading};
use crate::measure::{Dominance, Method, Rule, Site};
use crate::tui::columns::padded;
use crate::tui::model::{Effects, Field, Form, Input, Outcome, Question, Session, World, open};
use crate::tui::paint::{Hits, Spot, first_shown, put, put_line, put_lines, theme, wrapped};
use crate::units::{self, French, Length};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// The sites, each with its letter.
const SITES: &[(char, Site)] = &[
    ('o', Site::Ostial),
    ('l', Site::LeftMain),
    ('i', Site::InStent),
    ('g', Site::Graft),
    ('c', Site::Occlusion),
    ('a', Site::Acute),
];

/// Asks for the measures of the lesion in work, with what is known of them filled in.
pub fn ask_measures(session: &mut Session) -> Effects {
    let lesion = session.lesion;
    let mut form = measure_form(lesion, &session.work.measured, &session.world);
    changed(session, &mut form);
    let question = Question::new(form, move |session, form| accept(session, lesion, form));
    open(question.editing(changed).abandoning(Session::resume_measurements))
}

/// Judges again while somebody types; a field that can't be read is marked and left out.
fn changed(session: &mut Session, form: &mut Form) {
    let measured = read_measure_form(form);
    let method = measured.method;
    session.work.measured = measured;
    session.judge();
    for field in &mut form.fields {
        let fault = session.work.faults.iter().find(|fault| fault.field == field.id);
        if field.fault.is_none() && !field.value().is_empty() {
            field.fault = fault.map(|fault| fault.message.clone());
        }
    }
    if let Some(field) = form.field_mut("length") {
        let sum = session.work.lesion.as_ref().map(|lesion| lesion.target.length_in_words());
        let meant = method.map_or("mm", Method::length_is);
        field.label = method.map_or("length", Method::length_field).to_string();
        field.hint = sum.map_or(meant.to_string(), |sum| format!("{meant}: {sum}"));
    }
}

fn accept(session: &mut Session, lesion: u8, form: &Form) -> Outcome {
    if let Some(field) = form.fields.iter().find(|field| field.fault.is_some()) {
        return Err(field.fault.clone().unwrap_or_default());
    }
    let measured = session.work.measured.clone();
    if measured == Measurements::default() {
        return Ok(Vec::new());
    }
    if let Some(fault) = session.work.faults.first() {
        return Err(fault.message.clone());
    }
    let known = session.world.case.as_ref().and_then(|case| case.lesions.get(&lesion));
    if session.world.open_case().is_some() && known == Some(&measured) {
        return Ok(Vec::new());
    }
    Ok(session.write(vec![Fact::LesionMeasured { lesion, measured }]))
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
        Field::text("branch-at", "branch at", branches_at(measured), "mm from the distal end; several: 7 21"),
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
    Form::new(format!("Lesion {lesion}, measured"), &[], fields).by(MEASURE).surviving().in_pane()
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
            .ok_or_else(|| format!("{text:?} is not a number of millimetres"))
    };
    let length = read_field(form, "length", millimetres);
    let limit = read_field(form, "limit", millimetres);
    let branches = read_field(form, "branch-at", |text| text.split_whitespace().map(millimetres).collect());
    let mut branches = branches.unwrap_or_else(Vec::new).into_iter();
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
        branch_at: branches.next(),
        further_branches_at: branches.collect(),
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

pub fn measures(session: &Session, area: Rect, buffer: &mut Buffer) {
    let measured = &session.work.measured;
    let mut lines = vec![Line::styled(format!("Lesion {}", session.lesion), theme::TITLE)];
    let reading = |value: Option<Reading>| value.map(|value| value.to_string());
    let known = [
        ("method", measured.method.map(|method| method.label().to_string())),
        ("distal lumen", reading(measured.distal_lumen)),
        ("distal EEM", reading(measured.distal_eem)),
        ("proximal lumen", reading(measured.proximal_lumen)),
        ("proximal EEM", reading(measured.proximal_eem)),
        (measured.method.map_or("length", Method::length_field), measured.length.map(|l| l.to_string())),
        ("side branch", reading(measured.branch_lumen)),
        ("branch at", Some(branches_at(measured)).filter(|places| !places.is_empty())),
        ("longest device", measured.limit.map(|l| l.to_string())),
        ("segment", measured.segment.clone()),
        ("guide", measured.guide.map(|guide| guide.to_string())),
        (
            "site",
            (!measured.sites.is_empty())
                .then(|| measured.sites.iter().map(|s| s.name()).collect::<Vec<_>>().join(" ")),
        ),
    ];
    for (name, value) in known {
        if let Some(value) = value {
            lines.push(Line::from(vec![
                Span::styled(format!("{name} "), theme::QUIET),
                Span::styled(value, theme::STRONG),
            ]));
        }
    }
    if lines.len() == 1 {
        lines.push(Line::styled("nothing measured:", theme::QUIET));
        lines.push(Line::styled("any size can be called", theme::QUIET));
        lines.push(Line::from(vec![
            Span::styled(session.key(MEASURE), theme::KEY),
            Span::styled(" types the measures", theme::QUIET),
        ]));
    }
    if let Some(lesion) = &session.work.lesion {
        let target = &lesion.target;
        let [least, most] = target.window;
        lines.push(Line::raw(""));
        lines.push(Line::styled(format!("In rule {}", target.rule.label()), theme::TITLE));
        lines.push(Line::raw(format!("labelled {least} to {most}")));
        lines.push(Line::raw(format!("length {}", lesion.target.length_in_words())));
        if let Some(wanted) = target.proximal_target {
            lines.push(Line::raw(format!("proximal wants {wanted}")));
        }
    }
    for fault in &session.work.faults {
        lines.extend(
            wrapped(&fault.message, area.width).into_iter().map(|text| Line::styled(text, theme::WARNING)),
        );
    }
    put_lines(buffer, area, lines);
}

/// The measures while they are being typed.
pub fn fields(form: &Form, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    put(buffer, area, 0, 0, &form.title, theme::TITLE);
    let room = usize::from(area.height.saturating_sub(1));
    let first = first_shown(form.cursor, form.fields.len(), room);
    for (index, field) in form.fields.iter().enumerate().skip(first).take(room) {
        let here = index == form.cursor;
        let mark = if field.fault.is_some() {
            "!"
        } else if here {
            "▸"
        } else {
            " "
        };
        let value = match &field.input {
            Input::AnyOf { choices, chosen } => {
                let names: Vec<&str> = choices
                    .iter()
                    .filter(|(letter, _)| chosen.contains(letter))
                    .map(|(_, name)| name.as_str())
                    .collect();
                names.join(" ")
            }
            _ => field.value(),
        };
        // The names are long in two places only; the value stands at one column all the same.
        let name: String = field.label.chars().take(14).collect();
        let row = u16::try_from(index - first + 1).unwrap_or(u16::MAX);
        let style = if here { theme::CURSOR } else { theme::STRONG };
        let shown = if here { padded(&value, 10) } else { value };
        hits.add_in_row(area, 0, row, area.width, Spot::Field(index));
        put_line(
            buffer,
            area,
            0,
            row,
            Line::from(vec![
                Span::styled(mark, theme::WARNING),
                Span::styled(format!("{name:<14} "), if here { theme::PLAIN } else { theme::QUIET }),
                Span::styled(shown, style),
            ]),
        );
    }
}

/// The place of every side branch, as they are typed.
fn branches_at(measured: &Measurements) -> String {
    let places = measured.branch_at.iter().chain(&measured.further_branches_at);
    places.map(Length::to_string).collect::<Vec<_>>().join(" ")
}
