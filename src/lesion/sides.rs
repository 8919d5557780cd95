//! Findings that pull against each other: shown both, none hidden. They decide nothing.

use crate::measure::{Method, Rule};

/// Two findings that a choice of size lies between, each with its source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sides {
    /// The finding that pulls one way.
    pub one: &'static str,
    /// The finding that pulls the other way.
    pub other: &'static str,
}

const LARGER: Sides = Sides {
    one: "larger: a device of 1.0 to 1.1 of the reference diameter is the textbook ratio (ESC/EAPCI handbooks, from \
          memory); below 0.9 counts as a miss (STLLR, Costa 2008 Am J Cardiol 101:1704)",
    other: "smaller: above 1.05 of the reference late loss was 0.54 against 0.31 mm (161 lesions, one centre, RCM \
            21(3) 481)",
};
const BORDER: Sides = Sides {
    one: "by the EEM, rounded down: 3.33 mm chosen on average (ILUMIEN III substudy, Shlofmitz 2021 EHJ-CVI 22:753)",
    other: "by the lumen, rounded up: 2.70 mm in the same vessels, about 0.6 mm less (the same)",
};
const RESULT: Sides = Sides {
    one: "a minimal stent area above 5.5 mm² went with 0.5 against 2.2 % hard events in long lesions (IVUS-XPL and \
          ULTIMATE, 10.1161/circinterventions.121.011124)",
    other: "a larger area by OCT brought no fewer failures at two years (ILUMIEN IV, Ali 2023 NEJM 389:1466, from \
            memory)",
};
const LENGTH: Sides = Sides {
    one: "longer: 2 to 4 mm past each edge; lengths chosen by eye were too short in 55 % (CCI 2015 86:1177)",
    other: "shorter: in the bare-metal era 9.8 against 16.3 mm went with 15.8 against 24.4 % restenosis (PMC1860977)",
};

/// The pairs that bear on a size by this rule and method.
pub fn sides(rule: Rule, method: Method) -> Vec<Sides> {
    let diameter = if rule == Rule::ReferenceDiameter { LARGER } else { BORDER };
    let mut pairs = vec![diameter, LENGTH];
    if method.shows_eem() {
        pairs.push(RESULT);
    }
    pairs
}
