//! Product codes, and the kind of device that each stands for.

use crate::measure::Kind;

/// A product code that is wanted. The code of dilatation catheters does not say how far a balloon gives, so its kind
/// comes from the description, or from whoever asked, or not at all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProductCode {
    /// Three capital letters.
    pub code: String,
    /// None: by the description.
    pub kind: Option<Kind>,
}

/// Coronary drug-eluting stent, coronary stent, coronary dilatation catheter (@fda-product-codes).
pub const CODES: [(&str, Option<Kind>); 3] =
    [("NIQ", Some(Kind::DrugElutingStent)), ("MAF", Some(Kind::BareMetalStent)), ("LOX", None)];

impl ProductCode {
    /// The default codes.
    pub fn all() -> Vec<ProductCode> {
        CODES.iter().map(|(code, kind)| ProductCode { code: (*code).into(), kind: *kind }).collect()
    }

    /// `NIQ`, or `ABC=covered-stent` for a code that is not among the known ones (hyphens stand for blanks). `LOX=`
    /// and a kind of balloon settles what a description leaves open.
    ///
    /// # Errors
    /// In words: no code, no kind, or an unknown one.
    pub fn parse(text: &str) -> Result<ProductCode, String> {
        let (code, kind) = match text.split_once('=') {
            Some((code, kind)) => (code.trim(), Some(kind.trim())),
            None => (text.trim(), None),
        };
        let code = code.to_ascii_uppercase();
        if code.len() != 3 || !code.bytes().all(|byte| byte.is_ascii_uppercase()) {
            return Err(format!("{text:?} is not a product code: three letters, such as NIQ"));
        }
        let known = CODES.iter().find(|(known, _)| *known == code);
        let kind = match (kind, known) {
            (Some(name), _) => {
                let kind =
                    Kind::ALL.iter().find(|kind| kind.name().replace(' ', "-") == name.replace(' ', "-"));
                let kind = kind.copied().filter(|kind| *kind != Kind::Other);
                Some(kind.ok_or_else(|| format!("{name:?} is not a kind of stent or balloon"))?)
            }
            (None, Some((_, kind))) => *kind,
            (None, None) => {
                return Err(format!("what kind of device is {code}? Write it as {code}=covered-stent"));
            }
        };
        Ok(ProductCode { code, kind })
    }
}

/// What a description says of a balloon's kind; none where it says nothing or more than one thing.
pub(super) fn balloon(description: &str) -> Option<Kind> {
    let text: String =
        description.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).collect();
    let text = format!(" {} ", text.split_whitespace().collect::<Vec<_>>().join(" "));
    let says = |words: &[&str]| words.iter().any(|word| text.contains(&format!(" {word} ")));
    let kinds = [
        (Kind::NonCompliantBalloon, says(&["non compliant", "noncompliant", "non compliance"])),
        (Kind::SemiCompliantBalloon, says(&["semi compliant", "semicompliant"])),
        (Kind::ScoringBalloon, says(&["scoring"])),
        (Kind::DrugCoatedBalloon, says(&["drug coated", "drug eluting"])),
    ];
    let mut said = kinds.into_iter().filter(|(_, said)| *said).map(|(kind, _)| kind);
    let kind = said.next()?;
    said.next().is_none().then_some(kind)
}

/// Words of a stent's description that its product code does not cover: such a device is not what the code says.
pub(super) fn strange_stent(kind: Kind, description: &str) -> Option<&'static str> {
    let text = description.to_lowercase();
    let says = |word: &str| text.contains(word);
    match kind {
        Kind::CoveredStent | Kind::BioresorbableScaffold => None,
        _ if says("covered") || says("stent graft") => Some("the description speaks of a covered stent"),
        _ if says("resorbable") || says("absorbable") => {
            Some("the description speaks of a resorbable scaffold")
        }
        Kind::BareMetalStent if says("drug-eluting") || says("drug eluting") => {
            Some("the code is a bare stent's, the description speaks of a drug")
        }
        _ => None,
    }
}
