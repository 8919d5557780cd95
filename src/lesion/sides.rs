//! Findings that pull against each other: shown both, none hidden. They decide nothing.

use crate::measure::{Method, Rule};
use crate::sources;

const LARGER: [&str; 2] = [
    "larger: a device of 1.0 to 1.1 of the reference diameter (@textbook-ratio); below 0.9 counts as a miss \
     (@costa-2008)",
    "smaller: above 1.05 of the reference late loss was 0.54 against 0.31 mm (161 lesions, one centre, @rcm-2020)",
];
const BORDER: [&str; 2] = [
    "by the EEM, rounded down: 3.33 mm chosen on average (@shlofmitz-2021)",
    "by the lumen, rounded up: 2.70 mm in the same vessels, about 0.6 mm less (@shlofmitz-2021)",
];
const RESULT: [&str; 2] = [
    "a minimal stent area above 5.5 mm² went with 0.5 against 2.2 % hard events in long lesions (@ivus-xpl-ultimate)",
    "a larger area by OCT brought no fewer failures at two years (@ali-2023)",
];
const LENGTH: [&str; 2] = [
    "longer: 2 to 4 mm past each edge; lengths chosen by eye were too short in 55 % (@cci-2015)",
    "shorter: in the bare-metal era 9.8 against 16.3 mm went with 15.8 against 24.4 % restenosis (@bare-metal-lengths)",
];

/// The pairs of findings that a choice of size by this rule and method is between, each with its source.
pub fn sides(rule: Rule, method: Method) -> Vec<[String; 2]> {
    let diameter = if rule == Rule::ReferenceDiameter { LARGER } else { BORDER };
    let mut pairs = vec![diameter, LENGTH];
    if method.shows_eem() {
        pairs.push(RESULT);
    }
    pairs.into_iter().map(|pair| pair.map(sources::in_words)).collect()
}
