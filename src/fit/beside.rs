//! Two boxes side by side: each fact of both in words, what differs first.

use super::facts::{Facts, Frame, Point};
use super::{JudgedSize, Verdict};
use crate::catalogue::{Catalogue, Platform, Product};
use crate::fit::answer::UNSTEADY;
use crate::lesion::Lesion;
use crate::policy::Policy;
use crate::units::{Diameter, Figure, Length, TOLERANCE, plain};

/// One fact of two boxes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ComparedFact {
    /// What is compared, in a word.
    pub name: &'static str,
    /// Of the first box.
    pub one: String,
    /// Of the second box.
    pub other: String,
}

impl ComparedFact {
    /// A fact of both in words.
    pub fn new(name: &'static str, one: impl Into<String>, other: impl Into<String>) -> Self {
        ComparedFact { name, one: one.into(), other: other.into() }
    }

    /// Whether the two are told apart by it.
    pub fn differs(&self) -> bool {
        self.one != self.other
    }
}

/// One of the two.
#[derive(Debug, Clone, Copy)]
pub struct Side<'a> {
    /// The product of the box.
    pub product: &'a Product,
    /// Its labelled diameter.
    pub platform: &'a Platform,
    /// Its labelled length.
    pub length: Length,
    /// What the engine says of it, where a lesion was measured.
    pub judged: Option<&'a JudgedSize>,
}

/// What both were judged with.
#[derive(Debug, Clone, Copy)]
pub struct Against<'a> {
    /// The products.
    pub catalogue: &'a Catalogue,
    /// What was measured; none: only what the files say is compared.
    pub lesion: Option<&'a Lesion>,
    /// The room's protocol.
    pub policy: &'a Policy,
}

/// Every fact that bears on the choice, those that differ first, otherwise in the order in which they are asked.
pub fn beside([one, other]: [Side; 2], against: Against) -> Vec<ComparedFact> {
    let row = |name, say: &dyn Fn(&Side) -> String| ComparedFact::new(name, say(&one), say(&other));
    let mut rows = Vec::new();
    if let Some(lesion) = against.lesion {
        let judged = |say: &dyn Fn(&Side, &JudgedSize) -> String, side: &Side| {
            side.judged.map_or("not judged".to_string(), |size| say(side, size))
        };
        rows.push(row("verdict", &|side| judged(&|_, size| size.verdict.words().to_string(), side)));
        rows.push(row("order", &|side| judged(&|_, size| order(size), side)));
        rows.push(row("length", &|side| excess(side.length, lesion)));
        rows.push(row("aim", &|side| off_aim(side.platform.diameter, lesion)));
        rows.push(row("steady", &|side| judged(&|_, size| steady(size, against, lesion), side)));
        rows.push(row("deploy", &|side| judged(&|_, size| deploy(size), side)));
        rows.push(row("balloon", &|side| reach(side, against, lesion)));
    } else {
        rows.push(row("nominal", &|side| pressure(side.platform.nominal())));
    }
    rows.push(row("burst", &|side| pressure(side.platform.rated_burst())));
    rows.push(row("limit", &|side| known(side.platform.expansion_limit)));
    rows.push(row("profile", &|side| known(side.platform.crossing)));
    rows.push(row("guide", &|side| guide(side, against)));
    rows.sort_by_key(|row| !row.differs());
    rows
}

fn known(diameter: Option<Diameter>) -> String {
    diameter.map_or("not known".to_string(), |diameter| diameter.to_string())
}

fn pressure(pressure: Option<crate::units::Pressure>) -> String {
    pressure.map_or("not known".to_string(), |pressure| format!("{pressure} atm"))
}

fn order(size: &JudgedSize) -> String {
    size.rank.map_or("–".to_string(), ordinal)
}

fn excess(length: Length, lesion: &Lesion) -> String {
    let over = length.mm() - lesion.target.length_min.mm();
    if over > TOLERANCE {
        format!("{} mm over", plain(over))
    } else if over < -TOLERANCE {
        format!("{} mm short", plain(-over))
    } else {
        "exact".into()
    }
}

fn off_aim(diameter: Diameter, lesion: &Lesion) -> String {
    let off = diameter.mm() - lesion.target.aim.mm();
    if off > TOLERANCE {
        format!("{:.2} above", Figure(off))
    } else if off < -TOLERANCE {
        format!("{:.2} below", Figure(-off))
    } else {
        "exact".into()
    }
}

fn steady(size: &JudgedSize, against: Against, lesion: &Lesion) -> String {
    match size.steadiness {
        None => "not known".into(),
        Some(steadiness) if size.verdict.is_fit() && steadiness >= UNSTEADY => "steady".into(),
        Some(_) => size
            .most_sensitive_to(against.catalogue, lesion, against.policy)
            .map_or("far from it".to_string(), |sensitivity| sensitivity.measure.to_string()),
    }
}

fn deploy(size: &JudgedSize) -> String {
    match size.deploy {
        Some(atm) => format!("{atm} atm"),
        None if size.verdict == Verdict::Unknown || size.verdict.is_fit() => "not known".into(),
        None => "–".into(),
    }
}

fn reach(side: &Side, against: Against, lesion: &Lesion) -> String {
    let Some(index) =
        side.product.diameters.iter().position(|platform| platform.diameter == side.platform.diameter)
    else {
        return "not known".into();
    };
    let frame = Frame { rule: lesion.target.rule, window: against.policy.window, tolerance: TOLERANCE };
    let conditions = Facts::of(side.product, index).conditions(&frame, Point::measured(lesion));
    conditions.reach.map_or("not known".to_string(), |reach| format!("to {:.2}", Figure(reach)))
}

fn guide(side: &Side, against: Against) -> String {
    let Some(need) = side.product.guide_min_id else { return "not known".into() };
    let in_use = against.lesion.and_then(|lesion| lesion.guide);
    let takes = match in_use {
        Some(guide) if crate::units::at_least(guide.inner.inches(), need.inches()) => " ok",
        Some(_) => " TOO SMALL",
        None => "",
    };
    format!("{:.3} in{takes}", Figure(need.inches()))
}

/// `1st`, `2nd`, `3rd`, `11th`.
pub fn ordinal(rank: u32) -> String {
    let ending = match (rank % 10, rank % 100) {
        (1, tens) if tens != 11 => "st",
        (2, tens) if tens != 12 => "nd",
        (3, tens) if tens != 13 => "rd",
        _ => "th",
    };
    format!("{rank}{ending}")
}
