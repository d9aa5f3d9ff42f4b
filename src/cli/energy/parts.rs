//! The energy by parts, and compared with another period.

use super::EnergyArguments;
use crate::cli::CommandError;
use crate::cli::loading::{Loaded, load_what_exists};
use demand::{self, Breakdown, BreakdownBy, BreakdownInput, Comparison, EnergyResult};
use message::{InputErrors, Messages};
use metering::read_words;

/// Compares the parts of this period with those of another.
pub(super) fn compare_parts(
    result: &mut EnergyResult,
    arguments: &EnergyArguments,
    settings: &demand::DemandSettings,
    ways: &[BreakdownBy],
    periods: Comparison,
) -> anyhow::Result<()> {
    let other = load_what_exists(&arguments.input.over(periods.other_from, periods.other_to))?;
    let there = demand::analyse_with(&other.site, &other.logs, settings);
    let mut parts = Vec::new();
    for by in ways {
        parts.extend(broken_down(&other, &there, by)?.parts);
    }
    let own = demand::Side {
        meters: &result.meters,
        from: periods.from,
        to: periods.to,
    };
    let others = demand::Side {
        meters: &there.meters,
        from: periods.other_from,
        to: periods.other_to,
    };
    let mut own_parts = result.breakdown.take().unwrap_or_default();
    let mut notes = demand::compare(&other.site, &mut own_parts, own, &parts, others);
    let (days, other_days) = periods.days();
    if days != other_days {
        notes.push(format!(
            "the periods have {days} and {other_days} days: the differences are not adjusted for their lengths"
        ));
    }
    result.breakdown = Some(own_parts);
    result.breakdown_notes.extend(notes);
    result.comparison = Some(periods);
    Ok(())
}

/// The energy by parts; for a text column of the logs, its cells are read first.
pub(super) fn broken_down(
    loaded: &Loaded,
    result: &EnergyResult,
    by: &BreakdownBy,
) -> anyhow::Result<Breakdown> {
    let ground = BreakdownInput {
        site: &loaded.site,
        logs: &loaded.logs,
        meters: &result.meters,
        bill: result.cost.as_ref(),
    };
    let BreakdownBy::Column(column) = by else {
        return Ok(demand::breakdown(&ground, by, None));
    };
    let mut messages = Messages::new();
    match read_words(&loaded.site, &loaded.logs, column, &mut messages) {
        Some(words) => Ok(demand::breakdown(&ground, by, Some(&words))),
        None => Err(CommandError::Input(InputErrors(messages)).into()),
    }
}
