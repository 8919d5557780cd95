//! Post-dilatation: which balloons give a wanted diameter, by their own charts.

#![allow(clippy::cast_possible_truncation, reason = "a number of steps: small, whole and above 0")]

use crate::catalogue::{Catalogue, InDate, Piece, Platform, Product};
use crate::lesion::{BadInput, believe};
use crate::measure::{Caution, CautionCode, Kind};
use crate::policy::Believed;
use crate::sources::cite;
use crate::units::{Diameter, Length, Pressure, TOLERANCE, at_most, plain, same};
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

/// The object of `post-dilate --json`. Nothing rounded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Balloons {
    /// The diameter to be reached.
    pub target_mm: f64,
    /// Best first; empty is a clean no, and `cautions` says why.
    pub balloons: Vec<Balloon>,
    /// What is to be known besides.
    pub cautions: Vec<Caution>,
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
    /// Where its chart, in water, gives the target.
    pub atm: f64,
    /// From 1.
    pub rank: u32,
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

/// Every balloon of these kinds (none named: non-compliant) that gives the target: labelled at most the target,
/// target within its chart and its rated burst, no longer than the stretch. Ranked by nearest labelled diameter,
/// then least pressure, then longest, then product and REF by bytes. `stock` is the pieces on the shelf and today.
///
/// A target above the expansion limit or the vessel is a clean no.
///
/// # Errors
/// A number outside what is believed, a kind that is not a balloon; every fault at once.
pub fn choose(
    catalogue: &Catalogue,
    requested: &[Kind],
    ask: &Ask,
    believed: &Believed,
    stock: Option<(&[Piece], NaiveDate)>,
) -> Result<Balloons, Vec<BadInput>> {
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
    let cautions = too_large(ask);
    if !cautions.is_empty() {
        return Ok(Balloons { target_mm, balloons: Vec::new(), cautions });
    }
    let stock = stock.map(|(pieces, today)| InDate::new(pieces, today));
    let mut balloons = Vec::new();
    for (product, platform, pressure) in reaching(catalogue, &kinds, ask.to) {
        let fitting = platform.boxes.iter().filter(|pack| at_most(pack.length.mm(), ask.within.mm()));
        balloons.extend(fitting.map(|pack| Balloon {
            product: product.id.clone(),
            diameter_mm: platform.diameter.mm(),
            length_mm: pack.length.mm(),
            reference: pack.reference.clone(),
            atm: pressure.atm(),
            rank: 0,
            on_shelf: stock.as_ref().map(|stock| stock.count(&pack.di)),
        }));
    }
    rank(&mut balloons, target_mm);
    let cautions =
        if balloons.is_empty() { vec![why_none(catalogue, &kinds, ask)] } else { vec![in_water()] };
    Ok(Balloons { target_mm, balloons, cautions })
}

/// Every labelled diameter whose chart gives the target, and where.
fn reaching<'a>(
    catalogue: &'a Catalogue,
    kinds: &[Kind],
    to: Diameter,
) -> Vec<(&'a Product, &'a Platform, Pressure)> {
    let products = catalogue.products.iter().filter(|product| kinds.contains(&product.kind));
    let platforms = products.flat_map(|product| product.diameters.iter().map(move |d| (product, d)));
    platforms
        .filter(|(_, platform)| at_most(platform.diameter.mm(), to.mm()))
        .filter_map(|(product, platform)| {
            let pressure = platform.chart.as_ref()?.pressure_for(to)?;
            let burst = platform.rated_burst()?;
            at_most(pressure.atm(), burst.atm()).then_some((product, platform, pressure))
        })
        .collect()
}

fn rank(balloons: &mut [Balloon], target: f64) {
    // Whole billionths order totally, binary fractions allowed for.
    let whole = |value: f64| (value / TOLERANCE).round() as i64;
    balloons.sort_by(|a, b| {
        let key = |balloon: &Balloon| {
            let excess = whole(target - balloon.diameter_mm);
            (excess, whole(balloon.atm), Reverse(whole(balloon.length_mm)))
        };
        let bytes = |balloon: &Balloon| (balloon.product.clone(), balloon.reference.clone());
        key(a).cmp(&key(b)).then_with(|| bytes(a).cmp(&bytes(b)))
    });
    for (place, balloon) in balloons.iter_mut().enumerate() {
        balloon.rank = place as u32 + 1;
    }
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

fn why_none(catalogue: &Catalogue, kinds: &[Kind], ask: &Ask) -> Caution {
    let names: Vec<&str> = kinds.iter().map(|kind| kind.name()).collect();
    let (names, to) = (names.join(" or "), ask.to);
    let platforms = || {
        catalogue.products.iter().filter(|product| kinds.contains(&product.kind)).flat_map(|p| &p.diameters)
    };
    let shortest = reaching(catalogue, kinds, to)
        .into_iter()
        .flat_map(|(_, platform, _)| platform.boxes.iter().map(|pack| pack.length.mm()))
        .reduce(f64::min);
    let without = platforms()
        .filter(|platform| platform.chart.is_none() && at_most(platform.diameter.mm(), to.mm()))
        .count();
    let (code, message) = if platforms().next().is_none() {
        (CautionCode::BalloonsNoneOfKind, format!("The catalogue holds no {names}."))
    } else if let Some(shortest) = shortest {
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
        let message =
            format!("No chart of a {names} labelled {to} or less gives {to} within rated burst.{lacking}");
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
    /// One plain line: `furrow 3.50 × 12: 14.4 atm, chart diameter, in water`.
    pub fn in_words(&self) -> String {
        let (diameter, length) = (Diameter::from_mm(self.diameter_mm), plain(self.length_mm));
        format!("{} {diameter} × {length}: {} atm, chart diameter, in water", self.product, plain(self.atm))
    }
}
