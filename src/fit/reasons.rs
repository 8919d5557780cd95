//! Why this size, or why not: each condition of the verdict with what it compared, made on demand.

use super::facts::{Conditions, Facts, Frame, Point};
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
    Code {
        /// It is long enough.
        LengthCovers = "length.covers",
        /// It is no longer than was asked for.
        LengthWithinLimit = "length.within-limit",
        /// Its labelled diameter lies in the window.
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
        /// The guide takes it.
        GuideTakesIt = "guide.takes-it",
    }
}

/// One condition of a verdict.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reason {
    /// Which condition it is.
    pub code: Code,
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

const FILE: Source = cite!("product-file");
const NEXT_DOWN: Source = cite!("half-steps");
const TARGET: Source = cite!("lassen-2014");

impl JudgedSize {
    /// Every condition of this size's verdict, in the order in which they are asked. The catalogue, lesion and
    /// policy are those that it was judged with.
    pub fn reasons(&self, catalogue: &Catalogue, lesion: &Lesion, policy: &Policy) -> Vec<Reason> {
        let product = self.product(catalogue);
        let facts = Facts::of(product, self.place.platform as usize);
        let frame = Frame { rule: lesion.target.rule, window: policy.window, tolerance: TOLERANCE };
        let point = Point::measured(lesion);
        let conditions = facts.conditions(&frame, point);
        let mut list = List { rule: frame.rule, reasons: Vec::with_capacity(8) };
        self.length_reasons(lesion, &mut list);
        diameter_reasons(&facts, &frame, point, &conditions, &mut list);
        limit_reasons(&facts, point, &conditions, &mut list);
        if let Some(guide) = lesion.guide {
            let need = product.guide_min_id.map(|need| Bound::Number(need.inches()));
            list.add(Code::GuideTakesIt, self.guide_ok, Some(guide.inner.inches()), need, FILE);
        }
        list.reasons
    }

    fn length_reasons(&self, lesion: &Lesion, list: &mut List) {
        let (length, need) = (self.length.mm(), lesion.target.length_min.mm());
        list.add(
            Code::LengthCovers,
            Some(at_least(length, need)),
            Some(length),
            Some(Bound::Number(need)),
            length_source(lesion),
        );
        if let Some(limit) = lesion.target.limit.map(|limit| limit.mm()) {
            let holds = Some(at_most(length, limit));
            list.add(
                Code::LengthWithinLimit,
                holds,
                Some(length),
                Some(Bound::Number(limit)),
                cite!("asked-for"),
            );
        }
    }
}

struct List {
    rule: Rule,
    reasons: Vec<Reason>,
}

impl List {
    fn add(
        &mut self,
        code: Code,
        holds: Option<bool>,
        value: Option<f64>,
        bound: Option<Bound>,
        source: Source,
    ) {
        self.reasons.push(Reason { code, holds, value, bound, source, rule: self.rule });
    }
}

fn diameter_reasons(facts: &Facts, frame: &Frame, at: Point, conditions: &Conditions, list: &mut List) {
    let d = Some(facts.diameter);
    let window = Some(Bound::Pair(conditions.window));
    list.add(Code::DiameterInWindow, Some(conditions.in_window), d, window, rule_source(frame.rule));
    if conditions.in_window || !conditions.not_above {
        return;
    }
    let near = Some(Bound::Pair([at.x - frame.window.next_size_down.mm(), at.x]));
    let is_next = facts.is_next_size_down(frame, at.x);
    list.add(Code::DiameterNextSizeDown, Some(is_next), d, near, NEXT_DOWN);
    if is_next && frame.rule.rounds_up() {
        let made = facts.made_inside(frame, conditions.window);
        list.add(
            Code::DiameterNoneInWindow,
            Some(made.is_none()),
            made.or(d),
            window,
            rule_source(frame.rule),
        );
    }
}

fn limit_reasons(facts: &Facts, at: Point, conditions: &Conditions, list: &mut List) {
    let judged = at.p.is_finite();
    let lower = conditions.window[0];
    if judged {
        let bound = Some(Bound::Number(at.p));
        list.add(Code::LimitReachesTarget, conditions.limit_reaches_target, facts.limit, bound, FILE);
    }
    let bound = Some(Bound::Number(lower));
    list.add(Code::LimitReachesWindow, conditions.limit_reaches_window, facts.limit, bound, FILE);
    if conditions.limit_reaches_target.is_none() || conditions.limit_reaches_window.is_none() {
        let bound = Some(Bound::Number(at.p.max(lower)));
        list.add(Code::ExpansionLimitMissing, None, None, bound, FILE);
    }
    if !judged {
        list.add(Code::ReachNotJudged, None, None, None, TARGET);
        return;
    }
    let bound = Some(Bound::Number(at.p));
    let reach = conditions.reach.filter(|_| conditions.not_above);
    list.add(Code::BalloonReachesTarget, conditions.balloon_reaches_target, reach, bound, TARGET);
    if conditions.balloon_reaches_target.is_none() {
        list.add(Code::ChartMissing, None, None, bound, FILE);
    }
}

impl Reason {
    /// One plain line.
    pub fn in_words(&self) -> String {
        let value = self.value.map_or("?".to_string(), |value| format!("{:.2}", Figure(value)));
        let rule = self.rule.label();
        let (low, high) = match self.bound {
            Some(Bound::Number(bound)) => (bound, bound),
            Some(Bound::Pair([low, high])) => (low, high),
            None => (f64::NAN, f64::NAN),
        };
        let number = |value: Option<f64>| value.map_or("?".to_string(), plain);
        let (low, high) = (Figure(low), Figure(high));
        match (self.code, self.holds) {
            (Code::LengthCovers, Some(true)) => {
                format!("{} mm covers {} mm", number(self.value), plain(low.0))
            }
            (Code::LengthCovers, _) => {
                format!("{} mm is too short: {} mm needed", number(self.value), plain(low.0))
            }
            (Code::LengthWithinLimit, Some(true)) => {
                format!("{} mm is within the limit of {} mm", number(self.value), plain(low.0))
            }
            (Code::LengthWithinLimit, _) => {
                format!("{} mm is longer than the limit of {} mm", number(self.value), plain(low.0))
            }
            (Code::DiameterInWindow, Some(true)) => {
                format!("{value} is in the window {low:.2} to {high:.2}: in rule {rule}")
            }
            (Code::DiameterInWindow, _) if low > high => {
                format!("the window is empty, {low:.2} to {high:.2}, so {value} is not in it: in rule {rule}")
            }
            (Code::DiameterInWindow, _) => {
                let side = if self.value.is_some_and(|d| d < low.0) { "below" } else { "above" };
                format!("{value} is {side} the window {low:.2} to {high:.2}: in rule {rule}")
            }
            (Code::DiameterNextSizeDown, Some(true)) => {
                format!("{value} is the next size down from {high:.2}")
            }
            (Code::DiameterNextSizeDown, _) => {
                format!("{value} is not the next size down from {high:.2}")
            }
            (Code::DiameterNoneInWindow, Some(true)) => {
                format!("the product makes no size in the window {low:.2} to {high:.2}")
            }
            (Code::DiameterNoneInWindow, _) => {
                format!("the product makes {value}, which is in the window {low:.2} to {high:.2}")
            }
            (Code::LimitReachesTarget, Some(true)) => {
                format!("may be expanded to the proximal target {low:.2}")
            }
            (Code::LimitReachesTarget, Some(false)) => {
                format!("the proximal target {low:.2} is beyond the expansion limit {value}")
            }
            (Code::LimitReachesWindow, Some(true)) => {
                format!("may be expanded to the window's lower end {low:.2}")
            }
            (Code::LimitReachesWindow, Some(false)) => {
                format!("the window's lower end {low:.2} is beyond the expansion limit {value}")
            }
            (Code::LimitReachesTarget | Code::LimitReachesWindow, None) => {
                format!("whether it may be expanded to {low:.2} is not known")
            }
            (Code::ExpansionLimitMissing, _) => {
                format!("the file lacks the expansion limit: whether {low:.2} is allowed is not known")
            }
            (Code::BalloonReachesTarget, Some(true)) => {
                format!("its own balloon reaches the proximal target {low:.2}")
            }
            (Code::BalloonReachesTarget, Some(false)) => match self.value {
                Some(reach) => format!(
                    "its own balloon reaches {:.2}, the proximal target is {low:.2}: post-dilate the proximal part",
                    Figure(reach)
                ),
                None => format!("its own balloon does not reach the proximal target {low:.2}"),
            },
            (Code::BalloonReachesTarget, None) => {
                format!("whether its own balloon reaches {low:.2} is not known")
            }
            (Code::ChartMissing, _) => "the file lacks the pressure chart".into(),
            (Code::ReachNotJudged, _) => "reach is not judged: no proximal measure".into(),
            (Code::GuideTakesIt, Some(true)) => {
                format!(
                    "the guide takes it: {} in, {} in needed",
                    thousandths(self.value),
                    thousandths(Some(low.0))
                )
            }
            (Code::GuideTakesIt, Some(false)) => format!(
                "needs a larger guide: {} in in use, {} in needed",
                thousandths(self.value),
                thousandths(Some(low.0))
            ),
            (Code::GuideTakesIt, None) => "the file does not say which guide takes it".into(),
        }
    }
}

/// Bores are told in thousandths of an inch.
fn thousandths(inches: Option<f64>) -> String {
    inches.map_or("?".to_string(), |value| format!("{:.3}", Figure(value)))
}

/// In as few words as a cell's headline takes: the first condition that decides.
pub(super) fn short(verdict: Verdict, reasons: &[Reason]) -> String {
    let fails = |code: Code| reasons.iter().any(|r| r.code == code && r.holds == Some(false));
    let lacks = |code: Code| reasons.iter().any(|r| r.code == code);
    let above = reasons.iter().any(|r| match (r.code, r.value, r.bound) {
        (Code::DiameterInWindow, Some(d), Some(Bound::Pair([_, high]))) => !at_most(d, high),
        _ => false,
    });
    match verdict {
        Verdict::Fits => "fits".into(),
        Verdict::FitsAfterPostDilatation => "fits after post-dilatation".into(),
        Verdict::Undersized => "undersized: below the window".into(),
        Verdict::Unknown if lacks(Code::ExpansionLimitMissing) => "unknown: expansion limit missing".into(),
        Verdict::Unknown => "unknown: pressure chart missing".into(),
        Verdict::No if fails(Code::LengthCovers) => "no: too short".into(),
        Verdict::No if fails(Code::LengthWithinLimit) => "no: longer than the limit".into(),
        Verdict::No if above => "no: above the window".into(),
        Verdict::No => "no: beyond the expansion limit".into(),
    }
}
