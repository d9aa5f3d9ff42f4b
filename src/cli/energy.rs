//! `tapoff energy`: kWh, demand, load factor, neutral and unbalance of each meter.

use clap::Args;

use super::Outcome;
use super::arguments::{FailOn, Format, Input, Output};
use super::check::exceeds;
use super::loading::load_and_warn;
use super::output::deliver;
use crate::app::Console;
use crate::{demand, export};

const EXAMPLES: &str = "\
EXAMPLES
  tapoff energy sample-data/ferry-lane
  tapoff energy sample-data/ferry-lane --from 2026-03-09 --to 2026-03-16 --window-min 15
  tapoff energy sample-data/ferry-lane --format csv -o energy.csv

EXIT STATUS
  0  done
  1  done, and a limit is exceeded (with `--fail-on limit`)
  2  could not be done";

/// Arguments of `tapoff energy`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    #[command(flatten)]
    pub(super) input: Input,

    /// Length of a demand block: 15, 30 or 60 [default: `demand_window_min` of site.toml]
    #[arg(long, value_name = "MINUTES", value_parser = read_window, help_heading = "Input")]
    window_min: Option<u32>,

    /// Exit status 1 when this is so
    #[arg(long, value_enum, value_name = "WHAT", help_heading = "Output")]
    fail_on: Option<FailOn>,

    #[command(flatten)]
    pub(super) output: Output,
}

fn read_window(text: &str) -> Result<u32, String> {
    match text {
        "15" => Ok(15),
        "30" => Ok(30),
        "60" => Ok(60),
        _ => Err("expected 15, 30 or 60".to_owned()),
    }
}

pub(super) fn execute(arguments: &Arguments, console: &mut Console<'_>) -> anyhow::Result<Outcome> {
    let loaded = load_and_warn(&arguments.input, console)?;
    let result = demand::analyse(&loaded.site, &loaded.logs, arguments.window_min);
    let text = match arguments.output.format {
        Format::Text => export::energy_text(&loaded.site, &result),
        Format::Json => export::json(&result)?,
        Format::Csv => export::energy_csv(&result)?,
    };
    deliver(&text, &arguments.output, console)?;
    Ok(Outcome {
        limit_exceeded: arguments.fail_on == Some(FailOn::Limit)
            && exceeds(&loaded.site, &result).next().is_some(),
    })
}
