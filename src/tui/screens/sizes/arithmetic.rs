//! The whole arithmetic of one verdict, one key away from the two lines that say why.

use crate::fit;
use crate::tui::keys::*;
use crate::tui::model::{Component, EVERYWHERE, Effects, List, Session, close, open};
use crate::tui::paint::{Hits, framed, put_lines, theme, wrapped};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::Line;

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
                fit::above_lumen(size.diameter, lesion)
                    .map(|caution| format!("Caution: {}", caution.message)),
            );
            "Why, step by step"
        }
        None => "What is to be told of this lesion",
    };
    let cautions = lesion.cautions.iter().chain(&judgement.cautions);
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

    fn draw(
        &self,
        _: &Session,
        _: Option<&dyn Component>,
        area: Rect,
        (buffer, _): (&mut Buffer, &mut Hits),
    ) {
        let wide = area.width.min(112);
        let area = Rect { x: area.x + (area.width - wide) / 2, width: wide, ..area };
        let inside = framed(buffer, area, &self.title);
        let width = inside.width.saturating_sub(2);
        let lines = self.lines.iter().skip(self.scroll).flat_map(|line| {
            // What is set in stays set in, also where it is broken.
            let deep = line.chars().take_while(|c| *c == ' ').count();
            let style = if line.starts_with("Caution") { theme::HEED } else { theme::PLAIN };
            let room = width.saturating_sub(u16::try_from(deep).unwrap_or(0));
            wrapped(line, room)
                .into_iter()
                .map(move |part| Line::styled(format!(" {}{part}", " ".repeat(deep)), style))
        });
        put_lines(buffer, inside, lines.take(usize::from(inside.height)));
    }
}
