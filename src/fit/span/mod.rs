//! One long lesion and a set of overlapping devices that spans it: the provably best one out of today's shelf.
//!
//! Best is: fewest devices, then least total length, then least sum of |D - aim|.

mod along;
mod chain;
mod parts;
mod placed;
mod search;
mod share;
mod solve;
mod table;
mod ties;
mod together;

use super::Verdict;
use super::facts::{Facts, Frame};
use crate::catalogue::{Catalogue, Piece};
use crate::lesion::Lesion;
use crate::measure::{Caution, Kind};
use crate::policy::Policy;
use crate::units::{Diameter, Length, at_least};
use along::{Along, Ticks, mm, ticks};
use chain::Chain;
use chrono::NaiveDate;
use parts::Parts;
use serde::Serialize;
use solve::{Ask, FRAME_TOLERANCE, Solved};
pub use together::{OfLesion, Together, together};

/// How many plans are given at the most: the best, and others as good in devices and total length.
const PLANS: usize = 5;
/// The most devices that can be asked for. Design choice: nobody puts more into one lesion.
pub const MOST_DEVICES: usize = 12;

/// What a span can be asked beside the lesion.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Options {
    /// At most this many devices, 1 to `MOST_DEVICES`; none: the policy's number.
    pub max_devices: Option<usize>,
    /// Devices that are in already, in any order.
    pub placed: Vec<Placed>,
    /// Stretches from the lesion's distal end, in which no overlap may lie: a side branch, a calcified bend.
    pub avoid: Vec<[Length; 2]>,
}

/// A device that is in already.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Labelled.
    pub diameter: Diameter,
    /// Labelled.
    pub length: Length,
    /// Its distal end, from the distal end of what is to be covered; may lie before it (negative).
    pub at: Length,
}

/// The answer: the object of `span --json`. Nothing rounded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spanned<'a> {
    /// What has to be covered.
    pub length_min_mm: f64,
    /// Where there is no plan: the most that a set covers which holds every other condition.
    pub longest_mm: Option<f64>,
    /// Best first. None: a clean no.
    pub plans: Vec<Plan<'a>>,
    /// Where the shelf gives no plan: the one piece more with which it would.
    pub one_more: Option<Device<'a>>,
    /// What is to be known besides.
    pub cautions: Vec<Caution>,
}

/// One set of devices that spans the lesion.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan<'a> {
    /// Distal first.
    pub devices: Vec<Device<'a>>,
    /// Between one device and the next; with devices that are in already, every overlap from distal on.
    pub overlaps_mm: Vec<f64>,
    /// Lengths less overlaps.
    pub covered_mm: f64,
    /// Sum of the labelled lengths.
    pub metal_mm: f64,
    /// Whether it would still cover with every overlap as large as the policy allows.
    pub covers_at_largest_overlap: bool,
    /// Proved to be the best.
    pub optimal: bool,
    /// Where each device begins, from the lesion's distal end, in mm, with the overlaps as they are here.
    #[serde(skip)]
    pub begins_mm: Vec<f64>,
    /// What the engine says of each device where it lies, its length apart: fits, at once or after post-dilatation.
    #[serde(skip)]
    pub verdicts: Vec<Verdict>,
}

/// One box of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Device<'a> {
    /// The product's `id`.
    pub product: &'a str,
    /// Labelled.
    pub diameter_mm: f64,
    /// Labelled.
    pub length_mm: f64,
    /// The maker's catalogue number.
    #[serde(rename = "ref")]
    pub reference: &'a str,
}

impl Spanned<'_> {
    /// Whether there is a plan.
    pub fn is_spanned(&self) -> bool {
        !self.plans.is_empty()
    }
}

/// The best sets of devices of these kinds that span the lesion. `stock` is the pieces on the shelf, of which those
/// in date `today` count; without it every size may be used any number of times. No guide changes a plan.
///
/// With devices in already, a plan is what is put beside them; then the lesion's limit is not looked at, `longest_mm`
/// and `one_more` are none, and nothing left to span is a plan of no device.
pub fn plan<'a>(
    catalogue: &'a Catalogue,
    kinds: &[Kind],
    lesion: &Lesion,
    policy: &Policy,
    stock: Option<&[Piece]>,
    today: NaiveDate,
    options: &Options,
) -> Spanned<'a> {
    let parts = Parts::new(catalogue, kinds, stock, today);
    let left: Vec<u32> = parts.items.iter().map(|item| item.pieces).collect();
    let chain = whole(lesion, policy, &options.avoid);
    let ask = Ask {
        parts: &parts,
        chain: &chain,
        left: &left,
        max_devices: most_devices(policy, options),
        mix: policy.span.mix_products,
        extra: false,
    };
    if !options.placed.is_empty() {
        let open = placed::stretches(&chain, &options.placed);
        let mut cautions = lesion.cautions.clone();
        cautions.extend(placed::cautions(&open));
        return Spanned {
            length_min_mm: lesion.target.length_min.mm(),
            longest_mm: None,
            plans: placed::plans(ask, &open, &options.placed),
            one_more: None,
            cautions,
        };
    }
    let plans: Vec<Plan> = ask.best(PLANS).iter().map(|solved| as_plan(&parts, &chain, solved)).collect();
    let none = plans.is_empty();
    let longest = if none { ask.longest().map(mm) } else { None };
    let one_more = (none && parts.stocked)
        .then(|| Ask { extra: true, ..ask }.best(1).first().and_then(|solved| solved.found.extra))
        .flatten()
        .map(|item| device(&parts, item));
    Spanned {
        length_min_mm: lesion.target.length_min.mm(),
        longest_mm: longest,
        plans,
        one_more,
        cautions: lesion.cautions.clone(),
    }
}

fn most_devices(policy: &Policy, options: &Options) -> usize {
    options.max_devices.unwrap_or(policy.span.max_devices).clamp(1, MOST_DEVICES)
}

/// The whole lesion, with nothing in it yet.
fn whole(lesion: &Lesion, policy: &Policy, avoid: &[[Length; 2]]) -> Chain {
    Chain {
        along: Along::new(lesion),
        frame: Frame { rule: lesion.target.rule, window: policy.window, tolerance: FRAME_TOLERANCE },
        planned: ticks(policy.overlap.planned.mm()),
        most: ticks(policy.overlap.most.mm()),
        origin: 0,
        mirrored: false,
        joins: -1,
        need: ticks(lesion.target.length_min.mm()),
        room: lesion.target.limit.map(|limit| ticks(limit.mm())),
        largest_step: policy.span.largest_step.mm(),
        neighbours: [None, None],
        avoid: avoid.iter().map(|ends| ends.map(|end| ticks(end.mm()))).collect(),
    }
}

fn device<'a>(parts: &Parts<'a>, item: u32) -> Device<'a> {
    let item = &parts.items[item as usize];
    let product = parts.product(item);
    let platform = &product.diameters[item.platform as usize];
    let pack = &platform.boxes[item.pack as usize];
    Device {
        product: &product.id,
        diameter_mm: platform.diameter.mm(),
        length_mm: pack.length.mm(),
        reference: &pack.reference,
    }
}

/// What the engine says of this device at this place of the chain.
fn verdict(parts: &Parts, chain: &Chain, item: u32, place: Ticks) -> Verdict {
    let item = &parts.items[item as usize];
    let [begins, ends] = chain.lies(place, item.length);
    let facts = Facts::of(parts.product(item), item.platform as usize);
    chain.verdict(&facts, [begins, chain.along.clamped(ends)])
}

fn as_plan<'a>(parts: &Parts<'a>, chain: &Chain, solved: &Solved) -> Plan<'a> {
    let found = &solved.found;
    let n = found.devices.len();
    let overlap = chain.overlap(n, found.place);
    let devices: Vec<Device> = found.devices.iter().map(|(item, _)| device(parts, *item)).collect();
    let total: Ticks = found.devices.iter().map(|(item, _)| parts.items[*item as usize].length).sum();
    let stretch = ticks(overlap) - chain.planned;
    let begins = found.devices.iter().enumerate().map(|(i, (_, place))| mm(place - i as Ticks * stretch));
    let verdicts = found.devices.iter().map(|(item, place)| verdict(parts, chain, *item, *place)).collect();
    Plan {
        devices,
        verdicts,
        overlaps_mm: vec![overlap; n - 1],
        covered_mm: mm(chain.covered(found.place)),
        metal_mm: mm(total),
        covers_at_largest_overlap: at_least(mm(total - chain.most * (n as Ticks - 1)), mm(chain.need))
            || n == 1,
        optimal: solved.proved,
        begins_mm: begins.collect(),
    }
}
