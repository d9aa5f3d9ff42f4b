//! `tapoff phases`: which phase each load is on, by logs, readings and switching tests.

use std::path::PathBuf;

use chrono::DateTime;
use clap::Args;

use super::arguments::{InputArguments, OutputArguments, OutputFormat};
use super::loading::{Loaded, load_as_listed};
use super::output::{deliver, refuse_own_list, write_guarded};
use super::{CommandError, Outcome};
use crate::app::Console;
use crate::export;
use message::{InputErrors, Messages};
use metering::read_typed_switching;
use site::Measured;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff phases sample-data/ferry-lane
  tapoff phases sample-data/ferry-lane --from 2026-03-16 --format json
  tapoff phases sample-data/ferry-lane --worth --write machines-corrected.csv
  tapoff phases sample-data/ferry-lane --switched \"2026-04-02 14:05 Paint fan on\"

Write `unknown` into the column `connection` of the machine list for a load that is installed on a phase that nobody
knows. Sub-meters are compared with the nearest meter above them that logs its three phases, by power and by voltage. Loads
without a meter are recognised by switching tests (switching.csv: time, machine, state), by steps of their size, power factor
and schedule that recur in a log of up to five minutes, by
the times of a schedule that one load has for itself, and by rounds of clamp readings (readings.csv).

EXIT STATUS
  0  done
  2  could not be done";

/// Arguments of `tapoff phases`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct PhasesArguments {
    #[command(flatten)]
    input: InputArguments,

    /// Switching tests typed here instead of in switching.csv: "14:05 Lathe off, 14:07 Lathe on"; a time without a date is
    /// of the day before it in the row, the first of the last day of the log
    #[arg(long, value_name = "TESTS")]
    switched: Vec<String>,

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
    let mut loaded = load_as_listed(&arguments.input, console)?;
    let typed_note = add_typed_tests(&mut loaded, &arguments.switched)?;
    let mut result = phases::identify(&loaded.site, &loaded.logs);
    result.notes.extend(typed_note);
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

/// Adds the tests of the command line to those of the site; what was assumed about their day.
fn add_typed_tests(loaded: &mut Loaded, typed: &[String]) -> anyhow::Result<Option<String>> {
    if typed.is_empty() {
        return Ok(None);
    }
    let site = &loaded.site;
    let supply = site.meter_of(Measured::SUPPLY);
    let log = supply.and_then(|meter| loaded.logs.of(meter));
    let last = log.and_then(|log| log.table.starts().last().copied());
    let day = last
        .and_then(|last| DateTime::from_timestamp(last, 0))
        .map(|last| last.with_timezone(&site.timezone).date_naive());
    let mut messages = Messages::new();
    let text = typed.join("\n");
    let tests = read_typed_switching(site, "--switched", &text, day, &mut messages);
    if messages.has_errors() {
        return Err(CommandError::Input(InputErrors(messages)).into());
    }
    let first = tests
        .first()
        .map(|test| test.at.with_timezone(&site.timezone));
    let note = first
        .filter(|first| Some(first.date_naive()) == day)
        .map(|first| {
            format!(
                "the switching tests of the command line begin at {}",
                units::format_moment(first)
            )
        });
    loaded.logs.switching.extend(tests);
    loaded.logs.switching.sort_by_key(|test| test.at);
    Ok(note)
}
