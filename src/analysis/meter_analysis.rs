//! One meter, interval by interval.

use num_complex::Complex64;

use super::course::Course;
use super::net_power::NetPower;
use super::values::Values;
use electrical::Phase;
use metering::{COMPUTED_NEUTRAL, IntervalTable, Logged, MeterLog, PhasePhasors};
use site::Quantity;

/// The neutral as measured and as computed, side by side.
#[derive(Clone, Debug)]
pub struct Neutral<'l> {
    /// As logged.
    pub measured: Option<Course<'l>>,
    /// From the phase currents: of each sample where samples are faster than the interval, so that loads that take
    /// turns within it show what they draw; else the phasor sum of the means. Third harmonics are not in it.
    pub computed: Option<Course<'l>>,
}

impl<'l> Neutral<'l> {
    /// The measured one where it is logged, else the computed one.
    #[must_use]
    pub fn known(&self) -> Option<&Course<'l>> {
        let measured = self.measured.as_ref();
        measured
            .filter(|course| course.level().is_some())
            .or(self.computed.as_ref())
    }
}

/// What one meter saw.
#[derive(Clone, Copy, Debug)]
pub struct MeterAnalysis<'l> {
    log: &'l MeterLog,
}

impl<'l> MeterAnalysis<'l> {
    /// Of a meter's log.
    #[must_use]
    pub fn of(log: &'l MeterLog) -> MeterAnalysis<'l> {
        MeterAnalysis { log }
    }

    fn table(self) -> &'l IntervalTable {
        &self.log.table
    }

    /// The phase currents as phasors; `None` unless each phase has a current or a power.
    #[must_use]
    pub fn phasors(self) -> Option<&'l PhasePhasors> {
        self.log.phasors()
    }

    /// Net active and reactive power.
    #[must_use]
    pub fn net_power(self) -> NetPower<'l> {
        NetPower::of(self.log)
    }

    /// The current of a phase: its magnitude as logged, else that of the phasor.
    #[must_use]
    pub fn phase(self, phase: Phase) -> Option<Course<'l>> {
        let means = if let Some(logged) = self.table().values(Quantity::Current(phase)) {
            // Some meters give a current the sign of its power.
            logged.iter().map(|amps| amps.map(f64::abs)).collect()
        } else {
            let series = &self.phasors()?.series[phase.index()];
            let size = |current: &Option<Complex64>| current.map(Complex64::norm);
            series.iter().map(size).collect()
        };
        Some(Course {
            means: Values::Computed(means),
            squares: self.mean_squares(&Quantity::Current(phase).name()),
        })
    }

    /// The three phase currents, where each has a current or a power.
    #[must_use]
    pub fn phases(self) -> Option<[Course<'l>; 3]> {
        self.phasors()?;
        let [l1, l2, l3] = Phase::ALL.map(|phase| self.phase(phase));
        Some([l1?, l2?, l3?])
    }

    /// The neutral, measured and computed.
    #[must_use]
    pub fn neutral(self) -> Neutral<'l> {
        let name = Quantity::NeutralCurrent.name();
        Neutral {
            measured: self.table().named(&name).map(|means| Course {
                means: Values::Logged(means),
                squares: self.mean_squares(&name),
            }),
            computed: self.sampled_neutral().or_else(|| self.phasor_sum()),
        }
    }

    /// Mean squares of samples that are faster than the interval. (A²)
    fn mean_squares(self, name: &str) -> Option<Logged<'l>> {
        self.table().named(&format!("{name}_mean_square"))
    }

    fn sampled_neutral(self) -> Option<Course<'l>> {
        let sampled = Course {
            squares: Some(self.mean_squares(COMPUTED_NEUTRAL)?),
            means: Values::Logged(self.table().named(COMPUTED_NEUTRAL)?),
        };
        sampled.level().is_some().then_some(sampled)
    }

    /// Magnitude of the sum of the phase currents, from the means of the intervals.
    #[must_use]
    pub fn phasor_sum(self) -> Option<Course<'l>> {
        let phasors = self.phasors()?;
        let magnitude = |row| phasors.sum(row).map(Complex64::norm);
        Some(Course {
            means: Values::Computed((0..self.table().len()).map(magnitude).collect()),
            squares: None,
        })
    }

    /// Largest sample of the neutral, measured or else computed, where samples are faster than the interval. (A)
    #[must_use]
    pub fn neutral_sample_max_a(self) -> Option<f64> {
        let largest = |name: &str| {
            let samples = self.table().named(&format!("{name}_max"))?;
            samples.iter().flatten().reduce(f64::max)
        };
        largest(&Quantity::NeutralCurrent.name()).or_else(|| largest(COMPUTED_NEUTRAL))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn log(columns: &[(&str, &[f64])]) -> MeterLog {
        let rows = columns[0].1.len() as i64;
        let columns = columns.iter().map(|(name, values)| {
            let values = values.iter().copied().map(Some).collect();
            ((*name).to_owned(), values)
        });
        let starts = (0..rows).map(|row| row * 900).collect();
        let table = IntervalTable::of_columns(starts, 900, columns.collect());
        MeterLog::of_table(0, table)
    }

    /// Bird, Electrical Circuit Theory and Technology, 2nd ed., chapter 19, problem 4: 24, 18 and
    /// 12 kW at 240 V and unity power factor are 100, 75 and 50 A and leave 43.3 A = 25·√3.
    #[test]
    fn three_lamps_groups_leave_the_published_neutral() {
        let log = log(&[
            ("current_l1_a", &[100.0]),
            ("current_l2_a", &[75.0]),
            ("current_l3_a", &[50.0]),
        ]);
        let analysis = MeterAnalysis::of(&log);
        let neutral = analysis.neutral();
        assert!(neutral.measured.is_none());
        let level = neutral.known().and_then(Course::level).expect("a neutral");
        assert!((level.rms_a - 25.0 * 3.0_f64.sqrt()).abs() < 1e-9);
        let l2 = analysis.phase(Phase::L2).and_then(|course| course.level());
        assert!(l2.is_some_and(|level| (level.max_a - 75.0).abs() < 1e-9));
    }

    /// Mehta & Mehta, Principles of Power System, 4th ed., example 14.9: 20 kW at unity on L1,
    /// 28.75 kVA at 0.866 lagging on L2 and 0.866 leading on L3, at 230 V, leave 129.54 A.
    #[test]
    fn angles_come_from_active_and_reactive_power() {
        let (p, q) = (28.75 * 0.75_f64.sqrt(), 28.75 / 2.0);
        let log = log(&[
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
        let neutral = MeterAnalysis::of(&log).neutral();
        let level = neutral.computed.and_then(|course| course.level());
        let max_a = level.expect("a neutral").max_a;
        assert!((max_a - 129.54).abs() < 0.02, "{max_a}");
    }

    /// Measured and computed stand side by side; the logged one is used.
    #[test]
    fn the_measured_neutral_is_the_known_one() {
        let log = log(&[
            ("current_l1_a", &[10.0, 10.0]),
            ("current_l2_a", &[10.0, 10.0]),
            ("current_l3_a", &[0.0, 0.0]),
            ("current_n_a", &[5.0, 7.0]),
            ("current_n_a_max", &[11.0, 9.0]),
            ("current_n_a_mean_square", &[36.0, 64.0]),
        ]);
        let analysis = MeterAnalysis::of(&log);
        let neutral = analysis.neutral();
        let level = neutral.known().and_then(Course::level).expect("a neutral");
        assert!((level.rms_a - 50.0_f64.sqrt()).abs() < 1e-12);
        let computed = neutral.computed.and_then(|course| course.level());
        assert!(computed.is_some_and(|level| (level.max_a - 10.0).abs() < 1e-12));
        assert_eq!(analysis.neutral_sample_max_a(), Some(11.0));
    }
}
