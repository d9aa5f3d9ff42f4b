//! What the supply's meter saw, as the tariff wants it.

use super::blocks::Block;
use super::energy::{lagging_by_interval, leading_by_interval};
use super::quarter_hours::QuarterHours;
use super::quarters::quarter_hours;
use analysis::NetPower;
use metering::MeterLog;
use tariff::{Usage, UsageBlock, UsageQuarter};

/// Starts of quarter-hours, Unix seconds, ascending, with an amount of each.
type QuarterAmounts<'a> = &'a [(i64, f64)];

/// Quarter-hours and blocks of a meter; export counts as zero, with a note.
pub(crate) fn usage(
    (lagging, leading): (Option<QuarterAmounts<'_>>, Option<QuarterAmounts<'_>>),
    quarters: &QuarterHours,
    blocks: &[Block],
    energy_kwh: Option<f64>,
) -> Usage {
    let dated: f64 = quarters.iter().map(|quarter| quarter.energy_kwh).sum();
    let returned = quarters.iter().map(|quarter| quarter.export_kwh);
    Usage {
        quarters: quarters
            .iter()
            .map(|quarter| UsageQuarter {
                start_s: quarter.start_s,
                covered_s: quarter.import_covered_s,
                kwh: quarter.import_kwh,
                estimated_kwh: quarter.estimated_kwh,
                export_kwh: quarter.export_kwh,
                lagging_kvarh: at(lagging, quarter.start_s),
                leading_kvarh: at(leading, quarter.start_s),
            })
            .collect(),
        blocks: blocks.iter().map(block).collect(),
        returned_kwh: returned.sum(),
        undated_kwh: energy_kwh.map_or(0.0, |all| all - dated),
        ..Usage::of("", 0, 0)
    }
}

pub(crate) fn block(block: &Block) -> UsageBlock {
    UsageBlock {
        start_s: block.start_s,
        kw: block.kw,
        kva: block.kva,
        kvar: block.kvar,
    }
}

fn at(sums: Option<QuarterAmounts<'_>>, start_s: i64) -> Option<f64> {
    let sums = sums?;
    let at = sums.binary_search_by_key(&start_s, |(start_s, _)| *start_s);
    at.ok().map(|at| sums[at].1)
}

/// Leading energy by quarter-hour, ascending; `None` where it is not known. (kvarh)
pub(crate) fn leading_by_quarter(log: &MeterLog, draw: NetPower<'_>) -> Option<Vec<(i64, f64)>> {
    leading_by_interval(log, draw).map(|values| by_quarter(log, values))
}

/// Lagging energy by quarter-hour, ascending; `None` if only registers give it. (kvarh)
pub(crate) fn lagging_by_quarter(log: &MeterLog, draw: NetPower<'_>) -> Option<Vec<(i64, f64)>> {
    lagging_by_interval(log, draw).map(|values| by_quarter(log, values))
}

/// Amounts of intervals by quarter-hour, ascending; longer intervals are spread evenly over theirs.
fn by_quarter(log: &MeterLog, values: impl Iterator<Item = Option<f64>>) -> Vec<(i64, f64)> {
    let interval_s = i64::from(log.table.interval_s());
    let mut sums: Vec<(i64, f64)> = Vec::new();
    for (&start, value) in log.table.starts().iter().zip(values) {
        let Some(value) = value else { continue };
        for (quarter, seconds) in quarter_hours(start, start + interval_s) {
            let amount = value * seconds / interval_s as f64;
            match sums.last_mut() {
                Some((last, sum)) if *last == quarter => *sum += amount,
                _ => sums.push((quarter, amount)),
            }
        }
    }
    sums
}
