//! Plans beyond one empty lesion: several lesions out of one shelf, and what is left beside devices that are in.

use super::ask::Outcome;
use super::plans::{Offered, Plans};
use super::{Effects, Field, Form, Overlay, Purpose, State, sizes};
use crate::case::Item;
use crate::catalogue::Piece;
use crate::fit::span::{self, Placed};
use crate::journal::Fate;
use crate::lesion::{self, Lesion};
use crate::units::{self, Diameter, Length, at_most, counted, plain};

/// The fields of the devices that are in already: more of them lie in no lesion.
const FIELDS: [&str; 6] = ["in-1", "in-2", "in-3", "in-4", "in-5", "in-6"];

impl State {
    /// Every lesion of the case that is measured, with its number.
    fn measured_lesions(&self) -> Vec<(u8, Lesion)> {
        let Some(case) = &self.world.case else { return Vec::new() };
        let checked =
            |measured| lesion::check(measured, &self.world.policy, &self.world.catalogue.guides).ok();
        case.lesions.iter().filter_map(|(number, measured)| Some((*number, checked(measured)?))).collect()
    }

    /// One shelf for every lesion of the case: fewest devices in all, then least excess in all.
    pub(super) fn plan_together(&mut self) -> Effects {
        let lesions = self.measured_lesions();
        if lesions.len() < 2 {
            let key = self.key(sizes::NEXT_LESION);
            return self.say(format!("Only one lesion is measured in this case: {key} turns to the next"));
        }
        let world = &self.world;
        let named: Vec<(String, Lesion)> =
            lesions.iter().map(|(number, lesion)| (number.to_string(), lesion.clone())).collect();
        let pieces: Vec<Piece> = world.shelf.pieces().into_iter().cloned().collect();
        let (kinds, policy, today) = (&world.policy.judged, &world.policy, world.today());
        let together = span::together(&world.catalogue, kinds, &named, policy, Some(&pieces), today, None);
        let plans: Vec<Offered> = lesions
            .iter()
            .zip(&together.lesions)
            .filter_map(|((number, lesion), of_lesion)| {
                let mut offered = self.offered(of_lesion.plans.first()?, lesion, *number);
                offered.words = format!("lesion {number}: {}", offered.words);
                Some(offered)
            })
            .collect();
        let words = match (together.devices, together.excess_mm) {
            (Some(devices), Some(excess)) => {
                let proved = span::proved(together.optimal);
                format!(
                    "In all {}, {} mm more than needed, {proved}",
                    counted(devices, "device"),
                    plain(excess)
                )
            }
            _ => "No choice from this shelf spans every lesion".to_string(),
        };
        let title = format!("{} out of one shelf, distal on the left", counted(lesions.len(), "lesion"));
        let cursor = plans.iter().position(|plan| plan.is_of(self.lesion)).unwrap_or(0);
        self.open(Overlay::Plans(Plans { title, plans, none: vec![words], cursor, together: true }))
    }

    /// The stents that are in the lesion in work: implanted there, or blown up there and not accounted for yet.
    pub(super) fn in_already(&self) -> Vec<&Item> {
        let is_in = |item: &&Item| {
            let stent = item.label.kind.is_some_and(|kind| kind.is_stent());
            let here = match &item.fate {
                Some(kept) => kept.fate == Fate::Implanted && kept.lesion == Some(self.lesion),
                None => !item.inflations.is_empty() && item.lesions.contains(&self.lesion),
            };
            stent && here && item.label.diameter.is_some() && item.label.length.is_some()
        };
        self.world.opened().into_iter().filter(is_in).take(FIELDS.len()).collect()
    }

    /// Asks where each device that is in lies: the journal does not know that.
    pub(super) fn ask_in_already(&mut self) -> Effects {
        let fields: Vec<Field> = FIELDS
            .iter()
            .zip(self.in_already())
            .map(|(id, item)| {
                let (d, l) = (item.label.diameter, item.label.length);
                let size = d.zip(l).map_or(String::new(), |(d, l)| format!("{d} × {l} "));
                Field::text(id, format!("{size}{}", item.label.name), "", "mm from the distal landing zone")
            })
            .collect();
        if fields.is_empty() {
            return self.say(format!("No implanted stent is written down for lesion {}", self.lesion));
        }
        let intro = [
            "Where is the distal end of each? 0 is the distal landing zone, proximal counts up.",
            "One that is left empty is not looked at.",
        ];
        let purpose = Purpose::InAlready { lesion: self.lesion };
        self.ask(Form::new(purpose, format!("In lesion {} already", self.lesion), &intro, fields))
    }

    pub(super) fn accept_in_already(&mut self, lesion: u8, form: &Form) -> Outcome {
        let Some(need) = self.sizes.lesion.as_ref().map(|lesion| lesion.target.length_min.mm()) else {
            return Err("The lesion is not measured".into());
        };
        if lesion != self.lesion {
            return Err(format!("This was asked of lesion {lesion}: turn back to it"));
        }
        let mut already: Vec<(Placed, String)> = Vec::new();
        for (id, item) in FIELDS.iter().zip(self.in_already()) {
            let text = form.value(id);
            let size: Option<(Diameter, Length)> = item.label.diameter.zip(item.label.length);
            let Some((diameter, length)) = size.filter(|_| !text.is_empty()) else { continue };
            let at = units::number(&text).ok_or_else(|| format!("{text:?} is no number of millimetres"))?;
            if at_most(at + length.mm(), 0.0) || at_most(need, at) {
                return Err(format!(
                    "{text} mm puts {diameter} × {length} outside what is to be covered, 0 to {} mm",
                    plain(need)
                ));
            }
            let placed = Placed { diameter, length, at: Length::from_mm(at) };
            already.push((placed, item.label.name.clone()));
        }
        if already.is_empty() {
            return Err("Type where at least one of them lies, in mm".into());
        }
        Ok(self.plan_this(&already))
    }
}
