//! `tapoff diagnose`: what the logs say is wrong, worst first.

use clap::Args;

use super::Outcome;
use super::arguments::{Format, Input, Output};
use super::loading::load_and_warn;
use super::output::deliver;
use crate::app::Console;
use crate::electrical::Phase;
use crate::{diagnosis, export};

const EXAMPLES: &str = "\
EXAMPLES
  tapoff diagnose sample-data/ferry-lane
  tapoff diagnose sample-data/ferry-lane --phase L2 --format json

EXIT STATUS
  0  done, whatever was found
  2  could not be done";

/// Arguments of `tapoff diagnose`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    #[command(flatten)]
    input: Input,

    /// Only what concerns this phase: L1, L2 or L3 [default: everything]
    #[arg(long, value_name = "PHASE", help_heading = "Input")]
    phase: Option<Phase>,

    #[command(flatten)]
    pub(super) output: Output,
}

pub(super) fn execute(arguments: &Arguments, console: &mut Console<'_>) -> anyhow::Result<Outcome> {
    let loaded = load_and_warn(&arguments.input, console)?;
    let mut result = diagnosis::diagnose(&loaded.site, &loaded.logs);
    if let Some(phase) = arguments.phase {
        result.keep_phase(phase);
    }
    let text = match arguments.output.format {
        Format::Text => export::diagnosis_text(&loaded.site, &result),
        Format::Json => export::json(&result)?,
        Format::Csv => export::diagnosis_csv(&result)?,
    };
    deliver(&text, &arguments.output, console)?;
    Ok(Outcome::default())
}
