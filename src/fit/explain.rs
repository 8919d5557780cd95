//! The arithmetic of one verdict as a person would write it on paper, each source once at the end.

use super::reasons::rule_source;
use super::{JudgedSize, Judgement};
use crate::catalogue::Catalogue;
use crate::lesion::Lesion;
use crate::lesion::sides::sides;
use crate::lesion::target::{closed_by_proximal, ends};
use crate::measure::Rule;
use crate::policy::Policy;
use crate::sources::Source;
use crate::units::{Figure, plain};

/// Sources in the order in which they are first cited.
#[derive(Default)]
struct Sources(Vec<Source>);

impl Sources {
    /// The mark of a source, numbered from 1; the same source keeps its number.
    fn mark(&mut self, source: Source) -> String {
        let known = self.0.iter().position(|known| *known == source);
        let place = known.unwrap_or_else(|| {
            self.0.push(source);
            self.0.len() - 1
        });
        format!("[{}]", place + 1)
    }
}

/// The whole arithmetic of one size's verdict, in lines. Judgement, catalogue, lesion and policy are those that
/// the size was judged with. Diameters and lengths in mm.
pub fn explain(
    size: &JudgedSize,
    judgement: &Judgement,
    catalogue: &Catalogue,
    lesion: &Lesion,
    policy: &Policy,
) -> String {
    let mut sources = Sources::default();
    let product = &size.product(catalogue).name;
    let mut lines =
        vec![format!("{} × {}  {product} ({})", size.diameter, size.length, size.pack(catalogue).reference)];
    lines.extend(window(lesion, policy, &mut sources));
    lines.push(length(lesion));
    if let Some(target) = lesion.target.proximal_target {
        lines.push(format!("Proximal target: {target}"));
    }
    for reason in size.reasons(catalogue, lesion, policy) {
        let lead = reason.lead(size.verdict);
        lines.push(format!("{lead}: {} {}", reason.in_words(), sources.mark(reason.source)));
    }
    lines.push(format!("So: {}", size.verdict.words()));
    if let Some(doubt) = size.doubt(judgement, catalogue, lesion, policy) {
        lines.push(format!("Doubt: {doubt}"));
    }
    lines.push("Findings that pull against each other:".into());
    for [one, other] in sides(lesion.target.rule, lesion.method) {
        lines.push(format!("- {one}"));
        lines.push(format!("  {other}"));
    }
    lines.push("Sources:".into());
    lines.extend(
        sources.0.iter().enumerate().map(|(index, source)| format!("[{}] {}", index + 1, source.full())),
    );
    lines.join("\n")
}

/// How the measures become the window, a line a step.
fn window(lesion: &Lesion, policy: &Policy, sources: &mut Sources) -> Vec<String> {
    let target = &lesion.target;
    let (rule, distal, aim) = (target.rule, target.distal, target.aim);
    let mark = sources.mark(rule_source(rule));
    let aimed = match (rule, target.proximal) {
        (Rule::MeanLumen, Some(proximal)) => format!("({distal} + {proximal}) / 2 = {aim}"),
        (Rule::SmallerEem, Some(proximal)) => format!("the smaller of {distal} and {proximal} = {aim}"),
        _ => format!("distal measure {aim}"),
    };
    let step = policy.window.step;
    let [low, high] = ends(rule, &policy.window, aim.mm()).map(Figure);
    let ends_of = match rule {
        Rule::DistalEem | Rule::SmallerEem => format!("{aim} - {step} = {low:.2}, up to {high:.2}"),
        Rule::DistalLumen | Rule::MeanLumen => format!("{low:.2}, up to {aim} + {step} = {high:.2}"),
        Rule::ReferenceDiameter => {
            let [least, most] = policy.window.ratio;
            format!("{} × {aim} = {low:.2}, up to {} × {aim} = {high:.2}", plain(least), plain(most))
        }
    };
    let mut lines = vec![
        format!("Rule {} {mark}: {aimed}", rule.label()),
        format!("Labelled diameter: {ends_of} {mark}"),
    ];
    if let Some(proximal) = target.proximal.filter(|_| closed_by_proximal(rule)) {
        let above = Figure(ends(rule, &policy.window, proximal.mm())[1]);
        let closed = target.window[1];
        lines.push(format!(
            "The proximal measure {proximal} allows {above:.2}: the smaller of {high:.2} and {above:.2} = {closed}"
        ));
    }
    lines
}

fn length(lesion: &Lesion) -> String {
    let target = &lesion.target;
    let [distal, proximal] = target.margins;
    let least = target.length_min;
    format!("Length: {} + {distal} + {proximal} = {least}", target.lesion)
}
