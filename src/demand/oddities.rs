//! What a meter's energies say against each other or against what it measures.

use chrono::DateTime;

use super::draw::{Draw, integral, logs_what_is_returned};
use crate::electrical::Phase;
use crate::metering::{IntervalTable, MeterLog, QualityEntry, register_steps};
use crate::site::{Measured, Meter, Quantity};
use crate::units::format_kwh;

/// Accuracy class of a meter that declares none (IEC 62053-21). (%)
const USUAL_CLASS_PCT: f64 = 1.0;
/// The last digit in which energies are shown: less than that below zero is zero drift. (kWh)
const LEAST_ENERGY_KWH: f64 = 0.1;

/// The entries of one meter, worst first.
pub(super) fn oddities(log: &MeterLog, meter: &Meter, draw: &Draw) -> Vec<QualityEntry> {
    [
        negative_energy(log, meter, draw),
        register_mismatch(log, meter, draw),
        unknown_power(&log.table, draw),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// A consumer that gives energy on balance, in total or on one phase. The supply may, and so may
/// what has a column for energy or power returned.
fn negative_energy(log: &MeterLog, meter: &Meter, draw: &Draw) -> Option<QualityEntry> {
    if meter.measures == Measured::SUPPLY || logs_what_is_returned(&log.table) {
        return None;
    }
    let table = &log.table;
    let total = draw.power_kw.clone().map(|power| (None, power));
    let phases = Phase::ALL.into_iter().filter_map(|phase| {
        let power = table.values(Quantity::ActivePower(Some(phase)))?;
        Some((Some(phase), power))
    });
    let (phase, power, energy) = total.into_iter().chain(phases).find_map(|(phase, power)| {
        let energy = integral(&power, table.interval_s())?;
        (energy <= -LEAST_ENERGY_KWH).then_some((phase, power, energy))
    })?;
    let below: Vec<i64> = starts_where(table, &power, |kw| kw < 0.0);
    let place = phase.map_or_else(String::new, |phase| format!(" on {phase}"));
    let register = match log.register_energy_kwh {
        Some(counted) if phase.is_none() && !draw.from_register => {
            format!("; its register counted {}", format_kwh(counted))
        }
        _ => String::new(),
    };
    Some(entry(
        "negative-energy",
        &below,
        format!(
            "{}{place} on balance: a consumer seems to give energy; a current transformer may be the wrong way \
             round, or its leads exchanged; not corrected{register}",
            format_kwh(energy)
        ),
    ))
}

/// The register against the integral of power, over the time that both saw.
fn register_mismatch(log: &MeterLog, meter: &Meter, draw: &Draw) -> Option<QualityEntry> {
    let table = &log.table;
    let power = draw.power_kw.as_ref().filter(|_| !draw.from_register)?;
    let readings = table.values(Quantity::EnergyImport(None))?;
    let seen = Comparison::of(table, &readings, power)?;
    let class_pct = meter.class_pct.unwrap_or(USUAL_CLASS_PCT);
    let digit = last_digit(&readings, register_factor(meter));
    let allowed = class_pct / 100.0 * seen.register_kwh.abs() + digit * seen.stretches as f64;
    let off = seen.integral_kwh - seen.register_kwh;
    if off.abs() <= allowed {
        return None;
    }
    Some(entry(
        "register-mismatch",
        &[seen.from_s, seen.to_s],
        format!(
            "the register counted {}, the power adds up to {} over the same time; class {class_pct} and the \
             register's last digit allow a difference of {}; both are shown, neither is corrected",
            format_kwh(seen.register_kwh),
            format_kwh(seen.integral_kwh),
            format_kwh(allowed),
        ),
    ))
    .map(|entry| QualityEntry { count: 1, ..entry })
}

/// Rows that hold readings, but no power.
fn unknown_power(table: &IntervalTable, draw: &Draw) -> Option<QualityEntry> {
    let power = draw.power_kw.as_ref().filter(|_| !draw.from_register)?;
    let unknown: Vec<i64> = table
        .starts()
        .iter()
        .zip(power)
        .filter_map(|(&start, kw)| kw.is_none().then_some(start))
        .collect();
    (!unknown.is_empty()).then(|| {
        entry(
            "unknown-power",
            &unknown,
            "intervals with readings but without active power; their energy is not counted"
                .to_owned(),
        )
    })
}

/// Register and integral over the intervals that both saw.
#[derive(Debug)]
struct Comparison {
    register_kwh: f64,
    /// Of the power drawn: an import register does not count backwards.
    integral_kwh: f64,
    /// Stretches without interruption; each begins and ends with a digit cut off.
    stretches: usize,
    from_s: i64,
    to_s: i64,
}

impl Comparison {
    fn of(
        table: &IntervalTable,
        readings: &[Option<f64>],
        power: &[Option<f64>],
    ) -> Option<Comparison> {
        let interval_s = i64::from(table.interval_s());
        let hours = interval_s as f64 / 3600.0;
        let drawn_at = |start: i64| {
            let row = table.starts().binary_search(&start).ok()?;
            power[row].map(|kw| kw.max(0.0) * hours)
        };
        // Whether a register was read at the start or at the end of its interval is not always
        // as declared: the power of both is added up, and the closer sum counts.
        let (mut register_kwh, mut before_kwh, mut after_kwh) = (0.0, 0.0, 0.0);
        let (mut stretches, mut from_s, mut to_s) = (0, None, None);
        for step in register_steps(table.starts(), readings) {
            if step.to_s - step.from_s != interval_s {
                continue;
            }
            let (Some(before), Some(after)) = (drawn_at(step.from_s), drawn_at(step.to_s)) else {
                continue;
            };
            register_kwh += step.energy_kwh;
            before_kwh += before;
            after_kwh += after;
            stretches += usize::from(to_s != Some(step.from_s));
            from_s = from_s.or(Some(step.from_s));
            to_s = Some(step.to_s);
        }
        let distance = |sum: f64| (sum - register_kwh).abs();
        let integral_kwh = if distance(before_kwh) < distance(after_kwh) {
            before_kwh
        } else {
            after_kwh
        };
        Some(Comparison {
            register_kwh,
            integral_kwh,
            stretches,
            from_s: from_s?,
            to_s: to_s?,
        })
    }
}

/// Factor between the register's own figures and those in the table.
fn register_factor(meter: &Meter) -> f64 {
    let scale = meter
        .columns
        .iter()
        .find(|column| column.quantity == Quantity::EnergyImport(None))
        .map_or(1.0, |column| column.scale);
    (scale * meter.ratio).abs()
}

/// The last digit that the register shows: the largest power of ten of which all readings are
/// multiples. (kWh)
fn last_digit(readings: &[Option<f64>], factor: f64) -> f64 {
    let digits = [100.0, 10.0, 1.0, 0.1, 0.01, 0.001];
    let is_multiple = |digit: f64, reading: f64| {
        let steps = reading / factor / digit;
        (steps - steps.round()).abs() < 1e-6 * steps.abs().max(1.0)
    };
    let digit = digits.into_iter().find(|&digit| {
        readings
            .iter()
            .flatten()
            .all(|&reading| is_multiple(digit, reading))
    });
    digit.unwrap_or(0.0) * factor
}

fn starts_where(
    table: &IntervalTable,
    values: &[Option<f64>],
    test: impl Fn(f64) -> bool,
) -> Vec<i64> {
    let rows = table.starts().iter().zip(values);
    rows.filter_map(|(&start, value)| value.filter(|&value| test(value)).map(|_| start))
        .collect()
}

fn entry(kind: &str, times: &[i64], note: String) -> QualityEntry {
    let time = |at: Option<&i64>| at.and_then(|&at| DateTime::from_timestamp(at, 0));
    QualityEntry {
        kind: kind.to_owned(),
        count: times.len() as u64,
        first: time(times.first()),
        last: time(times.last()),
        note,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demand::samples::{draw_of, log_of, meter};
    use crate::site::Node;

    const BOARD: Measured = Measured::Node(Node::Board(0));

    fn found(measures: Measured, columns: &[(Quantity, Vec<Option<f64>>)]) -> Vec<QualityEntry> {
        let rows = columns[0].1.len() as i64;
        let columns = columns
            .iter()
            .map(|(quantity, values)| (quantity.name(), values.clone()));
        let starts = (0..rows).map(|row| row * 3600).collect();
        let log = log_of(IntervalTable::of_columns(starts, 3600, columns.collect()));
        oddities(&log, &meter("m", measures), &draw_of(&log.table))
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
            entries[0].note.starts_with("-2.0 kWh on balance"),
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
            entries[0].note.starts_with("-4.0 kWh on L2"),
            "{}",
            entries[0].note
        );
    }

    /// 30 h at 10 kW between readings are 300 kWh; class 1 allows 3 kWh and the last digit 1 kWh.
    #[test]
    fn a_register_off_by_more_than_class_and_digit_is_named() {
        let power = || (Quantity::ActivePower(None), vec![Some(10.0); 31]);
        let register = |per_hour: f64| {
            let readings = (0..31).map(|hour| Some((1000.0 + f64::from(hour) * per_hour).floor()));
            (Quantity::EnergyImport(None), readings.collect())
        };
        assert!(found(BOARD, &[power(), register(9.9)]).is_empty());
        let entries = found(BOARD, &[power(), register(9.8)]);
        assert_eq!(kinds(&entries), [("register-mismatch", 1)]);
        assert!(entries[0].note.contains("294.0 kWh"), "{}", entries[0].note);
        assert!(entries[0].note.contains("300.0 kWh"), "{}", entries[0].note);
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

    #[test]
    fn digits_of_registers() {
        let digit = |readings: &[f64], factor| last_digit(&known(readings), factor);
        assert!((digit(&[48210.4, 48210.6, 50000.0], 1.0) - 0.1).abs() < 1e-12);
        assert!((digit(&[1230.0, 1250.0], 1.0) - 10.0).abs() < 1e-12);
        // Read as 12.3 and multiplied by 20.
        assert!((digit(&[246.0, 248.0], 20.0) - 2.0).abs() < 1e-12);
    }
}
