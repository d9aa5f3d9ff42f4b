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

/// Energy between two readings of a register that follow one another, oddities set aside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct RegisterStep {
    /// Start of the interval with the earlier reading, Unix seconds.
    pub(crate) from_s: i64,
    /// Start of the interval with the later reading, Unix seconds.
    pub(crate) to_s: i64,
    /// What the register counted in between. [kWh]
    pub(crate) energy_kwh: f64,
}

/// The steps of a register: rollovers counted, resets and dips left out.
pub(crate) fn register_steps(starts: &[i64], readings: &[Option<f64>]) -> Vec<RegisterStep> {
    walk(starts, readings).steps
}

/// Consumption between the first and the last reading.
pub(super) fn consumption(starts: &[i64], readings: &[Option<f64>]) -> Consumption {
    let walk = walk(starts, readings);
    let quality = [
        walk.rollovers.entry(
            "register-rollover",
            "the register passed its last digit; one full range added",
        ),
        walk.resets.entry(
            "register-reset",
            "the register fell back (reset or exchange); counted on from there",
        ),
        walk.dips.entry(
            "register-dip",
            "the register fell and came back; the low readings are left out",
        ),
    ];
    Consumption {
        energy_kwh: (walk.readings > 1).then(|| total(&walk.steps)),
        quality: quality.into_iter().flatten().collect(),
    }
}

/// Energy of all steps. [kWh]
fn total(steps: &[RegisterStep]) -> f64 {
    // Not `sum`, which makes −0 of nothing.
    steps.iter().fold(0.0, |sum, step| sum + step.energy_kwh)
}

/// What a walk along the readings met.
#[derive(Debug, Default)]
struct Walk {
    readings: usize,
    steps: Vec<RegisterStep>,
    rollovers: Tally,
    resets: Tally,
    dips: Tally,
}

fn walk(starts: &[i64], readings: &[Option<f64>]) -> Walk {
    let known: Vec<(i64, f64)> = starts
        .iter()
        .zip(readings)
        .filter_map(|(&start, reading)| reading.map(|value| (start, value)))
        .collect();
    let mut walk = Walk {
        readings: known.len(),
        ..Walk::default()
    };
    let Some(&(mut from_s, mut before)) = known.first() else {
        return walk;
    };
    let mut index = 1;
    while index < known.len() {
        let (to_s, value) = known[index];
        let mut counted = Some(value - before);
        if value < before {
            if let Some(back) = returns(&known[index..], before) {
                walk.dips.add(Some(to_s));
                index += back;
                continue;
            }
            let range = range_of(before);
            let over = value + range - before;
            counted = (over <= range * LARGEST_ROLLOVER_SHARE).then_some(over);
            let met = if counted.is_some() {
                &mut walk.rollovers
            } else {
                &mut walk.resets
            };
            met.add(Some(to_s));
        }
        walk.steps.extend(counted.map(|energy_kwh| RegisterStep {
            from_s,
            to_s,
            energy_kwh,
        }));
        (from_s, before) = (to_s, value);
        index += 1;
    }
    walk
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

    fn outcome(readings: &[f64]) -> (Option<f64>, Vec<String>) {
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
        let (energy, kinds) = outcome(&[99_970.0, 45.0]);
        assert_eq!(
            (energy, kinds),
            (Some(75.0), vec!["register-rollover".to_owned()])
        );
        let (energy, _) = outcome(&[9999.90, 0.35]);
        assert!((energy.unwrap_or(0.0) - 0.45).abs() < 1e-9);
    }

    #[test]
    fn a_reset_counts_on_and_a_dip_is_left_out() {
        let (energy, kinds) = outcome(&[5000.0, 5010.0, 3.0, 5.0]);
        assert_eq!(
            (energy, kinds),
            (Some(12.0), vec!["register-reset".to_owned()])
        );
        let (energy, kinds) = outcome(&[5000.0, 5010.0, 0.0, 0.0, 5011.0, 5012.0]);
        assert_eq!(
            (energy, kinds),
            (Some(12.0), vec!["register-dip".to_owned()])
        );
        assert_eq!(outcome(&[7.0]).0, None);
    }

    #[test]
    fn steps_leave_out_resets_and_dips() {
        let readings = [10.0, 12.0, 0.0, 13.0, 2.0, 3.0].map(Some);
        let steps = register_steps(&[0, 1, 2, 3, 4, 5], &readings);
        let plain: Vec<(i64, i64, f64)> = steps
            .iter()
            .map(|step| (step.from_s, step.to_s, step.energy_kwh))
            .collect();
        // 12 → 0 → 13 is too far above for a dip of 12 kWh, so it is a reset and a rise.
        assert_eq!(plain, [(0, 1, 2.0), (2, 3, 13.0), (4, 5, 1.0)]);
        let readings = [100.0, 120.0, 0.0, 121.0].map(Some);
        let steps = register_steps(&[0, 1, 2, 3], &readings);
        assert_eq!((steps[1].from_s, steps[1].to_s), (1, 3));
    }
}
