//! Spans against full enumeration.

use crate::span_shelf::{Sizes, branched, policy, shelf, today};
use boxcall::catalogue::{Catalogue, Piece};
use boxcall::fit::span::{Options, Plan, Spanned, plan};
use boxcall::fit::{Verdict, judge};
use boxcall::lesion::Lesion;
use boxcall::measure::{Kind, Rule};
use boxcall::policy::Policy;
use boxcall::units::Length;
use proptest::prelude::*;

const STENTS: [Kind; 1] = [Kind::DrugElutingStent];

/// Everything that one enumeration needs.
struct World<'a> {
    catalogue: &'a Catalogue,
    lesion: &'a Lesion,
    policy: &'a Policy,
    rule: Rule,
    ends: [Option<f64>; 2],
    stock: Option<&'a [Piece]>,
    /// The longest that a set may cover, in mm.
    most: Option<f64>,
    /// A side branch: its lumen, and where it leaves, in mm.
    branch: (Option<f64>, Option<f64>),
    /// Stretches on which no overlap may lie, from the lesion's distal end.
    avoid: &'a [[f64; 2]],
}

/// Product, labelled diameter, length.
type Sized = (usize, f64, f64);

/// What a chain comes to, in mm.
#[derive(Debug, Clone, Copy)]
struct Worth {
    covered: f64,
    on_branch: usize,
    unsteady: bool,
    total: f64,
    off: f64,
}

impl Worth {
    /// In the order of what is compared between sets of as many devices; in whole millionths of a millimetre.
    fn key(&self) -> (usize, bool, i64, i64) {
        let whole = |mm: f64| (mm * 1e6).round() as i64;
        (self.on_branch, self.unsteady, whole(self.total), whole(self.off))
    }
}

/// What all chains come to.
struct Enumerated {
    /// The best, with its number of devices.
    best: Option<(usize, Worth)>,
    /// The most that any covers, in mm.
    longest: Option<f64>,
    /// By number of devices, what those come to that are short of the need.
    short: Vec<Vec<Worth>>,
}

impl World<'_> {
    /// What the law (Huo-Kassab) makes of the distal end and the side branch.
    fn mother(&self) -> Option<f64> {
        let (distal, lumen) = (self.ends[0]?, self.branch.0?);
        Some((distal.powf(7.0 / 3.0) + lumen.powf(7.0 / 3.0)).powf(3.0 / 7.0))
    }

    /// The reference at a place, straight between the ends but for the step at the side branch.
    fn at(&self, place: f64, beyond: bool) -> Option<f64> {
        let length = self.lesion.target.length_min.mm();
        let [Some(distal), Some(proximal)] = self.ends else { return self.ends[0] };
        if place >= length - 1e-9 {
            return Some(proximal);
        }
        let explained = self.branch.1.and(self.mother()).map_or(0.0, |mother| mother - distal);
        let step = explained.min(proximal - distal).max(0.0);
        Some(distal + (proximal - distal - step) * place / length + if beyond { step } else { 0.0 })
    }

    /// Judged alone between these two places: |D - aim| where it fits.
    fn off(&self, sized: Sized, begins: f64) -> Option<f64> {
        let (verdict, off) = self.alone(sized, begins)?;
        verdict.is_fit().then_some(off)
    }

    /// Judged alone between these two places: the verdict and |D - aim|.
    fn alone(&self, (product, diameter, length): Sized, begins: f64) -> Option<(Verdict, f64)> {
        let ends = begins + length;
        let beyond =
            self.branch.1.map_or(ends >= self.lesion.target.length_min.mm() - 1e-9, |at| ends > at + 1e-9);
        let distal = self.at(begins, self.branch.1.is_some_and(|at| begins >= at - 1e-9));
        let proximal = self.ends[1].and_then(|_| self.at(ends, beyond));
        // Level, the law's mother is the target of what ends beyond the branch; a measured end has no use for it.
        let lumen = self.branch.0.filter(|_| beyond && self.ends[1].is_none());
        let alone = branched(self.rule, [distal, proximal], 1.0, None, (lumen, None), self.policy);
        let judgement = judge(self.catalogue, &STENTS, &alone, self.policy, None, today());
        let size = judgement.sizes.iter().find(|size| {
            size.place.product as usize == product
                && size.diameter.mm() == diameter
                && size.length.mm() == length
        })?;
        Some((size.verdict, (diameter - alone.target.aim.mm()).abs()))
    }

    /// What a chain comes to, if it holds everything but the need.
    fn worth(&self, chain: &[Sized]) -> Option<Worth> {
        let overlap = &self.policy.overlap;
        let error = self.policy.error.of(self.lesion.method).length.mm();
        let (mut begins, mut off, mut on_branch) = (0.0, 0.0, 0);
        for (i, device) in chain.iter().enumerate() {
            let limit = self.lesion.target.limit.map_or(f64::INFINITY, |limit| limit.mm());
            if device.2 > limit + 1e-9 {
                return None;
            }
            let near =
                |at: f64| at >= begins - error - 1e-9 && at <= begins + overlap.planned.mm() + error + 1e-9;
            on_branch += usize::from(i > 0 && self.branch.1.is_some_and(near));
            off += self.off(*device, begins)?;
            begins += device.2 - overlap.planned.mm();
            let used = chain.iter().filter(|other| *other == device).count() as u32;
            if self.stock.is_some() && used > self.pieces(*device) {
                return None;
            }
            if let Some(next) = chain.get(i + 1)
                && (next.1 < device.1
                    || next.1 - device.1
                        > self.policy.span.largest_step.map_or(f64::INFINITY, |step| step.mm()) + 1e-9
                    || (next.0 != device.0 && !self.policy.span.mix_products))
            {
                return None;
            }
        }
        let total: f64 = chain.iter().map(|device| device.2).sum();
        let joins = (chain.len() - 1) as f64;
        let most = total - joins * overlap.planned.mm();
        let least = total - joins * overlap.most.mm();
        let covered = match self.most {
            Some(limit) if least > limit + 1e-9 => return None,
            Some(limit) => most.min(limit),
            None => most,
        };
        // What the limit takes off is shared out evenly among the overlaps.
        let overlapped = (total - covered) / joins.max(1.0);
        let mut begins = 0.0;
        for device in &chain[..chain.len() - 1] {
            begins += device.2 - overlapped;
            let ends = begins + overlapped;
            if self.avoid.iter().any(|[from, to]| begins < to - 1e-9 && ends > from + 1e-9) {
                return None;
            }
        }
        // 0.8 is the policy's chance: the normal quantile is 0.841 621.
        let unsteady = covered < self.lesion.target.length_min.mm() + 0.841_621_233_572_914 * error - 1e-9;
        Some(Worth { covered, on_branch, unsteady, total, off })
    }

    fn pieces(&self, (product, diameter, length): Sized) -> u32 {
        let platforms = &self.catalogue.products[product].diameters;
        let platform = platforms.iter().find(|platform| platform.diameter.mm() == diameter).expect("made");
        let pack = platform.boxes.iter().find(|pack| pack.length.mm() == length).expect("made");
        let pieces = self.stock.unwrap_or_default().iter().filter(|piece| pack.di.contains(&piece.di));
        pieces.map(|piece| piece.count).sum()
    }

    fn enumerate(&self, most_devices: usize) -> Enumerated {
        let products = self.catalogue.products.iter().enumerate();
        let sizes: Vec<Sized> = products
            .flat_map(|(index, product)| {
                product.diameters.iter().flat_map(move |platform| {
                    platform.boxes.iter().map(move |pack| (index, platform.diameter.mm(), pack.length.mm()))
                })
            })
            .collect();
        let (mut best, mut longest): (Option<(usize, Worth)>, Option<f64>) = (None, None);
        let mut short = vec![Vec::new()];
        let need = self.lesion.target.length_min.mm();
        let mut chains: Vec<Vec<Sized>> = vec![vec![]];
        for _ in 0..most_devices {
            let (mut next, mut of_these) = (Vec::new(), Vec::new());
            for chain in &chains {
                for size in &sizes {
                    let mut chain = chain.clone();
                    chain.push(*size);
                    next.push(chain);
                }
            }
            for chain in &next {
                let Some(worth) = self.worth(chain) else { continue };
                longest = Some(longest.map_or(worth.covered, |longest: f64| longest.max(worth.covered)));
                if worth.covered < need - 1e-9 {
                    of_these.push(worth);
                } else if best.is_none_or(|(n, best)| chain.len() == n && worth.key() < best.key()) {
                    best = Some((chain.len(), worth));
                }
            }
            short.push(of_these);
            // A prefix that breaks a rule which no further device mends is left.
            next.retain(|chain| self.prefix_holds(chain));
            chains = next;
        }
        Enumerated { best, longest, short }
    }

    fn prefix_holds(&self, chain: &[Sized]) -> bool {
        // Another device may bring a limit into play, which moves the overlaps before it too.
        let free = World { most: None, avoid: &[], ..*self };
        free.worth(chain).is_some()
    }

    fn sized(&self, plan: &Plan) -> Vec<Sized> {
        let product = |id: &str| self.catalogue.products.iter().position(|p| p.id == id).expect("made");
        plan.devices.iter().map(|d| (product(d.product), d.diameter_mm, d.length_mm)).collect()
    }

    fn compare(&self, found: &Spanned, most_devices: usize) -> Result<(), TestCaseError> {
        let Enumerated { best, longest, short } = self.enumerate(most_devices);
        prop_assert_eq!(found.is_spanned(), best.is_some(), "{:?} {:?}", found, best);
        let Some((n, Worth { total, off, on_branch, .. })) = best else {
            match (found.longest_mm, longest) {
                (Some(a), Some(b)) => prop_assert!((a - b).abs() < 1e-6, "{} {}", a, b),
                (a, b) => prop_assert_eq!(a, b),
            }
            return Ok(());
        };
        prop_assert_eq!(found.longest_mm, None);
        for (number, plan) in found.plans.iter().enumerate() {
            // `worth` gives nothing where a gap, a piece too many, a limit or a verdict forbids the plan.
            let Some(worth) = self.worth(&self.sized(plan)) else {
                return Err(TestCaseError::fail(format!("does not hold: {plan:?}")));
            };
            let Worth { covered, total: length, off: sum, .. } = worth;
            prop_assert_eq!(plan.devices.len(), n);
            prop_assert_eq!(plan.overlaps_on_branch, worth.on_branch);
            // Each is called with the verdict that it has alone where it lies by the planned overlaps.
            let mut begins = 0.0;
            for (sized, device) in self.sized(plan).into_iter().zip(&plan.devices) {
                let lies = device.lies.expect("a device of a plan");
                prop_assert!((lies.at_mm - begins).abs() < 1e-6);
                prop_assert_eq!(self.alone(sized, begins).map(|(alone, _)| alone), Some(lies.verdict));
                begins += sized.2 - self.policy.overlap.planned.mm();
            }
            prop_assert!((length - total).abs() < 1e-6 && (plan.metal_mm - total).abs() < 1e-6);
            prop_assert!((plan.covered_mm - covered).abs() < 1e-6, "{} {}", plan.covered_mm, covered);
            prop_assert!(covered >= self.lesion.target.length_min.mm() - 1e-6);
            let overlaps: f64 = plan.overlaps_mm.iter().sum();
            prop_assert!((plan.metal_mm - overlaps - covered).abs() < 1e-6);
            let [least, most] = [self.policy.overlap.planned, self.policy.overlap.most].map(|mm| mm.mm());
            prop_assert!(plan.overlaps_mm.iter().all(|o| *o >= least - 1e-9 && *o <= most + 1e-9));
            let still =
                n == 1 || total - most * (n as f64 - 1.0) >= self.lesion.target.length_min.mm() - 1e-9;
            prop_assert_eq!(plan.covers_at_largest_overlap, still);
            prop_assert!(worth.key() >= best.map(|(_, best)| best.key()).expect("there is one"));
            let as_good = worth.on_branch == on_branch && sum <= off + 1e-6;
            prop_assert_eq!(plan.optimal, as_good, "{} {} {}", number, sum, off);
            if number == 0 {
                prop_assert!((sum - off).abs() < 1e-6, "{} {}", sum, off);
            }
        }
        let error = self.policy.error.of(self.lesion.method).length.mm();
        let need = self.lesion.target.length_min.mm();
        let fewer = short[n - 1].iter().filter(|worth| need - worth.covered <= 2.0 * error + 1e-9);
        let fewer = fewer.map(|worth| worth.covered).reduce(f64::max);
        prop_assert_eq!(found.one_fewer.as_ref().map(|fewer| fewer.covered_mm), fewer);
        if let Some(fewer) = &found.one_fewer {
            prop_assert!(
                (need - fewer.covered_mm - fewer.short_mm).abs() < 1e-9 && fewer.devices.len() == n - 1
            );
        }
        Ok(())
    }
}

/// Labelled diameters in quarters from 2.50, with room to grow and a chart that may be missing.
fn sizes() -> impl Strategy<Value = Sizes> {
    let lengths =
        prop::collection::btree_map(prop::sample::select(vec![7u32, 11, 16, 20, 25, 29]), 0u32..3, 1..3);
    (10u32..15, prop::option::weighted(0.9, 0u32..120), prop::option::weighted(0.8, 1u32..30), lengths)
        .prop_map(|(quarters, room, growth, lengths)| {
            let diameter = f64::from(quarters) / 4.0;
            let burst = growth.map(|growth| diameter + f64::from(growth) / 100.0);
            let limit = room.map(|room| burst.unwrap_or(diameter) + f64::from(room) / 100.0);
            let lengths = lengths.into_iter().map(|(length, count)| (f64::from(length), count)).collect();
            Sizes { diameter, limit, burst, lengths }
        })
}

fn product() -> impl Strategy<Value = Vec<Sizes>> {
    prop::collection::vec(sizes(), 1..4).prop_map(|mut sizes| {
        sizes.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
        sizes.dedup_by(|a, b| a.diameter == b.diameter);
        sizes
    })
}

/// 300 in each run; `BOXCALL_SPANS=4000 cargo test span_enumerated` for more.
fn cases() -> u32 {
    std::env::var("BOXCALL_SPANS").ok().map_or(300, |count| count.parse().expect("a number"))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases()))]
    #[test]
    fn every_span_is_the_best_of_full_enumeration(
        products in prop::collection::vec(product(), 1..4),
        rule in prop::sample::select(Rule::ALL),
        distal in 250u32..360,
        taper in prop::option::of(0u32..90),
        need in 10u32..70,
        slack in prop::option::of(0u32..9),
        limit in prop::option::weighted(0.3, 11u32..29),
        branch in prop::option::of((prop::option::of(12u32..30), 1u32..60)),
        stocked in any::<bool>(),
        mix in any::<bool>(),
        most_devices in 1usize..4,
        planned in 2u32..4,
        avoid in prop::collection::vec((0u32..60, 1u32..12), 0..3),
    ) {
        let (catalogue, pieces) = shelf(&products);
        let mut policy = policy(f64::from(planned), 2.0, 5.0);
        policy.span.mix_products = mix;
        let distal = f64::from(distal) / 100.0;
        let proximal = taper.map(|taper| distal + f64::from(taper) / 100.0);
        // A mean or a smaller one needs both.
        let proximal = match rule {
            Rule::SmallerEem | Rule::MeanLumen => proximal.or(Some(distal)),
            _ => proximal,
        };
        let ends = [Some(distal), proximal];
        let need = f64::from(need);
        let most = slack.map(|slack| need + f64::from(slack));
        let (lumen, place) = branch.map_or((None, None), |(lumen, place)| (lumen, Some(place)));
        let lumen = lumen.map(|tenths| f64::from(tenths) / 10.0);
        let branch = (lumen, place.map(f64::from).filter(|place| *place < need));
        let lesion = branched(rule, ends, need, limit.map(f64::from), branch, &policy);
        let stock = stocked.then_some(pieces.as_slice());
        let avoid: Vec<[f64; 2]> =
            avoid.into_iter().map(|(from, long)| [f64::from(from), f64::from(from + long)]).collect();
        let options = Options {
            max_devices: Some(most_devices),
            most: most.map(Length::from_mm),
            avoid: avoid.iter().map(|ends| ends.map(Length::from_mm)).collect(),
            ..Options::default()
        };
        let found = plan(&catalogue, &STENTS, &lesion, &policy, stock, today(), &options);
        let world =
            World { catalogue: &catalogue, lesion: &lesion, policy: &policy, rule, ends, stock, most, branch, avoid: &avoid };
        world.compare(&found, most_devices)?;

        if let Some(more) = &found.one_more {
            let mut products = products.clone();
            let index: usize = more.product[1..].parse().expect("a number");
            let sizes = products[index].iter_mut().find(|sizes| sizes.diameter == more.diameter_mm);
            let lengths = &mut sizes.expect("made").lengths;
            lengths.iter_mut().find(|(length, _)| *length == more.length_mm).expect("made").1 += 1;
            let (catalogue, pieces) = shelf(&products);
            let found = plan(&catalogue, &STENTS, &lesion, &policy, Some(&pieces), today(), &options);
            prop_assert!(found.is_spanned(), "one piece more was promised to do");
        }
    }
}
