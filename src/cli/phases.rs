//! `tapoff phases`: which phase each load is on, by logs, readings and switching tests.

use std::path::PathBuf;

use clap::Args;

use super::Outcome;
use super::arguments::{InputArguments, OutputArguments, OutputFormat};
use super::loading::load_as_listed;
use super::output::{deliver, refuse_own_list, write_guarded};
use crate::app::Console;
use crate::export;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff phases sample-data/ferry-lane
  tapoff phases sample-data/ferry-lane --from 2026-03-16 --format json
  tapoff phases sample-data/ferry-lane --worth --write machines-corrected.csv

Write `unknown` into the column `connection` of the machine list for a load that is installed on a phase that nobody
knows. Sub-meters are compared with the nearest meter above them that logs its three phases, by power and by voltage. Loads
without a meter are recognised by switching tests (switching.csv: time, machine, state), by steps of their size, power factor
and schedule that recur in a log of up to five minutes, and by rounds of clamp readings (readings.csv).

EXIT STATUS
  0  done
  2  could not be done";

/// Arguments of `tapoff phases`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct PhasesArguments {
    #[command(flatten)]
    input: InputArguments,

    /// Also what it is worth to know the phase of each load in doubt: a plan is made for each of its possible connections
    #[arg(long)]
    worth: bool,

    /// Write the machine list with the phases that were found to this file; the site's own list is not changed
    #[arg(long, value_name = "FILE", help_heading = "Output")]
    write: Option<PathBuf>,

    #[command(flatten)]
    pub(super) output: OutputArguments,
}

pub(super) fn execute(
    arguments: &PhasesArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    let also = [arguments.write.as_deref()];
    arguments.output.refuse_existing(&also)?;
    let loaded = load_as_listed(&arguments.input, console)?;
    let mut result = phases::identify(&loaded.site, &loaded.logs);
    if arguments.worth {
        let held_back = diagnosis::held_back(&loaded.site, &loaded.logs, &[]);
        result.worth_knowing =
            phases::worth_knowing(&loaded.site, &loaded.logs, &result, &held_back);
    }
    if let Some(file) = &arguments.write {
        refuse_own_list(&loaded.site, file)?;
        let list = export::corrected_list(&loaded.site.machine_list, &result)?;
        write_guarded(file, list.as_bytes(), arguments.output.force)?;
    }
    let text = match arguments.output.format {
        OutputFormat::Text => export::phases_text(&loaded.site, &result),
        OutputFormat::Json => export::json(&result)?,
        OutputFormat::Csv => export::phases_table(&result).csv()?,
    };
    deliver(&text, &arguments.output, console)?;
    Ok(Outcome::default())
}
