//! Two boxes side by side: one is marked, the other is under the cursor; what tells them apart stands first.

use super::state::{Marked, Sizes};
use crate::case::spoken::alike;
use crate::catalogue::{Pack, Platform, Product};
use crate::fit::JudgedSize;
use crate::fit::beside::{Against, ComparedFact, Side, beside};
use crate::tui::model::{Effects, Session};
use crate::tui::paint::{cut, put, put_line, theme};
use crate::units::{self, Diameter, Length};
use ratatui::prelude::*;
use ratatui::style::Modifier;

/// The two boxes and what tells them apart.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Compared {
    /// The sizes, each with the places of the characters that differ where the two look alike.
    pub sizes: [(String, Vec<usize>); 2],
    pub names: [String; 2],
    /// What differs first.
    pub rows: Vec<ComparedFact>,
}

/// A box in the catalogue, and its place in the judgement.
type Known<'a> = (&'a Product, &'a Platform, &'a Pack, Option<usize>);

impl Sizes {
    /// Marks the box under the cursor; the one that is marked already loses its mark.
    pub fn mark_box(&mut self, session: &mut Session) -> Effects {
        let Some((diameter, length)) = self.size() else {
            return session.say("Set the cursor on a size first: then it is marked to be compared");
        };
        let Some(boxed) = self.box_here() else {
            return session.warn(format!("No product here has {diameter} × {length}"));
        };
        let marked = Marked { product: boxed.product.clone(), diameter, length };
        let name = boxed.name.clone();
        if self.marked.as_ref() == Some(&marked) {
            self.marked = None;
            session.say(format!("{diameter} × {length} {name} is not marked any more"))
        } else {
            self.marked = Some(marked);
            session
                .say(format!("{diameter} × {length} {name} is marked: the cursor shows the other beside it"))
        }
    }

    /// The marked box beside the one under the cursor; none where nothing is marked, or the cursor stands on it.
    pub fn compared(&self, session: &Session) -> Option<Compared> {
        let marked = self.marked.as_ref()?;
        let (diameter, length) = self.size()?;
        let here = self.box_here()?;
        let same = units::same(marked.diameter.mm(), diameter.mm())
            && units::same(marked.length.mm(), length.mm())
            && marked.product == here.product;
        if same {
            return None;
        }
        let one = known(session, &marked.product, marked.diameter, marked.length)?;
        let other = known(session, &here.product, diameter, length)?;
        let judged = |known: &Known| {
            let judgement = session.work.judgement.as_ref()?;
            known.3.and_then(|index| judgement.sizes.get(index))
        };
        let sides = [
            Side { product: one.0, platform: one.1, length: one.2.length, judged: judged(&one) },
            Side { product: other.0, platform: other.1, length: other.2.length, judged: judged(&other) },
        ];
        let against = Against {
            catalogue: &session.world.catalogue,
            lesion: session.work.lesion.as_ref(),
            policy: &session.world.policy,
        };
        let mut rows = beside(sides, against);
        let (shelf, today) = (&session.world.shelf, session.world.today());
        let pieces = |known: &Known| match shelf.on_hand(&known.2.di, today) {
            _ if shelf.unread().is_some() => "not known yet".to_string(),
            0 => "none".to_string(),
            pieces => format!("×{pieces}"),
        };
        let place = |known: &Known| shelf.place(&known.2.di, today).unwrap_or("–").to_string();
        rows.push(ComparedFact::new("pieces", pieces(&one), pieces(&other)));
        rows.push(ComparedFact::new("place", place(&one), place(&other)));
        rows.sort_by_key(|row| !row.differs());
        let text = |known: &Known| format!("{} × {}", known.1.diameter, known.2.length);
        let (a, b) = (text(&one), text(&other));
        let (a_marks, b_marks) = (alike(&a, &b), alike(&b, &a));
        Some(Compared {
            names: [one.0.name.clone(), other.0.name.clone()],
            sizes: [(a, a_marks), (b, b_marks)],
            rows,
        })
    }
}

fn known<'a>(session: &'a Session, product: &str, diameter: Diameter, length: Length) -> Option<Known<'a>> {
    let product = session.world.catalogue.product(product)?;
    let platform = product.platform(diameter)?;
    let pack = platform.boxes.iter().find(|pack| units::same(pack.length.mm(), length.mm()))?;
    let is_it = |size: &JudgedSize| {
        size.product(&session.world.catalogue).id == product.id
            && units::same(size.diameter.mm(), diameter.mm())
            && units::same(size.length.mm(), length.mm())
    };
    let judged = session.work.judgement.as_ref().and_then(|judgement| judgement.sizes.iter().position(is_it));
    Some((product, platform, pack, judged))
}

/// Columns of what is compared, and of the sign before it.
const NAME: u16 = 10;

pub fn draw(compared: &Compared, area: Rect, buffer: &mut Buffer) {
    let half = area.width.saturating_sub(NAME) / 2;
    let at = [NAME, NAME + half];
    let room = usize::from(half.saturating_sub(1));
    for (side, x) in at.into_iter().enumerate() {
        let (size, marked) = &compared.sizes[side];
        let mut spans: Vec<Span> = Vec::new();
        for (place, c) in size.chars().enumerate() {
            // The digit that differs where two sizes look alike.
            let style = if marked.contains(&place) { theme::CURSOR } else { theme::STRONG };
            spans.push(Span::styled(c.to_string(), style.add_modifier(Modifier::BOLD)));
        }
        let left = room.saturating_sub(Span::raw(size).width() + 1);
        spans.push(Span::styled(format!(" {}", cut(&compared.names[side], left)), theme::STRONG));
        put_line(buffer, area, x, 0, Line::from(spans));
    }
    put(buffer, area, 0, 0, "▸marked", theme::QUIET);
    for (y, row) in (1..).zip(&compared.rows) {
        let (sign, style) = if row.differs() { ("! ", theme::STRONG) } else { ("= ", theme::QUIET) };
        let named =
            Line::from(vec![Span::styled(sign, theme::WARNING), Span::styled(row.name, theme::QUIET)]);
        let same = Line::styled(format!("{sign}{}", row.name), theme::QUIET);
        put_line(buffer, area, 0, y, if row.differs() { named } else { same });
        for (words, x) in [&row.one, &row.other].into_iter().zip(at) {
            put(buffer, area, x, y, &cut(words, room), style);
        }
    }
}
