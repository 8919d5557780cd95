//! Sizes: what was measured, the grid and its verdicts, and the call.

use super::ask::Outcome;
use super::{Cell, Effect, Field, Form, Grid, Input, Overlay, Purpose, State};
use crate::catalogue::{Piece, Product};
use crate::fit::carina::Carina;
use crate::fit::{self, Judgement};
use crate::journal::{Fact, Readiness, Wanted};
use crate::lesion::{self, BadInput, Lesion, Measurements, Reading};
use crate::measure::{Dominance, Kind, Method, Rule, Site};
use crate::tui::keys::Action;
use crate::units::{self, Diameter, French, Length};

/// What the Sizes screen shows.
#[derive(Debug, Clone, Default)]
pub struct Sizes {
    pub measured: Measurements,
    /// Why nothing is judged.
    pub faults: Vec<BadInput>,
    pub lesion: Option<Lesion>,
    pub judgement: Option<Judgement>,
    /// The step of reference at a side branch, in words.
    pub carina: Vec<String>,
    /// The product shown alone; all together where it is none.
    pub product: Option<String>,
    pub grid: Grid,
    /// Row and column. No cursor stands anywhere by itself.
    pub cursor: Option<(usize, usize)>,
    /// The size that is being typed.
    pub entry: String,
    /// A typed size that no product has was refused once: the same again is called all the same.
    insisted: Option<String>,
    /// The whole arithmetic is shown.
    pub why: bool,
}

/// The sites, each with its letter.
pub const SITES: &[(char, Site)] = &[
    ('o', Site::Ostial),
    ('l', Site::LeftMain),
    ('i', Site::InStent),
    ('g', Site::Graft),
    ('c', Site::Occlusion),
    ('a', Site::Acute),
];

const LONGEST_ENTRY: usize = 12;

impl Sizes {
    pub fn cell(&self) -> Option<&Cell> {
        self.cursor.and_then(|(row, column)| self.grid.cell(row, column))
    }

    /// The size under the cursor.
    pub fn size(&self) -> Option<(Diameter, Length)> {
        let (row, column) = self.cursor?;
        Some((*self.grid.diameters.get(row)?, *self.grid.lengths.get(column)?))
    }
}

impl State {
    /// What the case knows of the lesion in work comes back into the fields and the grid.
    pub(super) fn resume_measurements(&mut self) {
        let known = self.world.case.as_ref().and_then(|case| case.lesions.get(&self.lesion).cloned());
        self.sizes.measured = known.unwrap_or_default();
        self.judge();
    }

    /// The kinds that the grid shows: the product's own, else those that the policy judges.
    fn kinds_shown(&self) -> Vec<Kind> {
        match self.sizes.product.as_ref().and_then(|id| self.world.catalogue.product(id)) {
            Some(product) => vec![product.kind],
            None => self.world.policy.judged.clone(),
        }
    }

    /// The product shown alone; else all of the kinds shown.
    fn grid_of(&self, judgement: Option<&Judgement>) -> Grid {
        let kinds = self.kinds_shown();
        let shown = |product: &Product| match &self.sizes.product {
            Some(id) => product.id == *id,
            None => kinds.contains(&product.kind),
        };
        Grid::of(&self.world.catalogue, shown, judgement, &self.world.shelf, self.world.today())
    }

    /// Judges the catalogue against what stands in the fields now.
    pub(super) fn judge(&mut self) {
        let world = &self.world;
        let nothing_measured = self.sizes.measured == Measurements::default();
        let checked = lesion::check(&self.sizes.measured, &world.policy, &world.catalogue.guides);
        let (lesion, faults) = match checked {
            Ok(lesion) => (Some(lesion), Vec::new()),
            Err(_) if nothing_measured => (None, Vec::new()),
            Err(faults) => (None, faults),
        };
        let kinds: Vec<Kind> = self.kinds_shown().into_iter().filter(|kind| kind.is_stent()).collect();
        let judgement = lesion.as_ref().filter(|_| !kinds.is_empty()).map(|lesion| {
            // While the shelf is not known, nothing is ranked by it.
            let known = world.shelf.unread().is_none();
            let stock: Option<Vec<Piece>> =
                known.then(|| world.shelf.pieces().into_iter().cloned().collect());
            fit::judge(&world.catalogue, &kinds, lesion, &world.policy, stock.as_deref(), world.today())
        });
        let under_cursor = self.sizes.size();
        let grid = self.grid_of(judgement.as_ref());
        self.sizes.cursor = under_cursor.and_then(|(diameter, length)| grid.place(diameter, length));
        self.sizes.grid = grid;
        let carina = lesion.as_ref().map(|lesion| Carina::of(lesion, &self.world.policy.believed));
        self.sizes.carina = match carina {
            Some(Ok(Some(carina))) => carina.in_words(),
            Some(Err(bad)) => vec![bad.message],
            _ => Vec::new(),
        };
        self.sizes.lesion = lesion;
        self.sizes.faults = faults;
        self.sizes.judgement = judgement;
    }

    pub(super) fn size_char(&mut self, c: char) -> Vec<Effect> {
        let sizes = &mut self.sizes;
        let starts = c.is_ascii_digit();
        let goes_on = !sizes.entry.is_empty() && matches!(c, ' ' | 'x' | 'X' | '×' | '.' | ',');
        if (starts || goes_on) && sizes.entry.chars().count() < LONGEST_ENTRY {
            sizes.entry.push(c);
        } else if !starts && !goes_on {
            let key = if c == ' ' { "Space".to_string() } else { c.to_string() };
            self.say(format!("{key} does nothing here; {} shows the keys", self.key(Action::Help)));
        }
        Vec::new()
    }

    pub(super) fn act_sizes(&mut self, action: Action) -> Vec<Effect> {
        match action {
            Action::SizeCall => return self.call_here(Readiness::Asked),
            Action::SizeReady => return self.call_here(Readiness::HaveReady),
            Action::Measure => self.open_measure_form(),
            Action::Find => self.open_find(),
            Action::NextProduct => self.next_product(),
            Action::NextLesion => {
                self.lesion = self.lesion % 3 + 1;
                self.resume_measurements();
                self.say(format!("Lesion {}", self.lesion));
            }
            Action::OpenPlans => self.open_plans(),
            Action::Why => self.sizes.why = !self.sizes.why,
            Action::Longer => return self.call_near(0, 1, "the next length up"),
            Action::Shorter => return self.call_near(0, -1, "the next length down"),
            Action::Wider => return self.call_near(1, 0, "the next diameter up"),
            Action::Narrower => return self.call_near(-1, 0, "the next diameter down"),
            Action::SameAgain => return self.call_near(0, 0, "the same again"),
            Action::SizeUp => self.move_cursor(-1, 0),
            Action::SizeDown => self.move_cursor(1, 0),
            Action::SizeLeft => self.move_cursor(0, -1),
            Action::SizeRight => self.move_cursor(0, 1),
            Action::SizeErase => {
                self.sizes.entry.pop();
            }
            Action::SizeClear => {
                self.sizes.entry.clear();
                self.sizes.cursor = None;
                self.sizes.why = false;
            }
            _ => {}
        }
        Vec::new()
    }

    fn move_cursor(&mut self, down: isize, right: isize) {
        let (rows, columns) = (self.sizes.grid.diameters.len(), self.sizes.grid.lengths.len());
        if rows == 0 || columns == 0 {
            return;
        }
        let step = |at: usize, by: isize, count: usize| at.saturating_add_signed(by).min(count - 1);
        self.sizes.cursor = Some(match self.sizes.cursor {
            // The first arrow sets it down in the middle, on no particular size.
            None => (rows / 2, columns / 2),
            Some((row, column)) => (step(row, down, rows), step(column, right, columns)),
        });
    }

    fn next_product(&mut self) {
        let ids: Vec<&String> =
            self.world.catalogue.products.iter().filter(|p| p.kind != Kind::Other).map(|p| &p.id).collect();
        let next = match &self.sizes.product {
            None => ids.first(),
            Some(shown) => ids.iter().skip_while(|id| **id != shown).nth(1),
        };
        self.sizes.product = next.map(|id| id.to_string());
        self.judge();
    }

    fn call_here(&mut self, readiness: Readiness) -> Vec<Effect> {
        if self.sizes.entry.is_empty() {
            return match self.sizes.size() {
                Some((diameter, length)) if self.sizes.cell().is_some_and(|cell| !cell.boxes.is_empty()) => {
                    let wanted = self.wanted_of_cell(diameter, length);
                    self.call(wanted, readiness)
                }
                Some((diameter, length)) => {
                    self.heed(format!("No product here has {diameter} × {length}"));
                    Vec::new()
                }
                None => {
                    let key = self.key(Action::SizeCall);
                    self.say(format!("Type a size (3 28) or set the cursor on one, then {key} calls it"));
                    Vec::new()
                }
            };
        }
        let entry = self.sizes.entry.clone();
        match self.wanted_of_entry(&entry) {
            Ok(wanted) => {
                self.sizes.entry.clear();
                self.sizes.insisted = None;
                self.call(wanted, readiness)
            }
            Err(why) => {
                self.sizes.insisted = Some(entry);
                self.heed(why);
                Vec::new()
            }
        }
    }

    /// The product shown alone; else any product of the one kind that the cell holds.
    fn wanted_of_cell(&self, diameter: Diameter, length: Length) -> Wanted {
        let kinds: Vec<Kind> = self
            .sizes
            .cell()
            .map(|cell| cell.boxes.iter().map(|boxed| boxed.kind).collect())
            .unwrap_or_default();
        let one_kind = kinds.first().copied().filter(|first| kinds.iter().all(|kind| kind == first));
        Wanted {
            product: self.sizes.product.clone(),
            name: None,
            diameter: Some(diameter),
            length: Some(length),
            kind: one_kind,
            reference: None,
        }
    }

    /// What a typed size asks for, or why it does not say so for certain.
    fn wanted_of_entry(&self, entry: &str) -> Result<Wanted, String> {
        let (diameter, length) = units::size(entry)
            .ok_or_else(|| format!("{entry}: a size is a diameter and a length, as 3 28 or 3.0x28"))?;
        let believed = &self.world.policy.believed;
        let [thin, wide] = believed.diameter_mm;
        if !(thin..=wide).contains(&diameter.mm()) {
            return Err(format!(
                "Diameter {} mm is not believed ({thin} to {wide} mm): the diameter comes first, as 3 28",
                units::plain(diameter.mm())
            ));
        }
        let [short, long] = believed.length_mm;
        if !(short..=long).contains(&length.mm()) {
            return Err(format!("Length {length} mm is not believed ({short} to {long} mm)"));
        }
        let has = |product: &&Product| {
            product.platform(diameter).is_some_and(|platform| {
                platform.boxes.iter().any(|pack| units::same(pack.length.mm(), length.mm()))
            })
        };
        let wanted = Wanted { diameter: Some(diameter), length: Some(length), ..Wanted::default() };
        if let Some(id) = &self.sizes.product
            && self.world.catalogue.product(id).as_ref().is_some_and(has)
        {
            return Ok(Wanted { product: Some(id.clone()), ..wanted });
        }
        let mut kinds: Vec<Kind> = self.world.catalogue.products.iter().filter(has).map(|p| p.kind).collect();
        kinds.sort();
        kinds.dedup();
        let judged: Vec<Kind> =
            kinds.iter().copied().filter(|kind| self.world.policy.judged.contains(kind)).collect();
        match (judged.as_slice(), kinds.as_slice()) {
            ([kind], _) | ([], [kind]) => Ok(Wanted { kind: Some(*kind), ..wanted }),
            ([], []) if self.sizes.insisted.as_deref() == Some(entry) => Ok(wanted),
            ([], []) => Err(format!(
                "No product in the catalogue has {diameter} × {length}. {} again calls it all the same",
                self.key(Action::SizeCall)
            )),
            ([], several) => {
                let names: Vec<&str> = several.iter().map(|kind| kind.name()).collect();
                Err(format!(
                    "{diameter} × {length} exists as {}: choose the product with {} or {}",
                    names.join(" and as "),
                    self.key(Action::NextProduct),
                    self.key(Action::Find)
                ))
            }
            ([_, ..], _) => Ok(wanted),
        }
    }

    pub(super) fn call(&mut self, mut wanted: Wanted, readiness: Readiness) -> Vec<Effect> {
        let product = wanted.product.as_ref().and_then(|id| self.world.catalogue.product(id));
        wanted.name = product.map(|product| product.name.clone());
        let call = match self.world.open_case() {
            Some(_) => self.world.case.as_ref().map_or(1, |case| case.next_call_number()),
            None => 1,
        };
        let judged = self.verdict_of(&wanted);
        let fact = Fact::Called {
            call,
            lesion: Some(self.lesion),
            wanted,
            readiness,
            verdict: judged.as_ref().map(|(verdict, _)| verdict.clone()),
            why: judged.map(|(_, why)| why),
        };
        // A new case starts without what was measured in the one before.
        let measured = self.world.open_case().is_none() && self.sizes.measured != Measurements::default();
        let mut facts = Vec::new();
        if measured {
            facts.push(Fact::LesionMeasured { lesion: self.lesion, measured: self.sizes.measured.clone() });
        }
        facts.push(fact);
        self.write(facts)
    }

    /// The verdict on the best box that would answer, and its first reason in words.
    fn verdict_of(&self, wanted: &Wanted) -> Option<(String, String)> {
        let (judgement, lesion) = (self.sizes.judgement.as_ref()?, self.sizes.lesion.as_ref()?);
        let catalogue = &self.world.catalogue;
        let answers = |size: &&fit::JudgedSize| {
            wanted.product.as_ref().is_none_or(|id| *id == size.product(catalogue).id)
                && wanted.diameter.is_none_or(|d| units::same(d.mm(), size.diameter.mm()))
                && wanted.length.is_none_or(|l| units::same(l.mm(), size.length.mm()))
        };
        let best = judgement.sizes.iter().filter(answers).min_by_key(|size| (size.verdict, size.rank))?;
        let why = best.headline(judgement, catalogue, lesion, &self.world.policy);
        Some((best.verdict.name().to_string(), why))
    }

    /// Calls a neighbour of the last call, along the sizes that its product (or the grid) has.
    fn call_near(&mut self, wider: isize, longer: isize, words: &str) -> Vec<Effect> {
        let last =
            self.world.case.as_ref().and_then(|case| case.calls.last()).map(|call| call.wanted.clone());
        let Some(wanted) = last else {
            self.say(format!("Nothing has been called yet, so there is no {words}"));
            return Vec::new();
        };
        if wider == 0 && longer == 0 {
            return self.call(wanted, Readiness::Asked);
        }
        let (Some(diameter), Some(length)) = (wanted.diameter, wanted.length) else {
            self.say(format!("The last call has no size, so there is no {words}"));
            return Vec::new();
        };
        let kinds = wanted.kind.map_or_else(|| self.kinds_shown(), |kind| vec![kind]);
        let shown = |product: &Product| match &wanted.product {
            Some(id) => product.id == *id,
            None => kinds.contains(&product.kind),
        };
        let grid = Grid::of(&self.world.catalogue, shown, None, &self.world.shelf, self.world.today());
        let next = if wider != 0 {
            let column = grid.lengths.iter().position(|l| units::same(l.mm(), length.mm()));
            beyond(&grid.diameters, |d| d.mm() - diameter.mm(), wider)
                .into_iter()
                .find(|row| {
                    column.is_some_and(|column| grid.cell(*row, column).is_some_and(|c| !c.boxes.is_empty()))
                })
                .map(|row| (grid.diameters[row], length))
        } else {
            let row = grid.diameters.iter().position(|d| units::same(d.mm(), diameter.mm()));
            beyond(&grid.lengths, |l| l.mm() - length.mm(), longer)
                .into_iter()
                .find(|column| {
                    row.is_some_and(|row| grid.cell(row, *column).is_some_and(|c| !c.boxes.is_empty()))
                })
                .map(|column| (diameter, grid.lengths[column]))
        };
        match next {
            Some((diameter, length)) => {
                let wanted = Wanted { diameter: Some(diameter), length: Some(length), ..wanted };
                self.call(wanted, Readiness::Asked)
            }
            None => {
                self.heed(format!("There is no {words} from {diameter} × {length}"));
                Vec::new()
            }
        }
    }

    pub(super) fn open_measure_form(&mut self) {
        let form = measure_form(self.lesion, &self.sizes.measured, &self.world);
        self.ask(form);
        self.measure_changed();
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

/// The places beyond zero, nearest first: `signed` says how far each lies up (or, for -1, down) from the start.
fn beyond<T: Copy>(values: &[T], signed: impl Fn(T) -> f64, direction: isize) -> Vec<usize> {
    let ahead = |index: &usize| signed(values[*index]) * direction as f64 > units::TOLERANCE;
    let mut places: Vec<usize> = (0..values.len()).filter(ahead).collect();
    if direction < 0 {
        places.reverse();
    }
    places
}

fn measure_form(lesion: u8, measured: &Measurements, world: &super::World) -> Form {
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
            None
        }
    }
}
