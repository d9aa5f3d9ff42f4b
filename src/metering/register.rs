//! Consumption from a cumulative register: rollover, reset, dips that return.

use super::quality::{QualityEntry, Tally};

/// A step larger than this share of the register's range is not consumption over a rollover.
const LARGEST_ROLLOVER_SHARE: f64 = 0.2;

/// What a register gave.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Consumption {
    /// Last minus first, rollovers and resets taken into account. (kWh)
    pub(super) energy_kwh: Option<f64>,
    pub(super) quality: Vec<QualityEntry>,
}

/// Consumption between the first and the last reading.
pub(super) fn consumption(starts: &[i64], readings: &[Option<f64>]) -> Consumption {
    let known: Vec<(i64, f64)> = starts
        .iter()
        .zip(readings)
        .filter_map(|(&start, reading)| reading.map(|value| (start, value)))
        .collect();
    let (mut rollovers, mut resets, mut dips) =
        (Tally::default(), Tally::default(), Tally::default());
    let mut total = 0.0;
    let mut index = 1;
    let mut previous = known.first().map(|&(_, value)| value);
    while index < known.len() {
        let (start, value) = known[index];
        let Some(before) = previous else { break };
        if value >= before {
            total += value - before;
            previous = Some(value);
        } else if let Some(back) = returns(&known[index..], before) {
            dips.add(Some(start));
            index += back;
            continue;
        } else {
            let range = range_of(before);
            let step = value + range - before;
            if step <= range * LARGEST_ROLLOVER_SHARE {
                rollovers.add(Some(start));
                total += step;
            } else {
                resets.add(Some(start));
            }
            previous = Some(value);
        }
        index += 1;
    }
    let quality = [
        rollovers.entry(
            "register-rollover",
            "the register passed its last digit; one full range added",
        ),
        resets.entry(
            "register-reset",
            "the register fell back (reset or exchange); counted on from there",
        ),
        dips.entry(
            "register-dip",
            "the register fell and came back; the low readings are left out",
        ),
    ];
    Consumption {
        energy_kwh: (known.len() > 1).then_some(total),
        quality: quality.into_iter().flatten().collect(),
    }
}

/// How many readings a dip lasts: soon afterwards the register stands where it stood before, or a
/// little above.
fn returns(readings: &[(i64, f64)], before: f64) -> Option<usize> {
    readings
        .iter()
        .take(20)
        .position(|&(_, value)| value >= before && value <= before + 0.01 * before.abs().max(1.0))
}

/// The range of a register that stands at `value`: the next power of ten.
fn range_of(value: f64) -> f64 {
    let mut range = 10.0;
    while range <= value {
        range *= 10.0;
    }
    range
}

#[cfg(test)]
mod tests {
    use super::*;

    fn total(readings: &[f64]) -> (Option<f64>, Vec<String>) {
        let starts: Vec<i64> = (0..readings.len() as i64).collect();
        let readings: Vec<Option<f64>> = readings.iter().copied().map(Some).collect();
        let result = consumption(&starts, &readings);
        (
            result.energy_kwh,
            result.quality.into_iter().map(|entry| entry.kind).collect(),
        )
    }

    /// A five-digit register from 99 970 over its end to 45 has counted 75; one with two decimals
    /// from 9999.90 to 0.35 has counted 0.45 (arithmetic of the rollover rule: add the range once).
    #[test]
    fn rollover_adds_the_range_once() {
        let (energy, kinds) = total(&[99_970.0, 45.0]);
        assert_eq!(
            (energy, kinds),
            (Some(75.0), vec!["register-rollover".to_owned()])
        );
        let (energy, _) = total(&[9999.90, 0.35]);
        assert!((energy.unwrap_or(0.0) - 0.45).abs() < 1e-9);
    }

    #[test]
    fn a_reset_counts_on_and_a_dip_is_left_out() {
        let (energy, kinds) = total(&[5000.0, 5010.0, 3.0, 5.0]);
        assert_eq!(
            (energy, kinds),
            (Some(12.0), vec!["register-reset".to_owned()])
        );
        let (energy, kinds) = total(&[5000.0, 5010.0, 0.0, 0.0, 5011.0, 5012.0]);
        assert_eq!(
            (energy, kinds),
            (Some(12.0), vec!["register-dip".to_owned()])
        );
        assert_eq!(total(&[7.0]).0, None);
    }
}
