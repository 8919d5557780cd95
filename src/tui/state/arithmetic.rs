//! The whole arithmetic of one verdict, one key away from the two lines that say why.

use super::{EVERYWHERE, Effects, Front, List, Overlay, State};
use crate::fit;
use crate::tui::keys::{Action, CLOSE, DOWN, Letters, PAGE_DOWN, PAGE_UP, Place, UP};

pub const BACK: Action = Action::new("why-back", &["w"]);

pub static PLACE: Place = Place::new(
    "While reading the arithmetic",
    Letters::Own,
    &[
        DOWN.row("further", "further down"),
        PAGE_DOWN.row("", "further down"),
        UP.row("", "further up"),
        PAGE_UP.row("", "further up"),
        CLOSE.row("back", "back to the grid"),
        BACK.row("", "back to the grid"),
    ],
)
.within(&EVERYWHERE);

pub const FRONT: Front = Front {
    list: |state| match &mut state.overlay {
        // A line may be broken into several on the screen; past the last line there is nothing.
        Some(Overlay::Arithmetic(text)) => Some(List::new(&mut text.scroll, text.lines.len())),
        _ => None,
    },
    ..Front::new(&PLACE, |state, action| {
        if action == BACK {
            state.close();
        }
        Effects::new()
    })
};

/// A text that is read from top to bottom.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Arithmetic {
    pub title: String,
    pub lines: Vec<String>,
    pub scroll: usize,
}

impl State {
    /// Of the box under the cursor; of the lesion alone where no cursor stands on a box.
    pub(super) fn open_arithmetic(&mut self) -> Effects {
        let sizes = &self.sizes;
        let Some((lesion, judgement)) = sizes.lesion.as_ref().zip(sizes.judgement.as_ref()) else {
            return self.say("Nothing is measured, so nothing is judged");
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
        self.open(Overlay::Arithmetic(Arithmetic { title: title.into(), lines, scroll: 0 }))
    }
}
