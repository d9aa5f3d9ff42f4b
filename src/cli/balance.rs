//! `tapoff balance`: which phase each movable load should be on.

use clap::Args;

use super::Outcome;
use super::arguments::{FailOn, Format, Input, Output};
use super::loading::load_and_warn;
use super::output::deliver;
use crate::app::Console;
use crate::balance::{self, BalanceResult, Settings};
use crate::export;
use crate::site::Site;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff balance sample-data/ferry-lane
  tapoff balance sample-data/ferry-lane --max-moves 3
  tapoff balance sample-data/ferry-lane --format json -o plan.json

EXIT STATUS
  0  done
  1  done, and a limit is exceeded now (with `--fail-on limit`)
  2  could not be done";

/// Arguments of `tapoff balance`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    #[command(flatten)]
    pub(super) input: Input,

    /// Most moves allowed [default: any number]
    #[arg(long, value_name = "MOVES", help_heading = "Search")]
    max_moves: Option<usize>,

    /// Seed of the search; the same seed gives the same answer
    #[arg(
        long,
        value_name = "NUMBER",
        default_value_t = 1,
        help_heading = "Search"
    )]
    seed: u64,

    /// Exit status 1 when this is so
    #[arg(long, value_enum, value_name = "WHAT", help_heading = "Output")]
    fail_on: Option<FailOn>,

    #[command(flatten)]
    pub(super) output: Output,
}

pub(super) fn execute(arguments: &Arguments, console: &mut Console<'_>) -> anyhow::Result<Outcome> {
    let loaded = load_and_warn(&arguments.input, console)?;
    let settings = Settings {
        seed: arguments.seed,
        max_moves: arguments.max_moves,
        ..Settings::default()
    };
    let result = balance::balance(&loaded.site, &loaded.logs, &settings)?;
    let text = match arguments.output.format {
        Format::Text => export::balance_text(&loaded.site, &result),
        Format::Json => export::json(&result)?,
        Format::Csv => export::balance_csv(&result)?,
    };
    deliver(&text, &arguments.output, console)?;
    Ok(Outcome {
        limit_exceeded: arguments.fail_on == Some(FailOn::Limit) && exceeds(&loaded.site, &result),
    })
}

/// Is a limit of the supply or a board exceeded as things are now?
fn exceeds(site: &Site, result: &BalanceResult) -> bool {
    result
        .nodes
        .iter()
        .zip(site.nodes())
        .any(|(figures, node)| {
            let Some(now) = &figures.before else {
                return false;
            };
            let phase = site
                .phase_limit_a(node)
                .is_some_and(|limit| now.phase_max_a.iter().any(|&amps| amps > limit));
            let neutral = site
                .neutral_limit_a(node)
                .is_some_and(|limit| now.neutral_max_a > limit);
            phase || neutral
        })
}
