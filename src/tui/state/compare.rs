//! Two boxes side by side: one is marked, the other is under the cursor.

use super::{Effects, State};
use crate::case::spoken::alike;
use crate::catalogue::{Pack, Platform, Product};
use crate::fit::JudgedSize;
use crate::fit::beside::{Against, Beside, Side, beside};
use crate::units::{self, Diameter, Length};

/// The box that is marked to be held against others.
#[derive(Debug, Clone, PartialEq)]
pub struct Marked {
    pub product: String,
    pub diameter: Diameter,
    pub length: Length,
}

/// The two boxes and what tells them apart.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Compared {
    /// The sizes, each with the places of the characters that differ where the two look alike.
    pub sizes: [(String, Vec<usize>); 2],
    pub names: [String; 2],
    /// What differs first.
    pub rows: Vec<Beside>,
}

/// A box in the catalogue, and its place in the judgement.
type Known<'a> = (&'a Product, &'a Platform, &'a Pack, Option<usize>);

impl State {
    /// Marks the box under the cursor; the one that is marked already loses its mark.
    pub(super) fn mark_box(&mut self) -> Effects {
        let Some((diameter, length)) = self.sizes.size() else {
            return self.say("Set the cursor on a size first: then it is marked to be compared");
        };
        let Some(boxed) = self.sizes.box_here() else {
            return self.heed(format!("No product here has {diameter} × {length}"));
        };
        let marked = Marked { product: boxed.product.clone(), diameter, length };
        let name = boxed.name.clone();
        if self.sizes.marked.as_ref() == Some(&marked) {
            self.sizes.marked = None;
            self.say(format!("{diameter} × {length} {name} is not marked any more"))
        } else {
            self.sizes.marked = Some(marked);
            self.say(format!("{diameter} × {length} {name} is marked: the cursor shows the other beside it"))
        }
    }

    /// The marked box beside the one under the cursor; none where nothing is marked, or the cursor stands on it.
    pub fn compared(&self) -> Option<Compared> {
        let marked = self.sizes.marked.as_ref()?;
        let (diameter, length) = self.sizes.size()?;
        let here = self.sizes.box_here()?;
        let same = units::same(marked.diameter.mm(), diameter.mm())
            && units::same(marked.length.mm(), length.mm())
            && marked.product == here.product;
        if same {
            return None;
        }
        let one = self.known(&marked.product, marked.diameter, marked.length)?;
        let other = self.known(&here.product, diameter, length)?;
        let judged = |known: &Known| {
            let judgement = self.sizes.judgement.as_ref()?;
            known.3.and_then(|index| judgement.sizes.get(index))
        };
        let sides = [
            Side { product: one.0, platform: one.1, length: one.2.length, judged: judged(&one) },
            Side { product: other.0, platform: other.1, length: other.2.length, judged: judged(&other) },
        ];
        let against = Against {
            catalogue: &self.world.catalogue,
            lesion: self.sizes.lesion.as_ref(),
            policy: &self.world.policy,
        };
        let mut rows = beside(sides, against);
        let (shelf, today) = (&self.world.shelf, self.world.today());
        let pieces = |known: &Known| match shelf.on_hand(&known.2.di, today) {
            _ if shelf.unread().is_some() => "not known yet".to_string(),
            0 => "none".to_string(),
            pieces => format!("×{pieces}"),
        };
        let place = |known: &Known| shelf.place(&known.2.di, today).unwrap_or("–").to_string();
        rows.push(Beside::new("pieces", pieces(&one), pieces(&other)));
        rows.push(Beside::new("place", place(&one), place(&other)));
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

    fn known(&self, product: &str, diameter: Diameter, length: Length) -> Option<Known<'_>> {
        let product = self.world.catalogue.product(product)?;
        let platform = product.platform(diameter)?;
        let pack = platform.boxes.iter().find(|pack| units::same(pack.length.mm(), length.mm()))?;
        let is_it = |size: &JudgedSize| {
            size.product(&self.world.catalogue).id == product.id
                && units::same(size.diameter.mm(), diameter.mm())
                && units::same(size.length.mm(), length.mm())
        };
        let judged =
            self.sizes.judgement.as_ref().and_then(|judgement| judgement.sizes.iter().position(is_it));
        Some((product, platform, pack, judged))
    }
}
