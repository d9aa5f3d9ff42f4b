//! Currents of a meter over time: the three phases and the neutral.

use num_complex::Complex64;

use electrical::{Phase, in_common_frame, neutral_current};
use metering::{COMPUTED_NEUTRAL, IntervalTable, PhasePhasors};
use site::Quantity;

/// Rms over time and largest interval mean of a current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Level {
    /// Rms over time. (A)
    pub(crate) rms_a: f64,
    /// Largest interval mean. (A)
    pub(crate) max_a: f64,
}

/// The measured neutral, where it is logged.
pub(crate) fn measured_neutral(table: &IntervalTable) -> Option<Level> {
    let neutral = table.values(Quantity::NeutralCurrent)?;
    level(&neutral, mean_squares(table, Quantity::NeutralCurrent))
}

/// Largest sample of the neutral, measured or else computed, where samples are faster than the
/// interval. (A)
pub(crate) fn neutral_sample_max(table: &IntervalTable) -> Option<f64> {
    let measured = Quantity::NeutralCurrent.name();
    let largest = |name: &str| {
        let samples = table.named(&format!("{name}_max"))?;
        samples.into_iter().flatten().reduce(f64::max)
    };
    largest(&measured).or_else(|| largest(COMPUTED_NEUTRAL))
}

/// The neutral as computed from each sample, where samples are faster than the interval: loads
/// that take turns within an interval show what they draw.
pub(crate) fn sampled_neutral(table: &IntervalTable) -> Option<Level> {
    let squares = table.named(&format!("{COMPUTED_NEUTRAL}_mean_square"))?;
    level(&table.named(COMPUTED_NEUTRAL)?, Some(squares))
}

/// The neutral as the phasor sum of the phase currents. Third harmonics are not in it, and loads
/// that take turns within an interval show less than they draw.
pub(crate) fn computed_neutral(phasors: &PhasePhasors) -> Option<Level> {
    let [l1, l2, l3] = &phasors.series;
    let sums: Vec<Option<f64>> = l1
        .iter()
        .zip(l2)
        .zip(l3)
        .map(|((l1, l2), l3)| neutral_of([(*l1)?, (*l2)?, (*l3)?]))
        .collect();
    level(&sums, None)
}

fn neutral_of(own_frames: [Complex64; 3]) -> Option<f64> {
    let common = Phase::ALL.map(|phase| in_common_frame(own_frames[phase.index()], phase));
    neutral_current(common).ok().map(Complex64::norm)
}

/// The phase currents, where all three are known.
pub(crate) fn phases(table: &IntervalTable, phasors: &PhasePhasors) -> Option<[Level; 3]> {
    let [l1, l2, l3] = Phase::ALL.map(|phase| {
        let squares = mean_squares(table, Quantity::Current(phase));
        level(&magnitudes(table, phasors, phase), squares)
    });
    Some([l1?, l2?, l3?])
}

/// Magnitude of a phase current in each interval: as logged, else of the phasor. (A)
pub(crate) fn magnitudes(
    table: &IntervalTable,
    phasors: &PhasePhasors,
    phase: Phase,
) -> Vec<Option<f64>> {
    let size = |current: &Option<Complex64>| current.map(Complex64::norm);
    match table.values(Quantity::Current(phase)) {
        // Some meters give a current the sign of its power.
        Some(logged) => logged.iter().map(|amps| amps.map(f64::abs)).collect(),
        None => phasors.series[phase.index()].iter().map(size).collect(),
    }
}

/// Mean squares of samples that are faster than the interval. (A²)
fn mean_squares(table: &IntervalTable, quantity: Quantity) -> Option<Vec<Option<f64>>> {
    table.named(&format!("{}_mean_square", quantity.name()))
}

/// `squares` are the mean squares within the intervals; without them those of the means are taken.
fn level(means: &[Option<f64>], squares: Option<Vec<Option<f64>>>) -> Option<Level> {
    let max_a = means.iter().flatten().copied().reduce(f64::max)?;
    let squares = squares.unwrap_or_else(|| {
        means
            .iter()
            .map(|mean| mean.map(|amps| amps * amps))
            .collect()
    });
    let known: Vec<f64> = squares.into_iter().flatten().collect();
    let rms_a = (known.iter().sum::<f64>() / known.len() as f64).sqrt();
    Some(Level { rms_a, max_a })
}

#[cfg(test)]
mod tests {
    use super::*;
    use metering::phase_phasors;

    fn table(columns: &[(&str, &[f64])]) -> IntervalTable {
        let rows = columns[0].1.len() as i64;
        let columns = columns.iter().map(|(name, values)| {
            (
                (*name).to_owned(),
                values.iter().copied().map(Some).collect(),
            )
        });
        IntervalTable::of_columns(
            (0..rows).map(|row| row * 900).collect(),
            900,
            columns.collect(),
        )
    }

    /// Bird, Electrical Circuit Theory and Technology, 2nd ed., chapter 19, problem 4: 24, 18 and
    /// 12 kW at 240 V and unity power factor are 100, 75 and 50 A and leave 43.3 A = 25·√3.
    #[test]
    fn three_lamps_groups_leave_the_published_neutral() {
        let table = table(&[
            ("current_l1_a", &[100.0]),
            ("current_l2_a", &[75.0]),
            ("current_l3_a", &[50.0]),
        ]);
        let phasors = phase_phasors(&table, 240.0).expect("three currents");
        let neutral = computed_neutral(&phasors).expect("a neutral");
        assert!((neutral.rms_a - 25.0 * 3.0_f64.sqrt()).abs() < 1e-9);
        let phases = phases(&table, &phasors).expect("three levels");
        assert!((phases[1].max_a - 75.0).abs() < 1e-9);
    }

    /// Mehta & Mehta, Principles of Power System, 4th ed., example 14.9: 20 kW at unity on L1,
    /// 28.75 kVA at 0.866 lagging on L2 and 0.866 leading on L3, at 230 V, leave 129.54 A.
    #[test]
    fn angles_come_from_active_and_reactive_power() {
        let (p, q) = (28.75 * 0.75_f64.sqrt(), 28.75 / 2.0);
        let table = table(&[
            ("current_l1_a", &[20_000.0 / 230.0]),
            ("current_l2_a", &[125.0]),
            ("current_l3_a", &[125.0]),
            ("active_power_l1_kw", &[20.0]),
            ("active_power_l2_kw", &[p]),
            ("active_power_l3_kw", &[p]),
            ("reactive_power_l1_kvar", &[0.0]),
            ("reactive_power_l2_kvar", &[q]),
            ("reactive_power_l3_kvar", &[-q]),
        ]);
        let phasors = phase_phasors(&table, 230.0).expect("three currents");
        let neutral = computed_neutral(&phasors).expect("a neutral");
        assert!((neutral.max_a - 129.54).abs() < 0.02, "{}", neutral.max_a);
    }

    /// 6 A for half the time is 6/√2 A rms; the mean squares of faster samples count instead where
    /// they are known: √((36 + 64)/2).
    #[test]
    fn rms_is_over_time_and_uses_fast_samples() {
        let slow = table(&[("current_n_a", &[6.0, 0.0])]);
        let neutral = measured_neutral(&slow).expect("it is logged");
        assert!((neutral.rms_a - 18.0_f64.sqrt()).abs() < 1e-12);
        assert!((neutral.max_a - 6.0).abs() < 1e-12);
        assert_eq!(neutral_sample_max(&slow), None);
        let fast = table(&[
            ("current_n_a", &[5.0, 7.0]),
            ("current_n_a_max", &[11.0, 9.0]),
            ("current_n_a_mean_square", &[36.0, 64.0]),
        ]);
        let neutral = measured_neutral(&fast).expect("it is logged");
        assert!((neutral.rms_a - 50.0_f64.sqrt()).abs() < 1e-12);
        assert!((neutral.max_a - 7.0).abs() < 1e-12);
        assert_eq!(neutral_sample_max(&fast), Some(11.0));
    }
}
