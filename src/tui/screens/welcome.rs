//! The demo room's first page.

use super::{menu, sizes};
use crate::deference::LONG;
use crate::tui::keys::*;
use crate::tui::model::{AnyKey, Canvas, Component, Effects, Request, Session};
use crate::tui::paint::{framed, middle, put_lines, theme, wrapped};
use ratatui::text::Line;

place! {
    PLACE: "The demo room's first page", Shared, within EVERYWHERE;
    ACCEPT => "the tour", "the guided tour: a whole case, in about three minutes";
}

/// It only asks to be seen: a letter or an Enter that closes it does nothing else.
#[derive(Debug, Clone)]
pub struct Welcome;

impl Component for Welcome {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, _: &mut Session, _: Action) -> Effects {
        vec![Request::Act(menu::TOUR)]
    }

    fn any_key(&self) -> Option<AnyKey> {
        Some(AnyKey::Taken)
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, .. }: Canvas) {
        let key = |action| session.key(action);
        let inside = framed(buffer, middle(area, 76, 17), "boxcall: the demo room");
        let text = [
            (format!("{}  THE TOUR: a whole case in about three minutes.", key(ACCEPT)), theme::STRONG),
            ("       Two lines say what to do next; what you do is the real thing.".into(), theme::PLAIN),
            (String::new(), theme::PLAIN),
            (
                format!(
                    "Any other key: look around alone; {} and then {} take the tour up.",
                    key(OPEN_MENU),
                    key(menu::TOUR)
                ),
                theme::PLAIN,
            ),
            (
                format!("  {}  type what was measured; arrows show why a size fits", key(sizes::MEASURE)),
                theme::PLAIN,
            ),
            (format!("  3 29 and {}  call a size, measured or not", key(ACCEPT)), theme::PLAIN),
            (
                format!(
                    "  {}  no scanner? this scans the box that was called; {} a wrong one",
                    key(PRACTISE),
                    key(PRACTISE_WRONG)
                ),
                theme::PLAIN,
            ),
            (
                format!(
                    "  {} undoes the last thing written. {} has every key. {} leaves.",
                    key(UNDO),
                    key(HELP),
                    key(LEAVE)
                ),
                theme::PLAIN,
            ),
            (String::new(), theme::PLAIN),
            ("Devices and stock are invented; everything else is real.".into(), theme::PLAIN),
        ];
        let decides =
            wrapped(LONG, inside.width.saturating_sub(2)).into_iter().map(|text| (text, theme::QUIET));
        let lines =
            text.into_iter().chain(decides).map(|(text, style)| Line::styled(format!(" {text}"), style));
        put_lines(buffer, inside, lines);
    }
}
