//! `boxcall label`: a label written, to try a scanner on or for a room's own re-labelled spares.

use super::out::{Out, Outcome, Reader};
use super::typed::ArgErrors;
use crate::label::write::{self, Content, Ground};
use crate::room::{self, Fault};
use crate::udi::DeviceId;
use chrono::Datelike;
use clap::{Args as Arguments, ValueEnum};
use serde::Serialize;

/// Write a GS1 DataMatrix and the line under it
#[derive(Debug, Arguments)]
#[command(
    after_help = "Nothing is checked against a catalogue: a written label is only as true as what is typed.\n\n\
    Example:\n  boxcall label --di 09521001300292 --lot K7 --use-by 2027-02-28 --picture terminal"
)]
pub(super) struct Args {
    /// The device identifier, a GTIN
    #[arg(long, value_name = "GTIN")]
    di: String,
    #[arg(long, value_name = "LOT")]
    lot: Option<String>,
    #[arg(long, value_name = "SN")]
    serial: Option<String>,
    #[arg(long, value_name = "DATE")]
    use_by: Option<String>,
    /// How the symbol is drawn
    #[arg(long, value_enum, default_value_t = Picture::Terminal)]
    picture: Picture,
    /// The terminal has dark letters on a light ground
    #[arg(long)]
    light: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Picture {
    /// Half blocks, to scan from the screen
    Terminal,
    /// Signs of ASCII
    Ascii,
    /// SVG, to print
    Svg,
}

#[derive(Debug, Serialize)]
struct Answer {
    human_readable: String,
    /// The bytes of the symbol, FNC1 as GS, in hexadecimal.
    element_string: String,
    svg: String,
}

pub(super) fn run(args: &Args, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let di: Option<DeviceId> = match DeviceId::parse(&args.di) {
        Ok(di) => Some(di),
        Err(fault) => {
            errors.add("di", &args.di, format!("di {:?}: {fault}", args.di));
            None
        }
    };
    let use_by = errors.date("use-by", args.use_by.as_deref());
    errors.settle()?;
    // What could not be read has been told.
    let Some(di) = di else { return Err(Fault::bad_input("di: give a GTIN")) };
    let content = Content { di, lot: args.lot.clone(), serial: args.serial.clone(), use_by };
    let year = room::today().year();
    let refused = |fault: write::WriteError| Fault::bad_input(fault.to_string());
    let bytes = write::element_string(&content, year).map_err(refused)?;
    let line = write::human_readable(&content, year).map_err(refused)?;
    let symbol = write::gs1_matrix(&bytes).map_err(refused)?;
    let ground = if args.light { Ground::Light } else { Ground::Dark };
    let answer =
        Answer { human_readable: line.clone(), element_string: hex::encode(&bytes), svg: symbol.svg(0.5) };
    let reader = if args.picture == Picture::Svg { Reader::Program } else { Reader::Person };
    out.answer_for(reader, &answer, || match args.picture {
        Picture::Terminal => format!("{}{line}", symbol.half_blocks(ground)),
        Picture::Ascii => format!("{}{line}", symbol.ascii(ground)),
        Picture::Svg => symbol.svg(0.5),
    })
}
