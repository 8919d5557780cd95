//! All files have been read: which devices are certain, and which product each belongs to.

use super::devices::{Device, DeviceRow};
use super::free::{self, Said};
use super::report::Outcome;
use super::write::{self, Family, ProductFile, Sure};
use super::{Import, Part, Report, kinds};
use crate::measure::Kind;
use crate::udi::DeviceId;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Why a box is kept out that nothing else stands against.
pub(super) const NO_LONGER_SOLD: &str = "no longer in commercial distribution";

const NOT_READ: &str = "its device is not read";

/// What came of a release.
#[derive(Debug, Clone, PartialEq)]
pub struct Imported {
    /// By file name.
    pub files: Vec<ProductFile>,
    /// Boxes in all of them.
    pub boxes: usize,
    /// What became of every row.
    pub report: Report,
}

impl Imported {
    /// Boxes that were kept out because they are no longer sold.
    pub fn no_longer_sold(&self) -> usize {
        self.report.notes.iter().filter(|note| note.reason == NO_LONGER_SOLD).count()
    }
}

impl Sure {
    fn size(&self) -> (u64, u64) {
        (self.diameter.to_bits(), self.length.to_bits())
    }
}

impl Import {
    /// Ends the feeding.
    pub fn settle(mut self) -> Imported {
        let mut devices: Vec<(Box<[u8]>, Device)> = std::mem::take(&mut self.devices).into_iter().collect();
        devices.sort_by(|a, b| {
            let line = |device: &Device| device.row.as_ref().map(|row| row.line);
            line(&a.1).cmp(&line(&b.1)).then_with(|| a.0.cmp(&b.0))
        });
        let mut sure = Vec::new();
        for (key, device) in devices {
            let key = String::from_utf8_lossy(&key).into_owned();
            sure.extend(self.one(key, device));
        }
        let sure = self.without_clashes(sure);
        let families = families(sure);
        let mut boxes = 0;
        let mut kept: BTreeMap<Family, Vec<Sure>> = BTreeMap::new();
        for (family, members) in families {
            let members = self.without_doubles(members);
            boxes += members.len();
            if !members.is_empty() {
                kept.insert(family, members);
            }
        }
        let files = write::files(kept);
        self.report.notes.sort();
        Imported { files, boxes, report: self.report }
    }

    /// One device: certain, or told why not.
    fn one(&mut self, key: String, device: Device) -> Option<Sure> {
        let Some(row) = device.row.clone() else {
            for (_, line) in &device.codes {
                let reason = "a wanted code without a row of its own in device.txt";
                self.report.tell(Part::Codes, *line, &key, Outcome::Doubtful, reason);
            }
            for (_, line) in &device.further {
                self.report.tell(Part::Identifiers, *line, &key, Outcome::Skipped, NOT_READ);
            }
            return None;
        };
        device.codes.iter().for_each(|_| self.report.add(Part::Codes, Outcome::Read));
        let made = self.judge(&key, &device, row.clone());
        for (text, line) in &device.further {
            let (outcome, reason) = match DeviceId::parse(text) {
                _ if made.is_err() => (Outcome::Skipped, NOT_READ.to_string()),
                Ok(_) => (Outcome::Read, String::new()),
                Err(fault) => (Outcome::Doubtful, fault.to_string()),
            };
            self.report.tell(Part::Identifiers, *line, &key, outcome, &reason);
        }
        match made {
            // Counted when it clashes with no other.
            Ok(sure) => Some(sure),
            Err((outcome, reason)) => {
                self.report.tell(Part::Devices, row.line, &key, outcome, &reason);
                None
            }
        }
    }

    fn judge(&self, key: &str, device: &Device, row: DeviceRow) -> Result<Sure, (Outcome, String)> {
        let doubt = |reason: &str| (Outcome::Doubtful, reason.to_string());
        match row.status.to_ascii_lowercase().as_str() {
            "in commercial distribution" => {}
            "not in commercial distribution" if self.discontinued => {}
            "not in commercial distribution" => {
                return Err((Outcome::Skipped, NO_LONGER_SOLD.into()));
            }
            _ => return Err(doubt("whether it is still sold is not said")),
        }
        if let Some(against) = &device.against {
            return Err(doubt(against));
        }
        let di = DeviceId::parse(key).map_err(|fault| doubt(&fault.to_string()))?;
        if !matches!(row.count.as_str(), "" | "1") {
            return Err(doubt(&format!("a box holds {} of them", row.count)));
        }
        let kind = self.kind(device, &row).map_err(|reason| doubt(&reason))?;
        let (diameter, length) = size(device, &row.description).map_err(|reason| doubt(&reason))?;
        if kind.is_stent() && diameter < LEAST_STENT_MM {
            return Err(doubt("no coronary stent is believed to be that thin; a folded profile?"));
        }
        let reference = [&row.catalogue_number, &row.version].into_iter().find(|text| !text.is_empty());
        let reference = reference.ok_or_else(|| doubt("neither a catalogue number nor a model"))?.clone();
        if row.company.is_empty() || row.brand.is_empty() {
            return Err(doubt("the maker or the brand is not said"));
        }
        let further = device.further.iter().filter_map(|(text, _)| DeviceId::parse(text).ok());
        let mut further: Vec<DeviceId> = further.filter(|other| *other != di).collect();
        further.sort();
        further.dedup();
        Ok(Sure { di, further, kind, diameter, length, reference, row, key: key.into() })
    }

    fn kind(&self, device: &Device, row: &DeviceRow) -> Result<Kind, String> {
        let words = format!("{} {}", row.brand, row.description);
        let mut kinds = BTreeSet::new();
        for (code, _) in &device.codes {
            kinds.insert(match self.codes[*code].kind {
                Some(kind) => kind,
                None => kinds::balloon(&words).ok_or(
                    "the release does not say whether this balloon is semi-compliant or non-compliant",
                )?,
            });
        }
        let mut kinds = kinds.into_iter();
        let kind = kinds.next().ok_or("no product code")?;
        if kinds.next().is_some() {
            return Err("its product codes name more than one kind of device".into());
        }
        match kinds::strange_stent(kind, &words) {
            Some(reason) if kind.is_stent() => Err(reason.into()),
            _ => Ok(kind),
        }
    }

    /// An identifier belongs to one box: devices that share one are both doubtful.
    fn without_clashes(&mut self, sure: Vec<Sure>) -> Vec<Sure> {
        let mut owners: HashMap<DeviceId, u32> = HashMap::new();
        for di in sure.iter().flat_map(|one| std::iter::once(&one.di).chain(&one.further)) {
            *owners.entry(di.clone()).or_default() += 1;
        }
        let (clear, shared): (Vec<Sure>, Vec<Sure>) = sure
            .into_iter()
            .partition(|one| std::iter::once(&one.di).chain(&one.further).all(|di| owners[di] == 1));
        for one in shared {
            let reason = "one of its identifiers is another device's too";
            self.report.tell(Part::Devices, one.row.line, &one.key, Outcome::Doubtful, reason);
        }
        clear
    }

    /// A product makes a size once: where two devices of it have one size, which is meant can't be known, unless
    /// they bear the same catalogue number and are one box.
    fn without_doubles(&mut self, members: Vec<Sure>) -> Vec<Sure> {
        let mut by_size: BTreeMap<(u64, u64), Vec<Sure>> = BTreeMap::new();
        for one in members {
            by_size.entry(one.size()).or_default().push(one);
        }
        let mut kept = Vec::new();
        for mut same in by_size.into_values() {
            if same.iter().any(|one| one.reference != same[0].reference) {
                for one in same {
                    let reason = "the same size stands under another catalogue number of this product";
                    self.report.tell(Part::Devices, one.row.line, &one.key, Outcome::Doubtful, reason);
                }
                continue;
            }
            for _ in &same {
                self.report.add(Part::Devices, Outcome::Read);
            }
            let further: Vec<DeviceId> = same
                .iter()
                .skip(1)
                .flat_map(|one| std::iter::once(&one.di).chain(&one.further))
                .cloned()
                .collect();
            same.truncate(1);
            for mut one in same {
                one.further.extend(further.iter().cloned());
                kept.push(one);
            }
        }
        kept
    }
}

/// The smallest stents made are 2.0 mm: common practice, no source. What is typed below is a profile.
const LEAST_STENT_MM: f64 = 2.0;

/// The one size that all sources leave.
fn size(device: &Device, description: &str) -> Result<(f64, f64), String> {
    let mut diameters = device.diameters.clone();
    let mut lengths = device.lengths.clone();
    let mut worded = device.worded.clone();
    match free::read(description) {
        Said::Size { diameter, length } => {
            diameters.extend(diameter);
            lengths.extend(length);
            worded.extend(diameter.filter(|_| length.is_some()));
        }
        Said::Nothing => {}
        Said::Doubtful(why) => return Err(format!("the description: {why}")),
    }
    let one = |mut values: Vec<f64>, what: &str| {
        values.sort_by(f64::total_cmp);
        values.dedup();
        match values.as_slice() {
            [] => Err(format!("no {what} is certain")),
            [value] => Ok(*value),
            more => Err(format!("{what}s that disagree: {} and {} mm", more[0], more[1])),
        }
    };
    let (diameter, length) = (one(diameters, "diameter")?, one(lengths, "length")?);
    if diameter >= length {
        return Err(format!("{diameter} x {length} mm is wider than long"));
    }
    if diameter < LEAST_STENT_MM && !worded.contains(&diameter) {
        return Err(format!("{diameter} mm may be a folded profile: no text gives it as the size"));
    }
    Ok((diameter, length))
}

/// What two spellings of one name have in common: case and punctuation do not matter.
fn alike(text: &str) -> String {
    let lower = text.to_lowercase();
    let words = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join(" ")
}

/// Devices by the product that they belong to. A version counts where it holds more than one size: else it is what
/// makers also write there, the number of a single size.
fn families(sure: Vec<Sure>) -> BTreeMap<Family, Vec<Sure>> {
    let mut sizes: HashMap<Family, BTreeSet<(u64, u64)>> = HashMap::new();
    let family =
        |one: &Sure| (alike(&one.row.company), alike(&one.row.brand), alike(&one.row.version), one.kind);
    for one in &sure {
        sizes.entry(family(one)).or_default().insert(one.size());
    }
    let mut families: BTreeMap<Family, Vec<Sure>> = BTreeMap::new();
    for one in sure {
        let mut key = family(&one);
        if sizes[&key].len() < 2 {
            key.2 = String::new();
        }
        families.entry(key).or_default().push(one);
    }
    families
}
