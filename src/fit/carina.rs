//! The step of reference at a side branch: what the laws would make of it, and what is measured.
//!
//! The main vessel beyond the carina is sized by the distal reference, the part before it is brought up by
//! post-dilatation (@lassen-2014). A law never overrules a measurement.

use super::branch::{Spread, spread};
use crate::lesion::{BadInput, Lesion, Reading};
use crate::policy::Believed;
use crate::sources::cite;
use crate::units::{Diameter, Figure, Length, plain};

/// What is to be known at a carina.
#[derive(Debug, Clone, PartialEq)]
pub struct Carina {
    /// The side branch's lumen at its ostium.
    pub branch: Diameter,
    /// From the distal end of what has to be covered to the carina, where that was given.
    pub at: Option<Length>,
    /// The main vessel's lumen beyond the carina.
    pub beyond: Diameter,
    /// Before it, as measured.
    pub before: Option<Diameter>,
    /// What the laws say of the vessel before it.
    pub laws: Spread,
}

impl Carina {
    /// None where no side branch's lumen was measured, or not the one beyond it.
    ///
    /// # Errors
    /// A diameter outside what is believed.
    pub fn of(lesion: &Lesion, believed: &Believed) -> Result<Option<Carina>, BadInput> {
        let (Some(branch), Some(beyond)) = (lesion.branches.lumen, lesion.distal_lumen) else {
            return Ok(None);
        };
        let laws = spread(None, Some(Reading::One(beyond)), Some(Reading::One(branch)), believed)?;
        let at = lesion.branches.at.first().copied();
        Ok(Some(Carina { branch, at, beyond, before: lesion.proximal_lumen, laws }))
    }

    /// Plain lines, the most important first.
    pub fn in_words(&self) -> Vec<String> {
        let at = self.at.map(|at| format!(" at {} mm", plain(at.mm()))).unwrap_or_default();
        let laws: Vec<String> = self
            .laws
            .laws
            .iter()
            .map(|says| match says.answer_mm {
                Some(mm) => format!("{:.2} by {}", Figure(mm), says.law),
                None => format!("no answer by {}", says.law),
            })
            .collect();
        let before = match self.before {
            Some(before) => format!("measured before it {before}: that counts, no law overrules it"),
            None => "not measured before it: no proximal lumen is given, and a law is only a hint".into(),
        };
        vec![
            format!("side branch {}{at}; {before}", self.branch),
            format!("the laws make of {} and {}: {}", self.beyond, self.branch, laws.join(", ")),
            format!(
                "beyond the carina by the distal reference, before it by post-dilatation [{}]",
                cite!("lassen-2014")
            ),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lesion::{self, Measurements};
    use crate::measure::Method;
    use crate::policy::Policy;

    fn lesion(branch: f64, at: f64) -> Result<Lesion, Vec<BadInput>> {
        let mm = |value| Some(Reading::One(Diameter::from_mm(value)));
        let measured = Measurements {
            method: Some(Method::Oct),
            distal_lumen: mm(3.0),
            proximal_lumen: mm(3.6),
            length: Some(Length::from_mm(24.0)),
            branch_lumen: mm(branch),
            branch_at: Some(Length::from_mm(at)),
            ..Measurements::default()
        };
        lesion::check(&measured, &Policy::default(), &[])
    }

    /// @huo-2012: the mother of 3.0 and 2.5 by three laws.
    #[test]
    fn the_laws_stand_beside_the_measurement_and_change_nothing() {
        let with = lesion(2.5, 10.0).unwrap();
        let carina = Carina::of(&with, &Policy::default().believed).unwrap().unwrap();
        let words = carina.in_words().join("\n");
        for answer in
            ["3.49 by murray", "3.73 by finet", "3.72 by huo-kassab", "measured before it 3.60: that counts"]
        {
            assert!(words.contains(answer), "{answer}: {words}");
        }
        assert_eq!(
            with.target.proximal_target,
            Some(Diameter::from_mm(3.6)),
            "the target is the measured one"
        );
    }

    #[test]
    fn a_branch_outside_the_lesion_is_refused_with_its_field() {
        for (branch, at, field) in
            [(2.5, 30.0, "branch-at"), (2.5, 0.0, "branch-at"), (25.0, 10.0, "branch-lumen")]
        {
            let bad = lesion(branch, at).unwrap_err();
            assert_eq!(bad[0].field, field, "{bad:?}");
        }
    }
}
