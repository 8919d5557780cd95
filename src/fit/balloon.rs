//! Post-dilatation: which balloons give a wanted diameter, by their own charts.

#![allow(clippy::cast_possible_truncation, reason = "a number of steps: small, whole and above 0")]

use crate::catalogue::{Catalogue, InDate, Piece, Platform};
use crate::lesion::{BadInput, Lesion, believe};
use crate::measure::{Caution, CautionCode, Kind};
use crate::policy::Policy;
use crate::sources::cite;
use crate::units::{Diameter, Figure, Length, Pressure, TOLERANCE, at_most, plain, same};
use chrono::NaiveDate;
use serde::Serialize;
use std::cmp::Reverse;

/// What is asked of a balloon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ask {
    /// The wanted chart diameter, in mm.
    pub to: Diameter,
    /// The stretch that must hold the balloon with its shoulders, in mm: a stent less 2 mm at each end.
    pub within: Length,
    /// The largest diameter that the stent's maker permits.
    pub expansion_limit: Option<Diameter>,
    /// The vessel's own diameter there; a balloon must not pass it (@ilumien-iii).
    pub vessel: Option<Diameter>,
}

/// What a stent's length leaves for a balloon that stays inside it: less 2 mm at each end. Common practice, no
/// source.
pub fn stretch(stent: Length) -> Length {
    Length::from_mm(stent.mm() - 4.0)
}

/// How far inside the proximal edge a balloon ends, in mm. Common practice, no source.
const INSIDE_EDGE_MM: f64 = 1.0;

/// What a device of this length, laid from the distal end of the vessel, leaves for a balloon that brings its proximal
/// part up to a diameter: from where the vessel reaches that diameter, and from the carina where a side branch leaves
/// it, to 1 mm inside the proximal edge. None where the vessel is nowhere known to reach it, or nothing is left: a
/// balloon of the proximal size must never be in the distal part.
pub fn proximal_stretch(lesion: &Lesion, device: Length, to: Diameter) -> Option<Length> {
    let carina = lesion.branches.at.first();
    let from = match (lesion.vessel.reaches(to), carina) {
        (Some(reached), Some(carina)) => reached.mm().max(carina.mm()),
        (Some(at), None) | (None, Some(&at)) => at.mm(),
        (None, None) => return None,
    };
    let stretch = device.mm() - INSIDE_EDGE_MM - from;
    (stretch > 0.0).then(|| Length::from_mm(stretch))
}

/// The object of `post-dilate --json`. Nothing rounded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Balloons {
    /// The diameter to be reached.
    pub target_mm: f64,
    /// Best first; empty is a clean no, and `cautions` says why.
    pub balloons: Vec<Balloon>,
    /// Where no chart gives the target itself: the boxes that come nearest, whatever the distance.
    pub nearest: Option<Nearest>,
    /// What is to be known besides.
    pub cautions: Vec<Caution>,
}

/// The box nearest below the target, and the one nearest above it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Nearest {
    /// Its chart stays below the target.
    pub below: Option<Balloon>,
    /// It is labelled above the target.
    pub above: Option<Balloon>,
}

/// One of its `balloons`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Balloon {
    /// The product's `id`.
    pub product: String,
    /// Labelled.
    pub diameter_mm: f64,
    /// Labelled.
    pub length_mm: f64,
    /// The maker's catalogue number.
    #[serde(rename = "ref")]
    pub reference: String,
    /// Where its chart, in water, gives `mm`.
    pub atm: f64,
    /// What its chart gives there: the target, or the nearest to it.
    pub mm: f64,
    /// `mm` less the target; 0 where the chart gives the target itself.
    pub off_mm: f64,
    /// From 1; none for a box that is only the nearest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rank: Option<u32>,
    /// Pieces in date; none without stock.
    pub on_shelf: Option<u32>,
}

/// The kinds asked for, each once; non-compliant balloons where none is named.
///
/// # Errors
/// A kind that is not a balloon.
pub fn kinds(requested: &[Kind]) -> Result<Vec<Kind>, Vec<BadInput>> {
    if requested.is_empty() {
        return Ok(vec![Kind::NonCompliantBalloon]);
    }
    let balloons: Vec<&str> = Kind::ALL.iter().filter(|k| k.is_balloon()).map(|k| k.name()).collect();
    let bad: Vec<BadInput> = requested
        .iter()
        .filter(|kind| !kind.is_balloon())
        .map(|kind| {
            let message = format!("kind: {kind} is not a balloon; name one of {}", balloons.join(", "));
            BadInput::new("kind", kind, message)
        })
        .collect();
    if !bad.is_empty() {
        return Err(bad);
    }
    let mut kinds = requested.to_vec();
    kinds.sort_unstable();
    kinds.dedup();
    Ok(kinds)
}

/// The balloons of these kinds (none named: non-compliant), no longer than the stretch, whose chart gives the target:
/// labelled at most the target, target within chart and rated burst. Where there is none, those whose chart comes within
/// the policy's `near` of it, from the first row to rated burst, never above the vessel or the expansion limit; a box
/// labelled above the target counts from its nominal pressure on. `stock` is the pieces on the shelf and today.
///
/// Exact ones are ranked by nearest labelled diameter, then least pressure; near ones by distance, those below the
/// target first; then both by longest, then product and REF by bytes. A target above the expansion limit or the vessel
/// is a clean no.
///
/// # Errors
/// A number outside what is believed, a kind that is not a balloon; every fault at once.
pub fn choose(
    catalogue: &Catalogue,
    requested: &[Kind],
    ask: &Ask,
    policy: &Policy,
    stock: Option<(&[Piece], NaiveDate)>,
) -> Result<Balloons, Vec<BadInput>> {
    let believed = &policy.believed;
    let mut bad: Vec<BadInput> = believe::diameter("to", ask.to, believed).into_iter().collect();
    bad.extend(believe::length("within", ask.within, believed));
    bad.extend(ask.expansion_limit.and_then(|d| believe::diameter("expansion-limit", d, believed)));
    bad.extend(ask.vessel.and_then(|d| believe::diameter("vessel", d, believed)));
    let kinds = match kinds(requested) {
        Ok(kinds) if bad.is_empty() => kinds,
        Ok(_) => return Err(bad),
        Err(more) => return Err(bad.into_iter().chain(more).collect()),
    };
    let target_mm = ask.to.mm();
    let stock = stock.map(|(pieces, today)| InDate::new(pieces, today));
    let mut all = boxes(catalogue, &kinds, ask, stock.as_ref());
    rank(&mut all);
    let refused = too_large(ask);
    if !refused.is_empty() {
        return Ok(Balloons { target_mm, balloons: Vec::new(), nearest: nearest(&all), cautions: refused });
    }
    let exact = all.iter().filter(|balloon| balloon.is_exact()).count();
    let nearest = if exact > 0 { None } else { nearest(&all) };
    let most = if exact > 0 { 0.0 } else { policy.near.mm() };
    let near = |balloon: &Balloon| at_most(balloon.off_mm.abs(), most);
    let mut balloons: Vec<Balloon> = all.into_iter().filter(near).collect();
    for (rank, balloon) in (1..).zip(&mut balloons) {
        balloon.rank = Some(rank);
    }
    let cautions = if balloons.is_empty() {
        vec![why_none(catalogue, &kinds, ask, nearest.as_ref())]
    } else {
        vec![in_water()]
    };
    Ok(Balloons { target_mm, balloons, nearest, cautions })
}

/// Every box of these kinds that is short enough, with what its chart gives nearest to the target.
fn boxes(catalogue: &Catalogue, kinds: &[Kind], ask: &Ask, stock: Option<&InDate>) -> Vec<Balloon> {
    let mut boxes = Vec::new();
    for product in catalogue.products.iter().filter(|product| kinds.contains(&product.kind)) {
        for platform in &product.diameters {
            let Some((mm, pressure)) = comes_nearest(platform, ask) else { continue };
            let fitting = platform.boxes.iter().filter(|pack| at_most(pack.length.mm(), ask.within.mm()));
            boxes.extend(fitting.map(|pack| Balloon {
                product: product.id.clone(),
                diameter_mm: platform.diameter.mm(),
                length_mm: pack.length.mm(),
                reference: pack.reference.clone(),
                atm: pressure.atm(),
                mm: mm.mm(),
                off_mm: if same(mm.mm(), ask.to.mm()) { 0.0 } else { mm.mm() - ask.to.mm() },
                rank: None,
                on_shelf: stock.map(|stock| stock.count(&pack.di)),
            }));
        }
    }
    boxes
}

/// The diameter that the chart gives nearest to the target, and where: from its first row, or from its nominal pressure
/// where it is labelled above the target, to its rated burst, and not above the vessel or the expansion limit.
fn comes_nearest(platform: &Platform, ask: &Ask) -> Option<(Diameter, Pressure)> {
    let chart = platform.chart.as_ref()?;
    let to = ask.to.mm();
    let least =
        if at_most(platform.diameter.mm(), to) { chart.rows.first()?.1.mm() } else { platform.diameter.mm() };
    let bounds = [ask.vessel, ask.expansion_limit].into_iter().flatten().map(|bound| bound.mm());
    let most = bounds.fold(chart.at_rated_burst().mm(), f64::min);
    if !at_most(least, most) {
        return None;
    }
    let mm = Diameter::from_mm(to.clamp(least.min(most), most));
    Some((mm, chart.pressure_for(mm)?))
}

/// What is first among these, below the target and above it.
fn nearest(ranked: &[Balloon]) -> Option<Nearest> {
    let first = |above: bool| ranked.iter().find(|balloon| (balloon.off_mm > 0.0) == above).cloned();
    Some(Nearest { below: first(false), above: first(true) })
}

/// Exact ones first; the key of each is in whole billionths, which order totally, binary fractions allowed for.
fn rank(balloons: &mut [Balloon]) {
    let whole = |value: f64| (value / TOLERANCE).round() as i64;
    let key = |balloon: &Balloon| {
        let nearest = if balloon.is_exact() {
            (whole(balloon.mm - balloon.diameter_mm), whole(balloon.atm))
        } else {
            (whole(balloon.off_mm.abs()), i64::from(balloon.off_mm > 0.0))
        };
        (!balloon.is_exact(), nearest, Reverse(whole(balloon.length_mm)))
    };
    balloons.sort_by(|a, b| {
        let bytes = |balloon: &Balloon| (balloon.product.clone(), balloon.reference.clone());
        key(a).cmp(&key(b)).then_with(|| bytes(a).cmp(&bytes(b)))
    });
}

fn too_large(ask: &Ask) -> Vec<Caution> {
    let above = |bound: Option<Diameter>| bound.filter(|bound| !at_most(ask.to.mm(), bound.mm()));
    let limit = above(ask.expansion_limit).map(|limit| {
        let message = format!(
            "{} is above the stent's expansion limit {limit}: no balloon (the limit is the maker's).",
            ask.to
        );
        Caution::new(CautionCode::TargetAboveExpansionLimit, message)
    });
    let vessel = above(ask.vessel).map(|vessel| {
        let source = cite!("ilumien-iii");
        let message = format!("{} is above the vessel's {vessel}: no balloon ({source}).", ask.to);
        Caution::new(CautionCode::TargetAboveVessel, message)
    });
    limit.into_iter().chain(vessel).collect()
}

/// The one caution of a list that is not empty.
fn in_water() -> Caution {
    Caution::new(CautionCode::ChartInWater, crate::catalogue::inflate::in_water())
}

fn why_none(catalogue: &Catalogue, kinds: &[Kind], ask: &Ask, nearest: Option<&Nearest>) -> Caution {
    let names: Vec<&str> = kinds.iter().map(|kind| kind.name()).collect();
    let (names, to) = (names.join(" or "), ask.to);
    let platforms = || {
        catalogue.products.iter().filter(|product| kinds.contains(&product.kind)).flat_map(|p| &p.diameters)
    };
    let gives = |platform: &&Platform| {
        at_most(platform.diameter.mm(), to.mm())
            && platform.chart.as_ref().is_some_and(|chart| chart.pressure_for(to).is_some())
    };
    let lengths = platforms().filter(gives).flat_map(|platform| &platform.boxes).map(|pack| pack.length.mm());
    let without = platforms()
        .filter(|platform| platform.chart.is_none() && at_most(platform.diameter.mm(), to.mm()))
        .count();
    let (code, message) = if platforms().next().is_none() {
        (CautionCode::BalloonsNoneOfKind, format!("The catalogue holds no {names}."))
    } else if let Some(shortest) = lengths.reduce(f64::min) {
        let within = plain(ask.within.mm());
        let message = format!(
            "Every {names} that gives {to} is longer than {within} mm; the shortest is {} mm.",
            plain(shortest)
        );
        (CautionCode::BalloonsAllTooLong, message)
    } else {
        let lacking = match without {
            0 => String::new(),
            _ => format!(" Labelled diameters whose file lacks the chart: {without}."),
        };
        let sides = nearest.iter().flat_map(|nearest| [&nearest.below, &nearest.above]).flatten();
        let nearest: Vec<String> =
            sides.map(|balloon| format!(" Nearest: {}.", balloon.in_words())).collect();
        let message = format!(
            "No chart of a {names} gives {to} within rated burst, nor comes near.{lacking}{}",
            nearest.concat()
        );
        (CautionCode::BalloonsNoneReaches, message)
    };
    Caution::new(code, message)
}

/// A balloon that is open already, and serves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Serves<'a> {
    /// Its place in the list that was asked about.
    pub open: usize,
    /// What is said of its size.
    pub balloon: &'a Balloon,
}

impl Balloons {
    /// Which of the balloons that are open already (product, labelled diameter, length) give the target; best
    /// first. They go before a new box.
    pub fn serving(&self, open: &[(&str, Diameter, Length)]) -> Vec<Serves<'_>> {
        let of = |(place, (product, diameter, length)): (usize, &(&str, Diameter, Length))| {
            let balloon = self.balloons.iter().find(|balloon| {
                balloon.product == *product
                    && same(balloon.diameter_mm, diameter.mm())
                    && same(balloon.length_mm, length.mm())
            })?;
            Some(Serves { open: place, balloon })
        };
        let mut serving: Vec<Serves> = open.iter().enumerate().filter_map(of).collect();
        serving.sort_by_key(|serves| (serves.balloon.rank, serves.open));
        serving
    }
}

impl Balloon {
    /// Its chart gives the target itself.
    pub fn is_exact(&self) -> bool {
        self.off_mm == 0.0
    }

    /// How far off it comes: `0.04 below`; none where it gives the target itself.
    pub fn off_in_words(&self) -> Option<String> {
        let side = if self.off_mm > 0.0 { "above" } else { "below" };
        (!self.is_exact()).then(|| format!("{:.2} {side}", Figure(self.off_mm.abs())))
    }

    /// One plain line: `furrow 3.50 × 12: 14.4 atm, chart diameter, in water`; of one that does not give the target
    /// itself also what it gives.
    pub fn in_words(&self) -> String {
        let (diameter, length) = (Diameter::from_mm(self.diameter_mm), plain(self.length_mm));
        let off = self.off_in_words().map(|off| format!("{:.2} mm, {off} the target, at ", Figure(self.mm)));
        format!(
            "{} {diameter} × {length}: {}{} atm, chart diameter, in water",
            self.product,
            off.unwrap_or_default(),
            plain(self.atm)
        )
    }
}
