//! The three laws of a bifurcation: any diameter of mother and daughters from the other two.
//!
//! A law is a hint whether measures are believable; it never overrules one.

use crate::lesion::law::{daughter, mother, of_powers};
use crate::lesion::{BadInput, Reading, believe};
pub use crate::measure::Law;
use crate::policy::Believed;
use crate::sources::{self, cite};
use crate::units::{Diameter, at_least, at_most};
use serde::{Serialize, Serializer};

/// Above this share of the mother the inverse of a law of powers says nothing: its error grows without bound.
/// Design choice after the derivative; no source.
const NEAR_MOTHER: f64 = 0.95;

impl Law {
    /// The formula as it is written on paper.
    pub const fn formula(self) -> &'static str {
        match self {
            Law::Murray => "D0^3 = D1^3 + D2^3",
            Law::Finet => "D0 = 0.678 x (D1 + D2)",
            Law::HuoKassab => "D0^(7/3) = D1^(7/3) + D2^(7/3)",
        }
    }

    /// Where the law was found to hold (@huo-2012).
    pub const fn holds_for(self) -> &'static str {
        match self {
            Law::Murray => "agrees only where the smaller daughter is at most 0.25 of the larger",
            Law::Finet => "agrees only where the smaller daughter is at least 0.75 of the larger",
            Law::HuoKassab => "agrees over all kinds of bifurcation",
        }
    }

    /// Where the law comes from, and who compared it with the others.
    pub fn source(self) -> String {
        let compared = cite!("huo-2012");
        match self {
            Law::Murray => format!("{}; {compared}", cite!("murray-1926")),
            Law::Finet => format!("{}; {compared}", cite!("finet-2007")),
            Law::HuoKassab => compared.to_string(),
        }
    }
}

crate::measure::words! {
    /// Which of the three was not given.
    WorkedOut { Mother = "mother", Daughter1 = "daughter-1", Daughter2 = "daughter-2" }
}

/// The object of `branch --json`: two as given, one worked out; in mm, nothing rounded.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Branch {
    /// The law that was asked.
    pub law: Law,
    /// The vessel before the carina.
    pub mother_mm: f64,
    /// One vessel beyond it.
    pub daughter_1_mm: f64,
    /// The other.
    pub daughter_2_mm: f64,
    /// Which of the three was not given.
    pub worked_out: WorkedOut,
    /// The vessels for which the law was found to hold.
    pub holds_for: &'static str,
    /// The papers.
    #[serde(serialize_with = "source_of")]
    source: Law,
}

fn source_of<S: Serializer>(law: &Law, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&law.source())
}

/// Works out the third of mother and daughters by one law. Exactly two are given, in mm; either daughter may be
/// the larger one.
///
/// # Errors
/// Not exactly two given; one outside what is believed; given or worked out: a daughter not smaller than the
/// mother, by Murray or Huo-Kassab a daughter above 0.95 of the mother where a daughter is asked for, by Finet a
/// mother smaller than the larger daughter.
pub fn solve(
    law: Law,
    mother: Option<Reading>,
    daughter_1: Option<Reading>,
    daughter_2: Option<Reading>,
    believed: &Believed,
) -> Result<Branch, BadInput> {
    let given = given(mother, daughter_1, daughter_2, believed)?;
    apply(law, &given)
}

/// Two of three, believed.
struct Given {
    mother: Option<f64>,
    daughters: [Option<f64>; 2],
    worked_out: WorkedOut,
}

fn given(
    mother: Option<Reading>,
    daughter_1: Option<Reading>,
    daughter_2: Option<Reading>,
    believed: &Believed,
) -> Result<Given, BadInput> {
    let worked_out = match (mother, daughter_1, daughter_2) {
        (None, Some(_), Some(_)) => WorkedOut::Mother,
        (Some(_), None, Some(_)) => WorkedOut::Daughter1,
        (Some(_), Some(_), None) => WorkedOut::Daughter2,
        _ => {
            let fields = [(WorkedOut::Mother, mother), (WorkedOut::Daughter1, daughter_1)];
            let fields = fields.into_iter().chain([(WorkedOut::Daughter2, daughter_2)]);
            let given: Vec<&str> = fields.filter(|(_, r)| r.is_some()).map(|(name, _)| name.name()).collect();
            let count = if given.is_empty() { "none".to_string() } else { given.join(", ") };
            return Err(BadInput::of_field(
                "mother",
                format!("given: {count}; give exactly two of mother, daughter-1, daughter-2"),
            ));
        }
    };
    let checked = |name: WorkedOut, reading: Option<Reading>| {
        let Some(reading) = reading else { return Ok(None) };
        let refused = believe::reading(name.name(), reading, believed);
        refused.map_or(Ok(Some(reading.diameter().mm())), Err)
    };
    let mother = checked(WorkedOut::Mother, mother)?;
    let first = checked(WorkedOut::Daughter1, daughter_1)?;
    let second = checked(WorkedOut::Daughter2, daughter_2)?;
    Ok(Given { mother, daughters: [first, second], worked_out })
}

fn apply(law: Law, given: &Given) -> Result<Branch, BadInput> {
    let branch = match (given.mother, given.daughters) {
        (Some(mother), [Some(first), _]) => {
            smaller_than_mother(law, "daughter-1", first, mother, true)?;
            with_daughters(law, mother, [first, daughter(law, mother, first)], given.worked_out)
        }
        (Some(mother), [_, Some(second)]) => {
            smaller_than_mother(law, "daughter-2", second, mother, true)?;
            with_daughters(law, mother, [daughter(law, mother, second), second], given.worked_out)
        }
        (_, daughters) => {
            // Without a mother both daughters are there: `given` has seen to it.
            let daughters = daughters.map(|d| d.unwrap_or(f64::NAN));
            with_daughters(law, mother(law, daughters[0], daughters[1]), daughters, given.worked_out)
        }
    };
    let asked_back = given.worked_out != WorkedOut::Mother;
    smaller_than_mother(law, "daughter-1", branch.daughter_1_mm, branch.mother_mm, asked_back)?;
    smaller_than_mother(law, "daughter-2", branch.daughter_2_mm, branch.mother_mm, asked_back)?;
    Ok(branch)
}

fn with_daughters(law: Law, mother_mm: f64, daughters: [f64; 2], worked_out: WorkedOut) -> Branch {
    Branch {
        law,
        mother_mm,
        daughter_1_mm: daughters[0],
        daughter_2_mm: daughters[1],
        worked_out,
        holds_for: law.holds_for(),
        source: law,
    }
}

/// Refuses a daughter that the law has no place for; `asked_back` where a daughter is worked out.
fn smaller_than_mother(
    law: Law,
    field: &str,
    daughter: f64,
    mother: f64,
    asked_back: bool,
) -> Result<(), BadInput> {
    // What is not a number is refused as well.
    if at_least(daughter, mother) || daughter.is_nan() || mother.is_nan() {
        let why = if law == Law::Finet && !asked_back {
            "by finet the mother comes out no larger than it; the law fails where the daughters differ that much"
        } else {
            "a daughter is smaller than its mother; measure again, or try another law"
        };
        let message = format!("{field} {daughter:.2} against mother {mother:.2}: {why}");
        return Err(BadInput::new(field, daughter, message));
    }
    if asked_back && of_powers(law) && !at_most(daughter, NEAR_MOTHER * mother) {
        let message = format!(
            "{field} {daughter:.2} is above 0.95 of the mother {mother:.2}: so near, a small error of either moves \
             the other daughter without bound; measure the third diameter instead"
        );
        return Err(BadInput::new(field, daughter, message));
    }
    Ok(())
}

/// The three laws side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spread {
    /// Which of the three was not given.
    pub worked_out: WorkedOut,
    /// In the order of `Law::ALL`.
    pub laws: Vec<LawSays>,
    /// Largest less smallest of the answers, in mm; none where fewer than two laws answer.
    pub apart_mm: Option<f64>,
    /// What is to be known of every answer.
    pub note: String,
}

/// What one law answers, or why it doesn't.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LawSays {
    /// The law that was asked.
    pub law: Law,
    /// In D (mother) and d (daughters).
    pub formula: &'static str,
    /// The diameter that was asked for, in mm.
    pub answer_mm: Option<f64>,
    /// Why there is none.
    pub refused: Option<String>,
    /// The vessels for which it was published.
    pub holds_for: &'static str,
    /// The papers.
    pub source: String,
}

/// Stands below every spread.
const NOTE: &str = "A law is a hint whether a measure is believable; it never overrules one. Published left \
    mains lie 0.04 mm (@tctap-2019) to 1.03 mm (@mohan-2023) from what Finet makes of their daughters.";

/// All three laws on the same two diameters.
///
/// # Errors
/// Not exactly two given, or one outside what is believed. That a law refuses is part of the answer.
pub fn spread(
    mother: Option<Reading>,
    daughter_1: Option<Reading>,
    daughter_2: Option<Reading>,
    believed: &Believed,
) -> Result<Spread, BadInput> {
    let given = given(mother, daughter_1, daughter_2, believed)?;
    let laws: Vec<LawSays> = Law::ALL
        .iter()
        .map(|law| {
            let (answer_mm, refused) = match apply(*law, &given) {
                Ok(branch) => (Some(branch.asked().mm()), None),
                Err(bad) => (None, Some(bad.message)),
            };
            LawSays {
                law: *law,
                formula: law.formula(),
                answer_mm,
                refused,
                holds_for: law.holds_for(),
                source: law.source(),
            }
        })
        .collect();
    let answers: Vec<f64> = laws.iter().filter_map(|law| law.answer_mm).collect();
    let most = answers.iter().copied().reduce(f64::max);
    let least = answers.iter().copied().reduce(f64::min);
    let apart_mm = most.zip(least).filter(|_| answers.len() > 1).map(|(most, least)| most - least);
    Ok(Spread { worked_out: given.worked_out, laws, apart_mm, note: sources::in_words(NOTE) })
}

impl Spread {
    /// The least and the largest of the answers, in mm; none where no law answers.
    pub fn range(&self) -> Option<[f64; 2]> {
        let answers = || self.laws.iter().filter_map(|law| law.answer_mm);
        Some([answers().reduce(f64::min)?, answers().reduce(f64::max)?])
    }
}

impl Branch {
    /// The diameter that was worked out.
    pub fn asked(&self) -> Diameter {
        Diameter::from_mm(match self.worked_out {
            WorkedOut::Mother => self.mother_mm,
            WorkedOut::Daughter1 => self.daughter_1_mm,
            WorkedOut::Daughter2 => self.daughter_2_mm,
        })
    }

    /// One plain line: `daughter-2 3.18 by huo-kassab, from mother 4.50 and daughter-1 3.50`.
    pub fn in_words(&self) -> String {
        let (mother, first, second) = (self.mother_mm, self.daughter_1_mm, self.daughter_2_mm);
        let from = match self.worked_out {
            WorkedOut::Mother => format!("daughter-1 {first:.2} and daughter-2 {second:.2}"),
            WorkedOut::Daughter1 => format!("mother {mother:.2} and daughter-2 {second:.2}"),
            WorkedOut::Daughter2 => format!("mother {mother:.2} and daughter-1 {first:.2}"),
        };
        format!("{} {} by {}, from {from}", self.worked_out, self.asked(), self.law)
    }
}
