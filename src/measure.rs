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
            $($(#[$item_doc])* #[doc = concat!("\n\nIn files: `", $word, "`.")] #[serde(rename = $word)] $item),+
        }

        impl $name {
            /// Every value, in the order of the list.
            pub const ALL: &'static [$name] = &[$($name::$item),+];
            /// Their words, in the same order.
            pub const NAMES: &'static [&'static str] = &[$($word),+];

            /// Its word in files, in JSON and on the command line.
            pub const fn name(self) -> &'static str {
                match self { $($name::$item => $word),+ }
            }

            /// None where no value has this word.
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
        /// The inside of the vessel.
        Lumen = "lumen",
        /// External elastic membrane, also called EEL.
        Eem = "eem",
    }
}

words! {
    /// Which rule turns the measures into a window of labelled diameters. Their sources are cited in `policy`.
    Rule {
        /// Rounds down from the distal EEM.
        DistalEem = "distal-eem",
        /// Rounds down from the smaller of both EEM.
        SmallerEem = "smaller-eem",
        /// Rounds up from the distal lumen.
        DistalLumen = "distal-lumen",
        /// Rounds up from the mean of both lumens.
        MeanLumen = "mean-lumen",
        /// 1.0 to 1.1 of the angiographic reference.
        ReferenceDiameter = "reference-diameter",
    }
}

impl Rule {
    /// The border whose diameters the rule reads.
    pub const fn border(self) -> Border {
        match self {
            Rule::DistalEem | Rule::SmallerEem => Border::Eem,
            Rule::DistalLumen | Rule::MeanLumen | Rule::ReferenceDiameter => Border::Lumen,
        }
    }

    /// The rule as it is said on the screens: `distal-EEM`.
    pub const fn label(self) -> &'static str {
        match self {
            Rule::DistalEem => "distal-EEM",
            Rule::SmallerEem => "smaller-EEM",
            Rule::DistalLumen => "distal-lumen",
            Rule::MeanLumen => "mean-lumen",
            Rule::ReferenceDiameter => "reference-diameter",
        }
    }

    /// What the rule aims at, as it is said.
    pub const fn aims_at(self) -> &'static str {
        match self {
            Rule::DistalEem => "distal EEM",
            Rule::SmallerEem => "smaller EEM",
            Rule::DistalLumen => "distal lumen",
            Rule::MeanLumen => "mean lumen",
            Rule::ReferenceDiameter => "reference diameter",
        }
    }

    /// Rounds up from the lumen; the rules on the EEM round down.
    pub const fn rounds_up(self) -> bool {
        matches!(self.border(), Border::Lumen)
    }
}

words! {
    /// How the diameters of a bifurcation depend on each other: mother D0, daughters D1 and D2. The arithmetic is in
    /// `lesion::law`.
    Law {
        /// D0³ = D1³ + D2³.
        Murray = "murray",
        /// D0 = 0.678 (D1 + D2).
        Finet = "finet",
        /// D0^(7/3) = D1^(7/3) + D2^(7/3).
        HuoKassab = "huo-kassab",
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

    /// A balloon of any kind; none stays in the vessel.
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
        /// At an ostium.
        Ostial = "ostial",
        /// In the left main.
        LeftMain = "left-main",
        /// Inside an earlier stent.
        InStent = "in-stent",
        /// In a bypass graft.
        Graft = "graft",
        /// The vessel was closed.
        Occlusion = "occlusion",
        /// In an acute infarction.
        Acute = "acute",
    }
}

words! {
    /// Which coronary artery supplies the posterior descending artery.
    Dominance {
        /// The right one, as in most people.
        Right = "right",
        /// The circumflex.
        Left = "left",
    }
}

words! {
    /// Every caution there is. Stable: other programs read the words.
    CautionCode {
        ChartInWater = "chart.in-water",
        TargetAboveExpansionLimit = "target.above-expansion-limit",
        TargetAboveVessel = "target.above-vessel",
        BalloonsNoneOfKind = "balloons.none-of-kind",
        BalloonsAllTooLong = "balloons.all-too-long",
        BalloonsNoneReaches = "balloons.none-reaches",
        DiameterAboveLumen = "diameter.above-1.3-lumen",
        SpanJoinedOnAvoided = "span.joined-on-avoided",
        LandingZonePlaqueBurden = "landing-zone-plaque-burden",
        ProximalByLaw = "proximal-by-law",
        BranchOstium = "branch-ostium",
        LengthShort = "length.short",
        DiameterTwoFarApart = "diameter.two-far-apart",
        DiameterSmallVessel = "diameter.small-vessel",
        RuleSmallerEemTakesIt = "rule.smaller-eem-takes-it",
        AreasLookLikeDiameters = "areas.look-like-diameters",
        ReferencesTaper = "references.taper",
        SpanPlacedLeavesNothing = "span.placed-leaves-nothing",
        WindowUpperBelowLower = "window.upper-below-lower",
        ReachNotJudged = "reach.not-judged",
        ProximalSmallerLumen = "proximal.smaller-lumen",
        ProximalSmallerEem = "proximal.smaller-eem",
        TaperDifferenceLumen = "taper.difference-lumen",
        TaperDifferenceEem = "taper.difference-eem",
        TaperRatioLumen = "taper.ratio-lumen",
        TaperRatioEem = "taper.ratio-eem",
        SegmentLumenOutsideBand = "segment.lumen-outside-band",
        SiteOstial = "site.ostial",
        SiteLeftMain = "site.left-main",
        SiteInStent = "site.in-stent",
        SiteGraft = "site.graft",
        SiteOcclusion = "site.occlusion",
        SiteAcute = "site.acute",
        DateInDoubt = "date-in-doubt",
        StillRecalled = "still-recalled",
        ReceivedBefore = "received-before",
        SerialThere = "serial-there",
        NewPlace = "new-place",
        Recalled = "recalled",
        Expired = "expired",
        UnknownIdentifier = "unknown-identifier",
        SerialCount = "serial-count",
        SerialTwice = "serial-twice",
    }
}

/// Something to be told that stops nothing. In JSON `{"code","message"}`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Caution {
    /// By which a program knows it.
    pub code: CautionCode,
    /// In words.
    pub message: String,
}

impl Caution {
    /// A caution of this code, in these words.
    pub fn new(code: CautionCode, message: impl Into<String>) -> Self {
        Caution { code, message: message.into() }
    }
}
