//! Why this size, or why not: each condition of the verdict with what it compared, made on demand.

use super::facts::{Conditions, Facts, Frame, Point};
use super::judge::{is_above_lumen, largest_for_lumen};
use super::{JudgedSize, Verdict};
use crate::catalogue::Catalogue;
use crate::lesion::Lesion;
use crate::measure::{Rule, Site, words};
use crate::policy::Policy;
use crate::sources::{Source, cite};
use crate::units::{Figure, TOLERANCE, at_least, at_most, plain};
use serde::Serialize;

words! {
    /// What a reason is about. Stable: other programs read it.
    ReasonCode {
        /// It is long enough.
        LengthCovers = "length.covers",
        /// It is no longer than was asked for.
        LengthWithinLimit = "length.within-limit",
        /// Its labelled diameter is in the window.
        DiameterInWindow = "diameter.in-window",
        /// It is the next size down.
        DiameterNextSizeDown = "diameter.next-size-down",
        /// Its product makes no size in the window.
        DiameterNoneInWindow = "diameter.none-in-window",
        /// It may be expanded to the proximal target.
        LimitReachesTarget = "limit.reaches-target",
        /// It may be expanded to the lower end of the window.
        LimitReachesWindow = "limit.reaches-window",
        /// Its file lacks the expansion limit.
        ExpansionLimitMissing = "fact.expansion-limit-missing",
        /// Its file lacks the pressure chart.
        ChartMissing = "fact.chart-missing",
        /// There is no proximal measure.
        ReachNotJudged = "reach.not-judged",
        /// Its own balloon reaches the proximal target.
        BalloonReachesTarget = "balloon.reaches-target",
        /// The target is the expansion limit: the vessel's own is beyond it, and its lumen is not.
        TargetAtLimit = "target.at-limit",
        /// The target is smaller than the proximal lumen.
        TargetUnderLumen = "target.under-lumen",
        /// Its labelled diameter is smaller than the distal lumen.
        DiameterUnderLumen = "diameter.under-lumen",
        /// Its labelled diameter is above 1.3 times the distal lumen.
        DiameterOverLumen = "diameter.over-lumen",
        /// The two ends differ by more than a platform may bridge, along a long lesion or one with a side branch.
        VesselTapers = "vessel.tapers",
        /// The guide takes it.
        GuideTakesIt = "guide.takes-it",
    }
}

/// How the figures of a reason are written.
#[derive(Clone, Copy, PartialEq)]
enum Unit {
    /// In mm, two decimals.
    Diameter,
    /// In mm.
    Length,
    /// In thousandths of an inch.
    Bore,
}

/// Where a condition comes from.
#[derive(Clone, Copy)]
enum Basis {
    /// The rule in force.
    Rule,
    /// How the length was measured, and where the lesion is.
    Length,
    /// Always the same.
    Of(Source),
}

/// All that is said of one condition.
struct ReasonRow {
    /// One line each: it holds, it does not, it is not known. Empty where that can't be. In braces the figures of
    /// the reason: see [`Reason::filled`].
    words: [&'static str; 3],
    /// Behind the verdict, in a headline.
    short: &'static str,
    unit: Unit,
    basis: Basis,
    /// The verdict to which it leads where it does not hold, or is not known. None: it informs, and decides nothing.
    leads_to: Option<Verdict>,
}

impl ReasonCode {
    /// The one table of reasons: unit, basis, the verdict that it leads to; in short; it holds, it does not, it is not
    /// known.
    #[rustfmt::skip]
    const fn row(self) -> ReasonRow {
        use Verdict::{FitsAfterPostDilatation, No, Undersized, Unknown};
        const FILE: Basis = Basis::Of(cite!("product-file"));
        const ASKED: Basis = Basis::Of(cite!("asked-for"));
        const STEPS: Basis = Basis::Of(cite!("half-steps"));
        const PROXIMAL: Basis = Basis::Of(cite!("lassen-2014"));
        let (unit, basis, leads_to, short, words) = match self {
            ReasonCode::LengthCovers => (Unit::Length, Basis::Length, Some(No), "too short", [
                "{value} mm covers {high} mm, {spare} to spare",
                "too short: {value} mm, and {high} mm are needed", ""]),
            ReasonCode::LengthWithinLimit => (Unit::Length, ASKED, Some(No), "longer than the limit", [
                "{value} mm is within the limit of {high} mm",
                "too long: {value} mm, and {high} mm at most were asked for", ""]),
            // Above the window it leads to a no: see `leads_to`.
            ReasonCode::DiameterInWindow => (Unit::Diameter, Basis::Rule, Some(Undersized), "{side} the window", [
                "{value} lies in {window} by {rule}", "{value} lies {side} {window} by {rule}", ""]),
            ReasonCode::DiameterNextSizeDown => (Unit::Diameter, STEPS, Some(Undersized), "not the next size down", [
                "{value} is the next size down from {high} by {rule}",
                "{value} is not the next size down from {high}", ""]),
            ReasonCode::DiameterNoneInWindow => (Unit::Diameter, Basis::Rule, Some(Undersized), "a larger one is made", [
                "the product makes no size in {window}",
                "the product makes {value}, which lies in {window}", ""]),
            ReasonCode::LimitReachesTarget => (Unit::Diameter, FILE, Some(No), "beyond the expansion limit", [
                "may be expanded to the proximal target {high}",
                "may be expanded to {value} at most, and the proximal end wants {high}",
                "whether it may be expanded to {high} is not known"]),
            ReasonCode::LimitReachesWindow => (Unit::Diameter, FILE, Some(No), "beyond the expansion limit", [
                "may be expanded to the window's lower end {high}",
                "may be expanded to {value} at most, and the distal end wants {high}",
                "whether it may be expanded to {high} is not known"]),
            ReasonCode::ExpansionLimitMissing => (Unit::Diameter, FILE, Some(Unknown), "expansion limit missing", [
                "", "", "its file lacks the expansion limit, and {high} is wanted"]),
            ReasonCode::ChartMissing => (Unit::Diameter, FILE, Some(Unknown), "pressure chart missing", [
                "", "", "its file lacks the chart: whether its balloon gives {high} is not known"]),
            ReasonCode::ReachNotJudged => (Unit::Diameter, PROXIMAL, None, "reach not judged", [
                "", "", "reach is not judged: no proximal measure"]),
            ReasonCode::BalloonReachesTarget => (Unit::Diameter, PROXIMAL, Some(FitsAfterPostDilatation), "past its balloon", [
                "its own balloon reaches the proximal target {high}",
                "{value} by its balloon, {high} at the proximal end by post-dilatation",
                "whether its own balloon reaches {high} is not known"]),
            ReasonCode::TargetAtLimit => (Unit::Diameter, FILE, None, "expanded to its limit", [
                "the vessel asks for {high}: {value}, its expansion limit, which the proximal lumen is not beyond", "", ""]),
            ReasonCode::TargetUnderLumen => (Unit::Diameter, PROXIMAL, None, "under the proximal lumen", [
                "", "the proximal target {value} is smaller than the proximal lumen {high}", ""]),
            ReasonCode::DiameterUnderLumen => (Unit::Diameter, Basis::Rule, None, "under the distal lumen", [
                "", "{value} is smaller than the distal lumen {high}", ""]),
            ReasonCode::DiameterOverLumen => (Unit::Diameter, Basis::Of(cite!("costa-2008")), None, "large for the lumen", [
                "", "{value} is above {high}, 1.3 times the distal lumen", ""]),
            ReasonCode::VesselTapers => (Unit::Diameter, Basis::Of(cite!("design-choice")), None, "the vessel tapers", [
                "", "the ends differ by {value}: its expansion limit says whether one device reaches both", ""]),
            ReasonCode::GuideTakesIt => (Unit::Bore, FILE, None, "needs a larger guide", [
                "the guide takes it: {value} in, {high} in needed",
                "needs a larger guide: {value} in in use, {high} in needed",
                "the file does not say which guide takes it"]),
        };
        ReasonRow { words, short, unit, basis, leads_to }
    }
}

/// One condition of a verdict.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reason {
    /// Which condition it is.
    pub code: ReasonCode,
    /// None: not judged, or not known.
    pub holds: Option<bool>,
    /// In mm, for a guide in inches. None: not known.
    pub value: Option<f64>,
    /// What the value is compared with, in the same unit. None: not known.
    pub bound: Option<Bound>,
    /// Paper, standard, or that there is none.
    pub source: Source,
    /// For the words.
    #[serde(skip)]
    pub rule: Rule,
}

/// What a value is compared with: a number, or the two ends of a range.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Bound {
    /// An end that the value must reach or stay below.
    Number(f64),
    /// Both ends, included.
    Pair([f64; 2]),
}

/// The source of a rule's window.
pub const fn rule_source(rule: Rule) -> Source {
    match rule {
        Rule::DistalEem | Rule::MeanLumen => cite!("raber-2018"),
        Rule::SmallerEem => cite!("ilumien-iii"),
        Rule::DistalLumen => cite!("kubo-2017"),
        Rule::ReferenceDiameter => cite!("textbook-ratio"),
    }
}

fn length_source(lesion: &Lesion) -> Source {
    if lesion.sites.contains(&Site::Ostial) {
        cite!("ostial-practice")
    } else if lesion.method.shows_eem() {
        cite!("raber-2018")
    } else {
        cite!("cci-2015")
    }
}

impl JudgedSize {
    /// Every condition of this size's verdict, in the order in which they are asked. The catalogue, lesion and
    /// policy are those that it was judged with.
    pub fn reasons(&self, catalogue: &Catalogue, lesion: &Lesion, policy: &Policy) -> Vec<Reason> {
        let product = self.product(catalogue);
        let facts = Facts::of(product, self.place.platform as usize);
        let frame = Frame { rule: lesion.target.rule, window: policy.window, tolerance: TOLERANCE };
        let point = Point::measured(lesion);
        let conditions = facts.conditions(&frame, point);
        let mut list =
            List { rule: frame.rule, length: length_source(lesion), reasons: Vec::with_capacity(8) };
        self.length_reasons(lesion, &mut list);
        diameter_reasons(&facts, &frame, point, &conditions, &mut list);
        limit_reasons(&facts, point, &conditions, &mut list);
        lumen_reasons(facts.diameter, lesion, &conditions, &mut list);
        if let Some(guide) = lesion.guide {
            let need = product.guide_min_id.map(|need| Bound::Number(need.inches()));
            list.add(ReasonCode::GuideTakesIt, self.guide_ok, Some(guide.inner.inches()), need);
        }
        list.reasons
    }

    /// The conditions that keep a size from fitting; none where it fits.
    pub fn fails(&self, catalogue: &Catalogue, lesion: &Lesion, policy: &Policy) -> Vec<Reason> {
        let mut reasons = self.reasons(catalogue, lesion, policy);
        reasons.retain(|reason| {
            !self.verdict.is_fit() && reason.leads_to().is_some_and(|verdict| !verdict.is_fit())
        });
        reasons
    }

    fn length_reasons(&self, lesion: &Lesion, list: &mut List) {
        let (length, need) = (self.length.mm(), lesion.target.length_min.mm());
        let holds = Some(at_least(length, need));
        list.add(ReasonCode::LengthCovers, holds, Some(length), Some(Bound::Number(need)));
        if let Some(limit) = lesion.target.limit.map(|limit| limit.mm()) {
            let holds = Some(at_most(length, limit));
            list.add(ReasonCode::LengthWithinLimit, holds, Some(length), Some(Bound::Number(limit)));
        }
    }
}

struct List {
    rule: Rule,
    /// The source of the length.
    length: Source,
    reasons: Vec<Reason>,
}

impl List {
    fn add(&mut self, code: ReasonCode, holds: Option<bool>, value: Option<f64>, bound: Option<Bound>) {
        let source = match code.row().basis {
            Basis::Rule => rule_source(self.rule),
            Basis::Length => self.length,
            Basis::Of(source) => source,
        };
        self.reasons.push(Reason { code, holds, value, bound, source, rule: self.rule });
    }
}

fn diameter_reasons(facts: &Facts, frame: &Frame, at: Point, conditions: &Conditions, list: &mut List) {
    let d = Some(facts.diameter);
    let window = Some(Bound::Pair(conditions.window));
    list.add(ReasonCode::DiameterInWindow, Some(conditions.in_window), d, window);
    if conditions.in_window || !conditions.not_above {
        return;
    }
    let near = Some(Bound::Pair([at.x - frame.window.next_size_down.mm(), at.x]));
    let is_next = facts.is_next_size_down(frame, at.x);
    list.add(ReasonCode::DiameterNextSizeDown, Some(is_next), d, near);
    if is_next && frame.rule.rounds_up() {
        let made = facts.made_inside(frame, conditions.window);
        list.add(ReasonCode::DiameterNoneInWindow, Some(made.is_none()), made.or(d), window);
    }
}

/// What a lumen says beside the rule, where one was measured; and a long taper. None of it changes the verdict.
fn lumen_reasons(diameter: f64, lesion: &Lesion, conditions: &Conditions, list: &mut List) {
    if let Some(lumen) = lesion.distal_lumen.map(|lumen| lumen.mm()) {
        if is_above_lumen(diameter, lumen) {
            let bound = Some(Bound::Number(largest_for_lumen(lumen)));
            list.add(ReasonCode::DiameterOverLumen, Some(false), Some(diameter), bound);
        }
        if !at_least(diameter, lumen) {
            list.add(ReasonCode::DiameterUnderLumen, Some(false), Some(diameter), Some(Bound::Number(lumen)));
        }
    }
    let target = Some(conditions.target).filter(|target| target.is_finite());
    if let (Some(target), Some(lumen)) = (target, lesion.proximal_lumen.map(|lumen| lumen.mm()))
        && !at_least(target, lumen)
    {
        list.add(ReasonCode::TargetUnderLumen, Some(false), Some(target), Some(Bound::Number(lumen)));
    }
    if let Some(differs) = lesion.tapers() {
        list.add(ReasonCode::VesselTapers, Some(false), Some(differs.mm()), None);
    }
}

fn limit_reasons(facts: &Facts, at: Point, conditions: &Conditions, list: &mut List) {
    let target = conditions.target;
    let judged = target.is_finite();
    let lower = conditions.window[0];
    if conditions.target_at_limit {
        list.add(ReasonCode::TargetAtLimit, Some(true), Some(target), Some(Bound::Number(at.p)));
    }
    if judged {
        let bound = Some(Bound::Number(target));
        list.add(ReasonCode::LimitReachesTarget, conditions.limit_reaches_target, facts.limit, bound);
    }
    let bound = Some(Bound::Number(lower));
    list.add(ReasonCode::LimitReachesWindow, conditions.limit_reaches_window, facts.limit, bound);
    if conditions.limit_reaches_target.is_none() || conditions.limit_reaches_window.is_none() {
        let bound = Some(Bound::Number(target.max(lower)));
        list.add(ReasonCode::ExpansionLimitMissing, None, None, bound);
    }
    if !judged {
        list.add(ReasonCode::ReachNotJudged, None, None, None);
        return;
    }
    let bound = Some(Bound::Number(target));
    let reach = conditions.reach.filter(|_| conditions.not_above);
    list.add(ReasonCode::BalloonReachesTarget, conditions.balloon_reaches_target, reach, bound);
    if conditions.balloon_reaches_target.is_none() {
        list.add(ReasonCode::ChartMissing, None, None, bound);
    }
}

impl Reason {
    /// One plain line.
    pub fn in_words(&self) -> String {
        let [holds, fails, not_known] = self.code.row().words;
        self.filled(match self.holds {
            Some(true) => holds,
            Some(false) => fails,
            None => not_known,
        })
    }

    /// As little as a headline takes, behind the verdict to which it leads.
    pub(super) fn in_short(&self) -> String {
        self.filled(self.code.row().short)
    }

    /// The verdict to which it leads, standing as it does. None: it holds, is not known where another reason says so,
    /// or only informs.
    pub(super) fn leads_to(&self) -> Option<Verdict> {
        let verdict = self.code.row().leads_to?;
        match self.holds {
            Some(true) => None,
            Some(false) if self.code == ReasonCode::DiameterInWindow && self.is_above() => Some(Verdict::No),
            Some(false) => Some(verdict),
            None => (verdict == Verdict::Unknown).then_some(verdict),
        }
    }

    /// What is before its line where the verdict is this: only what leads to a verdict that is not a fit says no.
    pub(super) fn lead(&self, verdict: Verdict) -> &'static str {
        let refuses = !verdict.is_fit() && self.leads_to() == Some(verdict);
        match self.holds {
            Some(true) => "yes",
            Some(false) if refuses => "no",
            None if refuses => "not known",
            _ => "note",
        }
    }

    fn ends(&self) -> [f64; 2] {
        match self.bound {
            Some(Bound::Number(bound)) => [bound; 2],
            Some(Bound::Pair(ends)) => ends,
            None => [f64::NAN; 2],
        }
    }

    fn is_above(&self) -> bool {
        self.value.is_some_and(|value| !at_most(value, self.ends()[1]))
    }

    /// A text with the figures in the place of their names in braces.
    fn filled(&self, text: &str) -> String {
        let [low, high] = self.ends();
        let figure = |value: f64| match self.code.row().unit {
            Unit::Diameter => format!("{:.2}", Figure(value)),
            Unit::Length => plain(value),
            Unit::Bore => format!("{:.3}", Figure(value)),
        };
        let empty = if low > high { ", which is empty," } else { "" };
        // A balloon without a chart that can't reach the target all the same.
        let value = self.value.map_or("too little".into(), figure);
        [
            ("{window}", format!("{} to {}{empty}", figure(low), figure(high))),
            ("{value}", value),
            ("{high}", figure(high)),
            ("{spare}", figure(self.value.unwrap_or(high) - high)),
            ("{side}", if self.is_above() { "above" } else { "below" }.into()),
            ("{rule}", self.rule.label().into()),
        ]
        .iter()
        .fold(text.into(), |text: String, (name, figure)| text.replace(name, figure))
    }
}

/// A verdict in as few words as a cell's headline takes: with the first reason that leads to it where it is not a fit.
pub(super) fn headline(verdict: Verdict, reasons: &[Reason]) -> String {
    let leading = reasons.iter().find(|reason| reason.leads_to() == Some(verdict));
    match leading.filter(|_| !verdict.is_fit()) {
        Some(reason) => format!("{verdict}: {}", reason.in_short()),
        None => verdict.words().into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whatever is known of a reason, its line is whole; and only a verdict that is not a fit is led to by a no.
    #[test]
    fn every_reason_has_its_words() {
        for &code in ReasonCode::ALL {
            let mut lines = 0;
            for holds in [Some(true), Some(false), None] {
                let (rule, source) = (Rule::DistalEem, cite!("product-file"));
                let bound = Some(Bound::Pair([2.75, 3.0]));
                let reason = Reason { code, holds, value: Some(3.5), bound, source, rule };
                let texts = [reason.in_words(), reason.in_short()];
                assert!(texts.iter().all(|text| !text.contains(['{', '}', '?'])), "{code}: {texts:?}");
                lines += usize::from(!texts[0].is_empty());
                for verdict in Verdict::ALL.iter().filter(|verdict| verdict.is_fit()) {
                    assert!(["yes", "note"].contains(&reason.lead(*verdict)), "{code}: {verdict}");
                }
            }
            assert!(lines >= 1, "{code}");
        }
    }
}
