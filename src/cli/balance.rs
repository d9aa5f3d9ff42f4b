//! `tapoff balance`: which phase each load that can be moved should be on.

use clap::Args;

use super::Outcome;
use super::arguments::{
    FailOn, IgnoreArguments, InputArguments, OutputArguments, OutputFormat, SearchArguments,
};
use super::chart::{after_moves, write_chart};
use super::loading::load_and_warn;
use super::output::{deliver, write_guarded};
use crate::app::Console;
use crate::export;
use balance::{self, BalanceResult, Settings};
use electrical::is_above_limit;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff balance sample-data/ferry-lane
  tapoff balance sample-data/ferry-lane --max-moves 3
  tapoff balance sample-data/ferry-lane --fix 'Timber kiln=L3' --fix 'Steam box=L1'
  tapoff balance sample-data/ferry-lane --ignore high-resistance-joint
  tapoff balance sample-data/ferry-lane --format json -o plan.json

EXIT STATUS
  0  done
  1  done, and a limit is exceeded now (with `--fail-on limit`)
  2  could not be done";

/// Arguments of `tapoff balance`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct BalanceArguments {
    #[command(flatten)]
    pub(super) input: InputArguments,

    #[command(flatten)]
    search: SearchArguments,

    #[command(flatten)]
    ignore: IgnoreArguments,

    /// For scripts: exit status 1 in this case
    #[arg(long, value_enum, value_name = "CONDITION", help_heading = "Output")]
    fail_on: Option<FailOn>,

    /// Also write the proof that no allocation has a lower neutral current, as JSON
    #[arg(long, value_name = "FILE", help_heading = "Output")]
    certificate: Option<std::path::PathBuf>,

    /// Also write the circuit chart of each board that the moves change, as it is after the moves: a page to print
    #[arg(long, value_name = "FILE", help_heading = "Output")]
    circuit_chart: Option<std::path::PathBuf>,

    #[command(flatten)]
    pub(super) output: OutputArguments,
}

pub(super) fn execute(
    arguments: &BalanceArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    let also = [&arguments.certificate, &arguments.circuit_chart].map(Option::as_deref);
    arguments.output.refuse_existing(&also)?;
    let loaded = load_and_warn(&arguments.input, console)?;
    let fixes = arguments.search.fixes(&loaded.site)?;
    let ignored = arguments.ignore.findings(&loaded.site)?;
    let settings = Settings {
        held_back: diagnosis::held_back(&loaded.site, &loaded.logs, &ignored),
        ..arguments.search.settings()
    };
    let mut result = balance::balance_with(&loaded.site, &loaded.logs, &settings, &fixes)?;
    let phases = match loaded.phases {
        Some(phases) => phases,
        None => phases::identify(&loaded.site, &loaded.logs),
    };
    result.phase_doubt = phases::plan_doubt(&loaded.site, &loaded.logs, &phases, &result);
    let text = match arguments.output.format {
        OutputFormat::Text => export::balance_text(&loaded.site, &result),
        OutputFormat::Json => export::json(&result)?,
        OutputFormat::Csv => export::balance_csv(&loaded.site.name, &result)?,
    };
    if let Some(file) = &arguments.certificate {
        let proof = balance::certificate(&loaded.site, &loaded.logs, &settings, &fixes)?;
        let proof = serde_json::to_string(&proof)?;
        write_guarded(file, proof.as_bytes(), arguments.output.force)?;
    }
    if let Some(file) = &arguments.circuit_chart {
        let changed = after_moves(&loaded.site, &result);
        write_chart(file, &loaded.site, &changed, arguments.output.force)?;
    }
    deliver(&text, &arguments.output, console)?;
    Ok(Outcome {
        limit_exceeded: arguments.fail_on == Some(FailOn::Limit) && exceeds(&result),
    })
}

/// Is a limit of the supply, a board or a circuit exceeded now, before any move?
fn exceeds(result: &BalanceResult) -> bool {
    result.nodes.iter().any(|node| {
        let Some(now) = &node.before else {
            return false;
        };
        let phase = node.phase_limit_a.is_some_and(|limit| {
            now.phase_max_a
                .iter()
                .any(|&amps| is_above_limit(amps, limit))
        });
        let neutral = node
            .neutral_limit_a
            .is_some_and(|limit| is_above_limit(now.neutral_max_a, limit));
        phase || neutral
    })
}
