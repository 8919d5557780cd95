//! Shelf: what is there, what runs out or expires, which vessels it cannot serve.

use super::{Effect, Field, Form, Purpose, State};
use crate::tui::keys::Action;

/// The pages of the shelf.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Page {
    BySize,
    RunsOut,
    Expires,
    Gaps,
    BailOut,
}

/// In the order in which → goes through them.
pub const PAGES: &[(Page, &str)] = &[
    (Page::BySize, "by size"),
    (Page::RunsOut, "runs out"),
    (Page::Expires, "expires"),
    (Page::Gaps, "gaps"),
    (Page::BailOut, "bail-out"),
];

impl State {
    pub(super) fn act_shelf(&mut self, action: Action) -> Vec<Effect> {
        match action {
            Action::ShelfRight => self.turn_page(1),
            Action::ShelfLeft => self.turn_page(PAGES.len() - 1),
            Action::ShelfDown => self.shelf_scroll += 1,
            Action::ShelfUp => self.shelf_scroll = self.shelf_scroll.saturating_sub(1),
            Action::ShelfRecall => {
                let fields = vec![
                    Field::text("lot", "lot", "", "as on the notice"),
                    Field::text("di", "identifier", "", "empty: that lot of any product"),
                ];
                let intro = "From now on a box of this lot stops a read-back.";
                self.ask(Form::new(Purpose::Recall, "A lot is recalled", &[intro], fields));
            }
            _ => {}
        }
        Vec::new()
    }

    fn turn_page(&mut self, by: usize) {
        self.shelf_page = (self.shelf_page + by) % PAGES.len();
        self.shelf_scroll = 0;
    }

    pub fn page(&self) -> Page {
        PAGES[self.shelf_page % PAGES.len()].0
    }
}
