//! Which kinds of device are judged.

use crate::lesion::BadInput;
use crate::measure::Kind;
use crate::policy::Policy;

/// The kinds asked for, each once, or the policy's where none is named.
///
/// # Errors
/// A kind that no verdict is made for: a balloon, or `other`.
pub fn kinds(requested: &[Kind], policy: &Policy) -> Result<Vec<Kind>, Vec<BadInput>> {
    let (from, asked) = if requested.is_empty() {
        ("judged in the policy", policy.judged.as_slice())
    } else {
        ("kind", requested)
    };
    let bad: Vec<BadInput> = asked
        .iter()
        .filter(|kind| !kind.is_stent())
        .map(|kind| {
            let stents: Vec<&str> = Kind::ALL.iter().filter(|k| k.is_stent()).map(|k| k.name()).collect();
            let message =
                format!("{from}: {kind} is not judged against a lesion; name one of {}", stents.join(", "));
            BadInput { field: "kind".into(), value: Some(kind.to_string()), message }
        })
        .collect();
    if !bad.is_empty() {
        return Err(bad);
    }
    let mut kinds = asked.to_vec();
    kinds.sort_unstable();
    kinds.dedup();
    Ok(kinds)
}
