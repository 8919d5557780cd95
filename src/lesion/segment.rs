//! The segments of the coronary tree, and the calibre that is normal in them.
//!
//! Names: @austen-1975, as @syntax divides them further. Bands: mean ± 2 SD of @dodge-1992; the left main's is the hull
//! of three series, @medrano-gracia-2016 and @ct-normals-2018 beside it.

use super::BadInput;
use crate::measure::Dominance;
use crate::sources;

/// Every segment that a system has, in the order of its table.
pub const NAMES: &[&str] = &[
    "1", "2", "3", "4", "16", "16a", "16b", "16c", "5", "6", "7", "8", "9", "9a", "10", "10a", "11", "12",
    "12a", "12b", "13", "14", "14a", "14b", "15",
];

/// Segments as they are spoken of, with their numbers; @austen-1975.
const SPOKEN: &[(&str, &str)] = &[
    ("proximal rca", "1"),
    ("mid rca", "2"),
    ("distal rca", "3"),
    ("left main", "5"),
    ("proximal lad", "6"),
    ("mid lad", "7"),
    ("distal lad", "8"),
    ("first diagonal", "9"),
    ("second diagonal", "10"),
    ("proximal circumflex", "11"),
];

/// The name as the table has it, also where it was typed as it is spoken (`left main`, `proximal-LAD`); none where
/// no system has such a segment.
pub fn normal(typed: &str) -> Option<String> {
    let name = typed.trim().to_lowercase();
    let spoken = name.replace('-', " ");
    let words: Vec<&str> = spoken.split_whitespace().collect();
    let spoken = words.join(" ");
    if let Some((_, number)) = SPOKEN.iter().find(|(words, _)| *words == spoken) {
        return Some((*number).to_string());
    }
    NAMES.contains(&name.as_str()).then_some(name)
}

/// The name as the table has it, or a refusal that names the ones there are.
pub(crate) fn checked(typed: &str) -> Result<String, BadInput> {
    normal(typed).ok_or_else(|| {
        BadInput::new("segment", typed, format!("segment {typed:?} is none of {}", NAMES.join(", ")))
    })
}

/// Left main, mean and standard deviation in mm, of three series that disagree.
const LEFT_MAIN: [[f64; 2]; 3] = [[4.5, 0.5], [3.5, 0.8], [5.4, 0.7]];

/// Normal lumen of a segment in mm, edges within: mean ± 2 SD, the hull of the series for the left main and of both
/// sides where dominance is not given. Most have none.
pub fn band(segment: &str, dominance: Option<Dominance>) -> Option<[f64; 2]> {
    let side = |dominance| calibre(segment, Some(dominance)).map(two_sd);
    let bands = match (segment, dominance) {
        ("5", _) => LEFT_MAIN.map(two_sd).to_vec(),
        (_, Some(dominance)) => vec![side(dominance)?],
        (_, None) => vec![side(Dominance::Right)?, side(Dominance::Left)?],
    };
    bands.into_iter().reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])])
}

/// Where the band of a segment comes from, in words.
pub fn band_source(segment: &str) -> String {
    sources::in_words(match segment {
        "5" => "hull of @dodge-1992, @medrano-gracia-2016 and @ct-normals-2018",
        _ => "@dodge-1992",
    })
}

/// Mean ± 2 SD, to the hundredth of a millimetre: as the series print them.
fn two_sd([mean, sd]: [f64; 2]) -> [f64; 2] {
    [mean - 2.0 * sd, mean + 2.0 * sd].map(|mm| (mm * 100.0).round() / 100.0)
}

/// Normal lumen in mm, mean and standard deviation (@dodge-1992), where one is
/// published for the segment. Without dominance the right one, which is the commoner.
pub fn calibre(segment: &str, dominance: Option<Dominance>) -> Option<[f64; 2]> {
    let left = dominance == Some(Dominance::Left);
    match segment {
        "5" => Some(LEFT_MAIN[0]),
        "6" => Some([3.7, 0.4]),
        "8" => Some([1.9, 0.4]),
        "1" => Some(if left { [2.8, 0.5] } else { [3.9, 0.6] }),
        "11" => Some(if left { [4.2, 0.6] } else { [3.4, 0.5] }),
        _ => None,
    }
}
