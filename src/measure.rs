//! Method, border, kind of device, rule, site: the small words that everybody needs.
//!
//! Invariant: knows `units` only; words and nothing that is computed from them. Pure.

use serde::{Deserialize, Serialize};

/// A closed list of words: each value has one name, in files, in JSON and on the command line.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$item_doc:meta])* $item:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, ::serde::Serialize, ::serde::Deserialize)]
        pub enum $name {
            $($(#[$item_doc])* #[serde(rename = $word)] $item),+
        }

        impl $name {
            pub const ALL: &'static [$name] = &[$($name::$item),+];
            pub const NAMES: &'static [&'static str] = &[$($word),+];

            pub const fn name(self) -> &'static str {
                match self { $($name::$item => $word),+ }
            }

            pub fn from_name(name: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|word| word.name() == name)
            }
        }

        impl ::std::fmt::Display for $name {
            fn fmt(&self, f: &mut ::std::fmt::Formatter) -> ::std::fmt::Result {
                f.pad(self.name())
            }
        }

        impl ::std::str::FromStr for $name {
            type Err = String;

            fn from_str(name: &str) -> Result<Self, String> {
                Self::from_name(name).ok_or_else(|| format!("{name:?} is none of {}", Self::NAMES.join(", ")))
            }
        }
    };
}
pub(crate) use words;

words! {
    /// How the vessel was measured.
    Method {
        /// By eye on the angiogram.
        Angiography = "angiography",
        /// Quantitative coronary angiography.
        Qca = "qca",
        /// Intravascular ultrasound.
        Ivus = "ivus",
        /// Optical coherence tomography.
        Oct = "oct",
    }
}

impl Method {
    /// An angiogram shows the lumen only; inside the vessel the external elastic membrane is seen too.
    pub const fn shows_eem(self) -> bool {
        matches!(self, Method::Ivus | Method::Oct)
    }

    /// What the length that is typed in means: the lesion's, or the distance between the landing zones.
    pub const fn length_is(self) -> &'static str {
        if self.shows_eem() { "landing zone to landing zone" } else { "lesion length" }
    }

    /// The same in the words of a field.
    pub const fn length_field(self) -> &'static str {
        if self.shows_eem() { "landing zones" } else { "lesion length" }
    }

    /// The method as people write it.
    pub const fn label(self) -> &'static str {
        match self {
            Method::Angiography => "angiography",
            Method::Qca => "QCA",
            Method::Ivus => "IVUS",
            Method::Oct => "OCT",
        }
    }
}

words! {
    /// The border that a diameter was measured to.
    Border {
        Lumen = "lumen",
        /// External elastic membrane, also called EEL.
        Eem = "eem",
    }
}

words! {
    /// Which rule turns the measures into a window of labelled diameters. Sources stand in `policy`.
    Rule {
        DistalEem = "distal-eem",
        SmallerEem = "smaller-eem",
        DistalLumen = "distal-lumen",
        MeanLumen = "mean-lumen",
        ReferenceDiameter = "reference-diameter",
    }
}

impl Rule {
    pub const fn border(self) -> Border {
        match self {
            Rule::DistalEem | Rule::SmallerEem => Border::Eem,
            Rule::DistalLumen | Rule::MeanLumen | Rule::ReferenceDiameter => Border::Lumen,
        }
    }

    /// Rounds up from the lumen; the rules on the EEM round down.
    pub const fn rounds_up(self) -> bool {
        matches!(self.border(), Border::Lumen)
    }
}

words! {
    /// What kind of device a product is.
    Kind {
        DrugElutingStent = "drug-eluting stent",
        BareMetalStent = "bare-metal stent",
        CoveredStent = "covered stent",
        BioresorbableScaffold = "bioresorbable scaffold",
        SemiCompliantBalloon = "semi-compliant balloon",
        NonCompliantBalloon = "non-compliant balloon",
        ScoringBalloon = "scoring balloon",
        DrugCoatedBalloon = "drug-coated balloon",
        /// Wires, guides, extensions: a name, a REF and an identifier; never judged.
        Other = "other",
    }
}

impl Kind {
    /// Stays in the vessel.
    pub const fn is_stent(self) -> bool {
        matches!(
            self,
            Kind::DrugElutingStent | Kind::BareMetalStent | Kind::CoveredStent | Kind::BioresorbableScaffold
        )
    }

    pub const fn is_balloon(self) -> bool {
        matches!(
            self,
            Kind::SemiCompliantBalloon
                | Kind::NonCompliantBalloon
                | Kind::ScoringBalloon
                | Kind::DrugCoatedBalloon
        )
    }
}

words! {
    /// A circumstance of the lesion that adds a caution; ostial adds a millimetre at the proximal end too.
    Site {
        Ostial = "ostial",
        LeftMain = "left-main",
        InStent = "in-stent",
        Graft = "graft",
        Occlusion = "occlusion",
        Acute = "acute",
    }
}

words! {
    /// Which coronary artery supplies the posterior descending artery.
    Dominance { Right = "right", Left = "left" }
}

/// Something to be told that stops nothing. In JSON `{"code","message"}`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Caution {
    pub code: String,
    pub message: String,
}

impl Caution {
    pub fn new(code: &str, message: impl Into<String>) -> Self {
        Caution { code: code.into(), message: message.into() }
    }
}
