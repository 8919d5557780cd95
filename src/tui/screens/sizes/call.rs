//! The call: a size that was typed, the one under the cursor, or a neighbour of the last call.

use super::state::{self, Sizes};
use crate::catalogue::Product;
use crate::journal::{Readiness, Wanted};
use crate::measure::Kind;
use crate::tui::keys::ACCEPT;
use crate::tui::model::{Effects, Session};
use crate::units::{self, Diameter, Length};

impl Sizes {
    pub fn call_here(&mut self, session: &mut Session, readiness: Readiness) -> Effects {
        if self.entry.is_empty() {
            return match self.size() {
                Some((diameter, length)) if self.cell().is_some_and(|cell| !cell.boxes.is_empty()) => {
                    let wanted = self.wanted_of_cell(session, diameter, length);
                    session.call(wanted, readiness)
                }
                Some((diameter, length)) => {
                    session.warn(format!("No product here has {diameter} × {length}"))
                }
                None => {
                    let key = session.key(ACCEPT);
                    session.say(format!("Type a size (3 29) or set the cursor on one, then {key} calls it"))
                }
            };
        }
        let entry = self.entry.clone();
        match self.wanted_of_entry(session, &entry) {
            Ok(wanted) => {
                self.entry.clear();
                self.insisted = None;
                session.call(wanted, readiness)
            }
            Err(why) => {
                self.insisted = Some(entry);
                session.warn(why)
            }
        }
    }

    /// The product shown alone; else any product of the one kind that the cell holds.
    fn wanted_of_cell(&self, session: &Session, diameter: Diameter, length: Length) -> Wanted {
        let kinds: Vec<Kind> =
            self.cell().map(|cell| cell.boxes.iter().map(|boxed| boxed.kind).collect()).unwrap_or_default();
        let one_kind = kinds.first().copied().filter(|first| kinds.iter().all(|kind| kind == first));
        Wanted {
            product: session.work.product.clone(),
            name: None,
            diameter: Some(diameter),
            length: Some(length),
            kind: one_kind,
            reference: None,
        }
    }

    /// What a typed size asks for, or why it does not say so for certain.
    fn wanted_of_entry(&self, session: &Session, entry: &str) -> Result<Wanted, String> {
        let (diameter, length) = units::size(entry)
            .ok_or_else(|| format!("{entry}: a size is a diameter and a length, as 3 29 or 3.0x29"))?;
        let believed = &session.world.policy.believed;
        let [thin, wide] = believed.diameter_mm;
        if crate::control::holds("diameter-in-range") && !(thin..=wide).contains(&diameter.mm()) {
            return Err(format!(
                "Diameter {} mm is not believed ({thin} to {wide} mm): the diameter comes first, as 3 29",
                units::plain(diameter.mm())
            ));
        }
        let [short, long] = believed.length_mm;
        if !(short..=long).contains(&length.mm()) {
            return Err(format!("Length {length} mm is not believed ({short} to {long} mm)"));
        }
        let has = |product: &&Product| {
            product.platform(diameter).is_some_and(|platform| {
                platform.boxes.iter().any(|pack| units::same(pack.length.mm(), length.mm()))
            })
        };
        let wanted = Wanted { diameter: Some(diameter), length: Some(length), ..Wanted::default() };
        if let Some(id) = &session.work.product
            && session.world.catalogue.product(id).as_ref().is_some_and(has)
        {
            return Ok(Wanted { product: Some(id.clone()), ..wanted });
        }
        let mut kinds: Vec<Kind> =
            session.world.catalogue.products.iter().filter(has).map(|p| p.kind).collect();
        kinds.sort();
        kinds.dedup();
        let judged: Vec<Kind> =
            kinds.iter().copied().filter(|kind| session.world.policy.judged.contains(kind)).collect();
        match (judged.as_slice(), kinds.as_slice()) {
            ([kind], _) | ([], [kind]) => Ok(Wanted { kind: Some(*kind), ..wanted }),
            ([], []) if self.insisted.as_deref() == Some(entry) => Ok(wanted),
            ([], []) => Err(format!(
                "No product in the catalogue has {diameter} × {length}. {} again calls it all the same",
                session.key(ACCEPT)
            )),
            ([], several) => {
                let names: Vec<&str> = several.iter().map(|kind| kind.name()).collect();
                Err(format!(
                    "{diameter} × {length} exists as {}: choose the product with {} or {}",
                    names.join(" and as "),
                    session.key(state::NEXT_PRODUCT),
                    session.key(state::FIND)
                ))
            }
            ([_, ..], _) => Ok(wanted),
        }
    }

    /// Calls a neighbour of the last call, along the sizes that its product (or the grid) has.
    pub fn call_near(&mut self, session: &mut Session, wider: isize, longer: isize, words: &str) -> Effects {
        let last =
            session.world.case.as_ref().and_then(|case| case.calls.last()).map(|call| call.wanted.clone());
        let Some(wanted) = last else {
            return session.say(format!("Nothing has been called yet, so there is no {words}"));
        };
        if wider == 0 && longer == 0 {
            return session.call(wanted, Readiness::Asked);
        }
        let (Some(diameter), Some(length)) = (wanted.diameter, wanted.length) else {
            return session.say(format!("The last call has no size, so there is no {words}"));
        };
        let kinds = wanted.kind.map_or_else(|| session.kinds_shown(), |kind| vec![kind]);
        let shown = |product: &Product| match &wanted.product {
            Some(id) => product.id == *id,
            None => kinds.contains(&product.kind),
        };
        let products = session.world.catalogue.products.iter().filter(|product| shown(product));
        let sizes = products
            .flat_map(|product| &product.diameters)
            .flat_map(|platform| platform.boxes.iter().map(|pack| (platform.diameter, pack.length)));
        // How far each lies in the direction that is asked for; none where it does not.
        let ahead = |(d, l): (Diameter, Length)| {
            let [across, along] = [d.mm() - diameter.mm(), l.mm() - length.mm()];
            let (by, off) =
                if wider != 0 { (across * wider as f64, along) } else { (along * longer as f64, across) };
            (units::same(off, 0.0) && by > units::TOLERANCE).then_some(by)
        };
        let next = sizes.filter_map(|size| Some((ahead(size)?, size))).min_by(|a, b| a.0.total_cmp(&b.0));
        match next {
            Some((_, (diameter, length))) => {
                let wanted = Wanted { diameter: Some(diameter), length: Some(length), ..wanted };
                session.call(wanted, Readiness::Asked)
            }
            None => session.warn(format!("There is no {words} from {diameter} × {length}")),
        }
    }
}
