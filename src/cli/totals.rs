//! `boxcall case totals`: what many cases came to.

use super::out::{Out, Outcome, Reader};
use super::typed::ArgErrors;
use crate::ledger;
use crate::report;
use crate::room::Fault;
use clap::Args as Arguments;
use std::path::Path;

/// Total over many cases: sizes used, sizes missing when called, waste by reason
#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  boxcall case totals --since 2026-01-01\n  \
                        boxcall case totals --since 2026-01-01 --format csv > totals.csv")]
pub(super) struct Args {
    /// Cases that began on this day or later [default: all]
    #[arg(long, value_name = "DATE")]
    since: Option<String>,
    /// table, csv or json [default: table, with --json json]
    #[arg(long, value_name = "FORMAT")]
    format: Option<String>,
}

crate::measure::words! {
    /// A form in which totals are told.
    Form { Table = "table", Csv = "csv", Json = "json" }
}

pub(super) fn run(args: &Args, dir: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let since = errors.date("since", args.since.as_deref());
    let form: Option<Form> = errors.parse("format", args.format.as_deref());
    errors.settle()?;
    let form = form.unwrap_or(if out.is_json() { Form::Json } else { Form::Table });
    let room = out.room_of_journal(dir)?;
    let sums = ledger::sums(&room.journal()?, &room.catalogue, since);
    let currency = &room.policy.currency;
    match form {
        Form::Table => out.words(Reader::Person, &report::totals_table(&sums, currency)),
        Form::Csv => out.words(Reader::Program, &report::totals_csv(&sums, currency, &room.statement())),
        Form::Json => out.json(&sums),
    }
}
