//! How sure it is that a length covers what has to be covered.

use super::normal;
use crate::lesion::Lesion;
use crate::policy::Policy;
use crate::units::at_least;

/// The need, and how far off it may be; in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Cover {
    /// What has to be covered.
    pub need: f64,
    /// Standard error of the length.
    pub error: f64,
    /// The least that is steady.
    steady_from: f64,
}

impl Cover {
    pub fn of(lesion: &Lesion, policy: &Policy) -> Self {
        let need = lesion.target.length_min.mm();
        let error = policy.error.of(lesion.method).length.mm();
        let z = normal::quantile(policy.rank.steady_at_least);
        Cover { need, error, steady_from: if error > 0.0 { need + z * error } else { need } }
    }

    /// The chance that so many millimetres cover, 0 to 1; without an error of measurement they do or they don't.
    pub fn chance(&self, covered: f64) -> f64 {
        if self.error > 0.0 {
            return normal::below((covered - self.need) / self.error);
        }
        f64::from(u8::from(at_least(covered, self.need)))
    }

    /// Whether they cover with the chance that the policy asks for.
    pub fn is_steady(&self, covered: f64) -> bool {
        at_least(covered, self.steady_from)
    }
}
