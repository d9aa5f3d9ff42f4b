//! Which metered machines start when the voltage dips.

use super::view::View;
use electrical::Phase;
use metering::Logs;
use site::Quantity;

/// Rise of power that is a start. Common practice. (kW)
const START_KW: f64 = 0.3;
/// Fewest dips that a start must coincide with.
const FEWEST: usize = 3;
/// Share of the dips that a start must coincide with. (1)
const SHARE: f64 = 0.5;
/// How much oftener than at any other time a start must come with a dip: one that cycles all day
/// coincides with everything. (1)
const OFTENER: f64 = 3.0;

/// Machines on the phase whose starts coincide with dips, as words with their counts.
pub(super) fn starters(view: &View<'_>, logs: &Logs, phase: Phase, dips: &[i64]) -> Vec<String> {
    let site = view.site;
    (0..site.machines.len())
        .filter(|&index| site.machines[index].loads(phase))
        .filter_map(|index| {
            let log = logs.of(site.machine_meter(index)?)?;
            let total = log.table.values(Quantity::ActivePower(None));
            let power = total.or_else(|| log.table.values(Quantity::ActivePower(Some(phase))))?;
            let starts = log.table.starts();
            let rises = |row: usize| -> bool {
                // A reversed transformer shows a start as a fall.
                matches!((power.get(row - 1), power.get(row)), (Some(before), Some(after)) if after.abs() - before.abs() >= START_KW)
            };
            let usual = (1..power.len()).filter(|&row| rises(row)).count() as f64 / power.len().max(1) as f64;
            let with = dips
                .iter()
                .filter(|&&dip| {
                    let row = starts.partition_point(|&start| start <= dip);
                    row >= 2 && rises(row - 1)
                })
                .count();
            let share = with as f64 / dips.len().max(1) as f64;
            (with >= FEWEST && share >= SHARE && share >= OFTENER * usual).then(|| {
                format!(
                    "{} starts with {with} of {} dips",
                    site.machines[index].name,
                    dips.len()
                )
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{constant, on_phases, site, table};
    use metering::MeterLog;

    const METERS: &str = r#"
[[meter]]
id = "saw"
measures = "Saw"
files = "saw.csv"
[[meter]]
id = "compressor"
measures = "Compressor"
files = "compressor.csv"
"#;

    #[test]
    fn the_machine_that_starts_with_the_dips_is_named_and_one_that_cycles_is_not() {
        let site = site(&["Saw,DB1,L1,4", "Compressor,DB1,L1,2"], METERS);
        let dips = [100, 300, 500, 700].map(|row| crate::samples::MONDAY + 60 * row);
        let mut saw = constant(Quantity::ActivePower(None), 0.0, 1000);
        for row in [100, 300, 500, 700] {
            saw.1[row..row + 20].fill(4.0);
        }
        // On and off every other minute: it rises with every dip, and half of the time.
        let mut compressor = constant(Quantity::ActivePower(None), 0.0, 1000);
        for row in (0..1000).step_by(2) {
            compressor.1[row] = 2.0;
        }
        let main = table(60, on_phases(Quantity::Voltage, [230.0; 3], 1000));
        let logs = Logs {
            meters: vec![
                MeterLog::of_table(0, main),
                MeterLog::of_table(2, table(60, vec![saw])),
                MeterLog::of_table(3, table(60, vec![compressor])),
            ],
            ..Logs::default()
        };
        let view = View::new(&site, &logs.meters[0]);
        let named = starters(&view, &logs, Phase::L1, &dips);
        assert_eq!(named, ["Saw starts with 4 of 4 dips"]);
        assert!(starters(&view, &logs, Phase::L2, &dips).is_empty());
    }
}
