//! The code of a case that has just begun, in big letters.

use crate::journal::CaseCode;
use crate::tui::keys::*;
use crate::tui::model::{AnyKey, Canvas, Component, Session};
use crate::tui::paint::{big, columns, framed, middle, put, rows, theme};

place! {
    PLACE: "A case has begun", Shared;
}

/// The code of a case.
#[derive(Debug, Clone)]
pub struct NewCode(pub CaseCode);

impl Component for NewCode {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn any_key(&self) -> Option<AnyKey> {
        Some(AnyKey::PassedOn)
    }

    fn draw(&self, _: &Session, Canvas { area, buffer, .. }: Canvas) {
        let spaced: String = self.0.as_str().chars().flat_map(|c| [c, ' ']).collect();
        let inside = framed(buffer, middle(area, 72, 13), "A case has begun");
        big::draw(
            buffer,
            rows(columns(inside, 4, inside.width), 1, 8),
            spaced.trim_end(),
            theme::STRONG,
            &[],
        );
        put(
            buffer,
            inside,
            2,
            9,
            "Write this code on the patient's record: nothing else ties the two.",
            theme::PLAIN,
        );
        put(
            buffer,
            inside,
            2,
            10,
            "No name, date of birth or number of a person is asked for or kept.",
            theme::QUIET,
        );
    }
}
