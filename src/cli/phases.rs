//! `tapoff phases`: which phase each load is on, by logs, readings and switching tests.

use clap::Args;

use super::Outcome;
use super::arguments::{InputArguments, OutputArguments, OutputFormat};
use super::loading::load_as_listed;
use super::output::deliver;
use crate::app::Console;
use crate::export;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff phases sample-data/ferry-lane
  tapoff phases sample-data/ferry-lane --from 2026-03-16 --format json

Write `unknown` into the column `connection` of the machine list for a load that is installed on a phase that nobody
knows. Sub-meters are compared with the nearest meter above them that logs its three phases.

EXIT STATUS
  0  done
  2  could not be done";

/// Arguments of `tapoff phases`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct PhasesArguments {
    #[command(flatten)]
    input: InputArguments,

    #[command(flatten)]
    pub(super) output: OutputArguments,
}

pub(super) fn execute(
    arguments: &PhasesArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    arguments.output.refuse_existing(&[])?;
    let loaded = load_as_listed(&arguments.input, console)?;
    let result = phases::identify(&loaded.site, &loaded.logs);
    let text = match arguments.output.format {
        OutputFormat::Text => export::phases_text(&loaded.site, &result),
        OutputFormat::Json => export::json(&result)?,
        OutputFormat::Csv => export::phases_table(&result).csv()?,
    };
    deliver(&text, &arguments.output, console)?;
    Ok(Outcome::default())
}
