//! `tapoff check`: reads everything and lists what is wrong or missing.

use clap::Args;

use super::arguments::{InputArguments, OutputArguments, OutputFormat, ZoneArguments};
use super::exceeded::exceeded_limits;
use super::loading::load_for_energy;
use super::output::deliver;
use super::{CommandError, Outcome};
use crate::app::Console;
use baseline::read_variables;
use export::{self, CheckResult};
use message::{InputErrors, Level};
use metering::reading_doubts;
use site::doubts;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff check sample-data/ferry-lane
  tapoff check sample-data/ferry-lane --format json

EXIT STATUS
  0  everything can be read and no measured current exceeds a limit
  1  everything can be read, and a measured current exceeds a limit
  2  something cannot be read";

/// Arguments of `tapoff check`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct CheckArguments {
    #[command(flatten)]
    pub(super) input: InputArguments,

    #[command(flatten)]
    zone: ZoneArguments,

    #[command(flatten)]
    pub(super) output: OutputArguments,
}

pub(super) fn execute(
    arguments: &CheckArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    arguments.output.refuse_existing(&[])?;
    let mut loaded = load_for_energy(&arguments.input, arguments.zone.timezone)?;
    read_variables(&loaded.site, &mut loaded.warnings);
    if loaded.warnings.has_errors() {
        return Err(CommandError::Input(InputErrors(loaded.warnings)).into());
    }
    for message in doubts(&loaded.site) {
        loaded.warnings.push(message);
    }
    for message in reading_doubts(&loaded.site, &loaded.logs.rounds) {
        loaded.warnings.push(message);
    }
    let energy = demand::analyse(&loaded.site, &loaded.logs, None);
    let result = CheckResult::new(
        &loaded.site,
        &loaded.logs,
        &energy,
        loaded.warnings.of(Level::Warning).cloned().collect(),
        exceeded_limits(&loaded.site, &loaded.logs, &energy),
    );
    let text = match arguments.output.format {
        OutputFormat::Text => export::check_text(&result, &loaded.warnings),
        OutputFormat::Json => export::json(&result)?,
        OutputFormat::Csv => export::check_csv(&loaded.site.name, &result)?,
    };
    deliver(&text, &arguments.output, console)?;
    Ok(Outcome {
        limit_exceeded: !result.exceeded.is_empty(),
    })
}
