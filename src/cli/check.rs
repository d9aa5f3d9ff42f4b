//! `tapoff check`: reads everything and lists what is wrong or missing.

use clap::Args;

use super::arguments::{InputArguments, OutputArguments, OutputFormat};
use super::loading::load;
use super::output::deliver;
use super::{CommandError, Outcome};
use crate::app::Console;
use baseline::read_variables;
use demand::{self, EnergyResult};
use electrical::is_above_limit;
use export::{self, CheckResult, ExceededLimit};
use message::{InputErrors, Level};
use site::{Measured, Site};

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
    pub(super) output: OutputArguments,
}

pub(super) fn execute(
    arguments: &CheckArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    arguments.output.refuse_existing(&[])?;
    let mut loaded = load(&arguments.input)?;
    read_variables(&loaded.site, &mut loaded.warnings);
    if loaded.warnings.has_errors() {
        return Err(CommandError::Input(InputErrors(loaded.warnings)).into());
    }
    let energy = demand::analyse(&loaded.site, &loaded.logs, None);
    let result = CheckResult::new(
        &loaded.site,
        &loaded.logs,
        &energy,
        loaded.warnings.of(Level::Warning).cloned().collect(),
        exceeds(&loaded.site, &energy).collect(),
    );
    let text = match arguments.output.format {
        OutputFormat::Text => export::check_text(&result, &loaded.warnings),
        OutputFormat::Json => export::json(&result)?,
        OutputFormat::Csv => export::check_csv(&result)?,
    };
    deliver(&text, &arguments.output, console)?;
    Ok(Outcome {
        limit_exceeded: !result.exceeded.is_empty(),
    })
}

/// Measured currents above the limits of the supply, board or circuit that the meter measures.
pub(super) fn exceeds<'r>(
    site: &'r Site,
    energy: &'r EnergyResult,
) -> impl Iterator<Item = ExceededLimit> + 'r {
    energy.meters.iter().flat_map(move |meter| {
        let measured = site
            .meters
            .iter()
            .find(|known| known.id == meter.id)
            .map(|known| known.measures);
        let Some(Measured::Node(node)) = measured else {
            return Vec::new();
        };
        let mut found = Vec::new();
        let mut compare = |conductor: &'static str, value: Option<f64>, limit: Option<f64>| {
            if let (Some(value_a), Some(limit_a)) = (value, limit)
                && is_above_limit(value_a, limit_a)
            {
                found.push(ExceededLimit {
                    at: site.node_name(node).to_owned(),
                    conductor,
                    value_a,
                    limit_a,
                });
            }
        };
        for (index, conductor) in ["L1", "L2", "L3"].into_iter().enumerate() {
            let value = meter.phase_max_a.map(|phases| phases[index]);
            compare(conductor, value, site.phase_limit_a(node));
        }
        compare("N", meter.neutral_max_a, site.neutral_limit_a(node));
        found
    })
}
