//! The whole arithmetic of one verdict, one key away from the two lines that say why.

use crate::fit;
use crate::tui::keys::*;
use crate::tui::model::{Canvas, Component, Effects, List, Session, close, open};
use crate::tui::paint::{framed, put_lines, theme, wrapped};
use ratatui::prelude::*;

place! {
    PLACE: "While reading the arithmetic", Own, within EVERYWHERE;
    DOWN => "further", "further down";
    PAGE_DOWN => "", "further down";
    UP => "", "further up";
    PAGE_UP => "", "further up";
    CLOSE => "back", "back to the grid";
    BACK = new("why-back", ["w"]) => "", "back to the grid";
}

/// A text that is read from top to bottom.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Arithmetic {
    title: String,
    lines: Vec<String>,
    scroll: usize,
}

/// Of the box at this place of the judgement; of the lesion alone where there is none.
pub fn of(session: &mut Session, boxed: Option<usize>) -> Effects {
    let work = &session.work;
    let Some((lesion, judgement)) = work.lesion.as_ref().zip(work.judgement.as_ref()) else {
        return session.say("Nothing is measured, so nothing is judged");
    };
    let (catalogue, policy) = (&session.world.catalogue, &session.world.policy);
    let boxed = boxed.and_then(|at| judgement.sizes.get(at));
    let mut lines: Vec<String> = Vec::new();
    let title = match boxed {
        Some(size) => {
            lines.extend(fit::explain(size, judgement, catalogue, lesion, policy).lines().map(String::from));
            if let Some(atm) = size.deploy {
                lines.insert(1, format!("Deployment pressure {atm} atm by its chart, in water"));
            }
            lines.extend(
                [fit::above_lumen(size.diameter, lesion), fit::small_vessel(size.diameter)]
                    .into_iter()
                    .flatten()
                    .map(|caution| format!("Caution: {}", caution.message)),
            );
            "Why, step by step"
        }
        None => "What is to be told of this lesion",
    };
    let cautions = judgement.cautions_with(lesion).into_iter();
    lines.extend(cautions.map(|caution| format!("Caution: {}", caution.message)));
    lines.extend(work.carina.iter().cloned());
    if lines.is_empty() {
        lines.push("No caution applies to these measures. Set the cursor on a size to see its own.".into());
    }
    open(Arithmetic { title: title.into(), lines, scroll: 0 })
}

impl Component for Arithmetic {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, _: &mut Session, action: Action) -> Effects {
        if action == BACK { close(Effects::new()) } else { Effects::new() }
    }

    fn list<'a>(&'a mut self, _: &'a mut Session) -> Option<List<'a>> {
        // A line may be broken into several on the screen; past the last line there is nothing.
        Some(List::new(&mut self.scroll, self.lines.len()))
    }

    fn draw(&self, _: &Session, Canvas { area, buffer, .. }: Canvas) {
        let wide = area.width.min(112);
        let area = Rect { x: area.x + (area.width - wide) / 2, width: wide, ..area };
        let inside = framed(buffer, area, &self.title);
        let width = inside.width.saturating_sub(2);
        let lines = self.lines.iter().skip(self.scroll).flat_map(|line| {
            // What is set in stays set in, also where it is broken.
            let deep = line.chars().take_while(|c| *c == ' ').count();
            let style = if line.starts_with("Caution") { theme::WARNING } else { theme::PLAIN };
            let room = width.saturating_sub(u16::try_from(deep).unwrap_or(0));
            wrapped(line, room)
                .into_iter()
                .map(move |part| Line::styled(format!(" {}{part}", " ".repeat(deep)), style))
        });
        put_lines(buffer, inside, lines.take(usize::from(inside.height)));
    }
}
