//! What a meter's energies say against each other or against what it measures.

use analysis::{NetPower, integral};
use electrical::Phase;
use metering::{Action, IntervalTable, Logged, MeterLog, QualityEntry};
use site::{Measured, Meter, Quantity};
use units::format_kwh;

/// The last digit in which energies are shown: less than that below zero is zero drift. (kWh)
const LEAST_ENERGY_KWH: f64 = 0.1;

/// The entries of one meter, worst first.
pub(crate) fn data_problems(
    log: &MeterLog,
    meter: &Meter,
    draw: NetPower<'_>,
    may_return: bool,
) -> Vec<QualityEntry> {
    [
        negative_energy(log, meter, draw).filter(|_| !may_return),
        unknown_power(&log.table, draw),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Net export of a load, in total or on one phase. The supply may export, and so may
/// what has a column for energy or export.
fn negative_energy(log: &MeterLog, meter: &Meter, draw: NetPower<'_>) -> Option<QualityEntry> {
    if meter.measures == Measured::SUPPLY {
        return None;
    }
    let table = &log.table;
    let total = draw.power_kw.map(|power| (None, power));
    // A phase that gives what the others draw has its own entry.
    let named =
        |entry: &QualityEntry| matches!(entry.kind.as_str(), "reversed-phase" | "negative-phase");
    let is_named = log.quality.iter().any(named);
    let phases = Phase::ALL.into_iter().filter_map(|phase| {
        if is_named {
            return None;
        }
        let power = table.values(Quantity::ActivePower(Some(phase)))?;
        Some((Some(phase), power))
    });
    let (phase, power, energy) = total.into_iter().chain(phases).find_map(|(phase, power)| {
        let energy = integral(power.iter(), table.interval_s())?;
        (energy <= -LEAST_ENERGY_KWH).then_some((phase, power, energy))
    })?;
    let below: Vec<i64> = starts_where(table, power, |kw| kw < 0.0);
    let place = phase.map_or_else(String::new, |phase| format!(" on {phase}"));
    let register = match log.register_energy_kwh {
        Some(counted) if phase.is_none() && !draw.from_register => {
            format!("; its register counted {}", format_kwh(counted))
        }
        _ => String::new(),
    };
    let entry = QualityEntry::at_times(
        "negative-energy",
        &below,
        format!(
            "{}{place} net: a load that shows export; a current transformer may be reversed, or S1 and S2 swapped; not corrected{register}",
            format_kwh(energy)
        ),
    );
    Some(entry.with(Action::Kept))
}

/// Rows that hold readings, but no power.
fn unknown_power(table: &IntervalTable, draw: NetPower<'_>) -> Option<QualityEntry> {
    let power = draw.power_kw.filter(|_| !draw.from_register)?;
    let unknown: Vec<i64> = table
        .starts()
        .iter()
        .zip(power.iter())
        .filter_map(|(&start, kw)| kw.is_none().then_some(start))
        .collect();
    let apart = table.has(Quantity::EnergyInterval) && table.has(Quantity::EnergyExportInterval);
    let note = if apart {
        "intervals with import or export alone: each is counted, but net energy and demand are not known"
    } else {
        "intervals with readings but no active power; their energy is not counted"
    };
    (!unknown.is_empty()).then(|| {
        QualityEntry::at_times("unknown-power", &unknown, note.to_owned()).with(Action::LeftOut)
    })
}

fn starts_where(table: &IntervalTable, values: Logged<'_>, test: impl Fn(f64) -> bool) -> Vec<i64> {
    let rows = table.starts().iter().zip(values.iter());
    rows.filter_map(|(&start, value)| value.filter(|&value| test(value)).map(|_| start))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{draw_of, log_of, meter};
    use site::Node;

    const BOARD: Measured = Measured::Node(Node::Board(0));

    fn found(measures: Measured, columns: &[(Quantity, Vec<Option<f64>>)]) -> Vec<QualityEntry> {
        let rows = columns[0].1.len() as i64;
        let columns = columns
            .iter()
            .map(|(quantity, values)| (quantity.name(), values.clone()));
        let starts = (0..rows).map(|row| row * 3600).collect();
        let log = log_of(IntervalTable::of_columns(starts, 3600, columns.collect()));
        let may_return = analysis::logs_what_is_returned(&log.table);
        data_problems(&log, &meter("m", measures), draw_of(&log.table), may_return)
    }

    fn kinds(entries: &[QualityEntry]) -> Vec<(&str, u64)> {
        entries
            .iter()
            .map(|entry| (entry.kind.as_str(), entry.count))
            .collect()
    }

    fn known(values: &[f64]) -> Vec<Option<f64>> {
        values.iter().copied().map(Some).collect()
    }

    #[test]
    fn a_consumer_that_gives_energy_is_named_and_the_supply_is_not() {
        let power = [(Quantity::ActivePower(None), known(&[-2.0, 1.0, -1.0]))];
        let entries = found(BOARD, &power);
        assert_eq!(kinds(&entries), [("negative-energy", 2)]);
        assert!(
            entries[0].note.starts_with("−2.0\u{a0}kWh net"),
            "{}",
            entries[0].note
        );
        assert!(found(Measured::SUPPLY, &power).is_empty());
        let with_export = [
            (Quantity::ActivePower(None), known(&[-2.0])),
            (Quantity::EnergyExport, known(&[7.0])),
        ];
        assert!(found(BOARD, &with_export).is_empty());
    }

    #[test]
    fn one_reversed_phase_is_found_behind_a_positive_total() {
        let entries = found(
            BOARD,
            &[
                (Quantity::ActivePower(None), known(&[4.0, 4.0])),
                (Quantity::ActivePower(Some(Phase::L2)), known(&[-2.0, -2.0])),
            ],
        );
        assert_eq!(kinds(&entries), [("negative-energy", 2)]);
        assert!(
            entries[0].note.starts_with("−4.0\u{a0}kWh on L2"),
            "{}",
            entries[0].note
        );
    }

    #[test]
    fn a_register_that_went_on_in_a_gap_of_power_is_no_mismatch() {
        let mut power = vec![Some(10.0); 31];
        power[10..20].fill(None);
        let readings = (0..31).map(|hour| Some(1000.0 + 10.0 * f64::from(hour)));
        let entries = found(
            BOARD,
            &[
                (Quantity::ActivePower(None), power),
                (Quantity::EnergyImport(None), readings.collect()),
            ],
        );
        assert_eq!(kinds(&entries), [("unknown-power", 10)]);
    }
}
