//! `boxcall inflate`: pressure for a wanted diameter, and back.

use super::out::{Out, Outcome};
use super::products::Products;
use super::typed::ArgErrors;
use crate::catalogue::inflate::{in_water, in_water_on_delivery_balloon};
use crate::catalogue::{Inflate, Platform};
use crate::room::Fault;
use crate::units::{Diameter, Pressure, plain};
use clap::Args as Arguments;
use std::path::Path;

/// Read a product's own pressure chart
#[derive(Debug, Arguments)]
#[command(allow_negative_numbers = true)]
#[command(after_help = "Example:\n  boxcall inflate --product fell --diameter 3.0 --to 3.1")]
pub(super) struct Args {
    #[command(flatten)]
    products: Products,
    /// The product's id, as in its file
    #[arg(long, value_name = "ID")]
    product: String,
    /// The labelled diameter
    #[arg(long, value_name = "MM")]
    diameter: String,
    /// The diameter wanted; the pressure is the answer
    #[arg(long, value_name = "MM")]
    to: Option<String>,
    /// The pressure; the diameter is the answer
    #[arg(long, value_name = "ATM")]
    at: Option<String>,
    /// The largest chart diameter allowed at a whole atmosphere, such as the vessel
    #[arg(long, value_name = "MM")]
    ceiling: Option<String>,
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let diameter = errors.positive("diameter", Some(&args.diameter), "mm").map(Diameter::from_mm);
    let to = errors.positive("to", args.to.as_deref(), "mm").map(Diameter::from_mm);
    let at = errors.positive("at", args.at.as_deref(), "atm").map(Pressure::from_atm);
    let ceiling = errors.positive("ceiling", args.ceiling.as_deref(), "mm").map(Diameter::from_mm);
    if args.to.is_some() == args.at.is_some() {
        let message = "give one of --to MM (which pressure?) and --at ATM (which diameter?)";
        errors.add("to", args.to.as_deref().unwrap_or_default(), message.into());
    }
    errors.settle()?;
    let opened = args.products.open(room)?;
    let product = opened.catalogue.product(&args.product).ok_or_else(|| {
        let ids: Vec<&str> = opened.catalogue.products.iter().map(|product| product.id.as_str()).collect();
        let hint = crate::intake::hint(&args.product, &ids);
        Fault::not_found(format!("product {:?}: no product file has this id{hint}", args.product))
    })?;
    let diameter = diameter.unwrap_or(Diameter::from_mm(0.0));
    let platform = product.platform(diameter).ok_or_else(|| {
        let made: Vec<String> = product.diameters.iter().map(|p| p.diameter.to_string()).collect();
        let made = if made.is_empty() { "none".into() } else { made.join(", ") };
        Fault::not_found(format!(
            "{} is not made in diameter {}; labelled are {made}",
            product.id, args.diameter
        ))
    })?;
    let answer = match (to, at) {
        (Some(wanted), _) => Inflate::to(platform, wanted),
        (None, pressure) => Inflate::at(platform, pressure.unwrap_or(Pressure::from_atm(0.0))),
    };
    let answer = answer.below(ceiling);
    let stent = product.kind.is_stent();
    out.answer(&answer, || words(&answer, platform, ceiling, stent))?;
    Ok(Outcome::answered(answer.reachable && answer.within_ceiling != Some(false)))
}

/// `stent`: the chart is that of its own balloon.
fn words(answer: &Inflate, platform: &Platform, ceiling: Option<Diameter>, stent: bool) -> String {
    let marks = platform.marks();
    let asked = match (answer.atm, answer.diameter_mm) {
        (Some(atm), Some(mm)) => format!("{mm:.2} mm at {} atm", plain(atm)),
        (Some(atm), None) => format!("{} atm", plain(atm)),
        (None, Some(mm)) => format!("{mm:.2} mm"),
        (None, None) => String::new(),
    };
    if !answer.reachable {
        let why = match &platform.chart {
            None => "the product's file has no chart".to_string(),
            Some(chart) => {
                let (first, last) = (chart.rows.first(), chart.rows.last());
                let ends =
                    first.zip(last).map(|((p, d), (q, e))| format!("{d} at {p} atm to {e} at {q} atm"));
                format!("the chart holds {}", ends.unwrap_or_default())
            }
        };
        return format!("{asked}: not reachable; {why} ({marks})");
    }
    let between = if answer.interpolated { ", between two rows" } else { "" };
    let mut text = format!("{asked} (chart diameter, in water{between}; {marks})");
    if let Some(atm) = answer.atm {
        let pressure = Pressure::from_atm(atm);
        let (kpa, bar, psi) = (pressure.kpa(), pressure.bar(), pressure.psi());
        text.push_str(&format!("\n= {kpa:.0} kPa, {bar:.1} bar, {psi:.0} psi"));
    }
    match (ceiling, answer.whole_atm(platform)) {
        (Some(ceiling), _) if answer.within_ceiling == Some(false) => {
            text.push_str(&format!("\nno: above {ceiling} mm, the largest allowed"));
        }
        (_, None) => {}
        (Some(ceiling), _) => match answer.whole_atm_within(platform, ceiling) {
            Some((whole, there)) => {
                text.push_str(&format!("\nat {whole} atm: {there} mm, not above {ceiling}"));
            }
            None => text.push_str(&format!("\nno whole atmosphere beside it stays at or below {ceiling} mm")),
        },
        (None, Some((whole, Some(there)))) => text.push_str(&format!("\nat {whole} atm: {there} mm")),
        (None, Some((whole, None))) => text.push_str(&format!("\n{whole} atm lies past the chart")),
    }
    let water = if stent { in_water_on_delivery_balloon() } else { in_water() };
    text.push_str(&format!("\n{water}"));
    text
}
