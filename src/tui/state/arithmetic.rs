//! The whole arithmetic of one verdict, one key away from the two lines that say why.

use super::{Effect, Overlay, State};
use crate::fit;
use crate::tui::keys::Action;

/// A text that is read from top to bottom.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Arithmetic {
    pub title: String,
    pub lines: Vec<String>,
    pub scroll: usize,
}

impl State {
    /// Of the box under the cursor; of the lesion alone where no cursor stands on a box.
    pub(super) fn open_arithmetic(&mut self) {
        let sizes = &self.sizes;
        let Some((lesion, judgement)) = sizes.lesion.as_ref().zip(sizes.judgement.as_ref()) else {
            self.say("Nothing is measured, so nothing is judged".to_string());
            return;
        };
        let (catalogue, policy) = (&self.world.catalogue, &self.world.policy);
        let boxed = sizes.box_here().and_then(|boxed| boxed.judged).and_then(|at| judgement.sizes.get(at));
        let mut lines: Vec<String> = Vec::new();
        let title = match boxed {
            Some(size) => {
                lines.extend(
                    fit::explain(size, judgement, catalogue, lesion, policy).lines().map(String::from),
                );
                if let Some(atm) = size.deploy {
                    lines.insert(1, format!("Deployment pressure {atm} atm by its chart, in water"));
                }
                lines.extend(
                    fit::above_lumen(size.diameter, lesion)
                        .map(|caution| format!("Caution: {}", caution.message)),
                );
                "Why, step by step"
            }
            None => "What is to be told of this lesion",
        };
        let cautions = lesion.cautions.iter().chain(&judgement.cautions);
        lines.extend(cautions.map(|caution| format!("Caution: {}", caution.message)));
        lines.extend(sizes.carina.iter().cloned());
        if lines.is_empty() {
            lines.push(
                "No caution applies to these measures. Set the cursor on a size to see its own.".into(),
            );
        }
        self.overlay = Some(Overlay::Arithmetic(Arithmetic { title: title.into(), lines, scroll: 0 }));
    }

    pub(super) fn act_arithmetic(&mut self, action: Action) -> Vec<Effect> {
        let Some(Overlay::Arithmetic(text)) = &mut self.overlay else { return Vec::new() };
        match action {
            // A line may be broken into several on the screen; past the last line there is nothing.
            Action::WhyDown => text.scroll = (text.scroll + 1).min(text.lines.len().saturating_sub(1)),
            Action::WhyUp => text.scroll = text.scroll.saturating_sub(1),
            _ => {}
        }
        Vec::new()
    }
}
