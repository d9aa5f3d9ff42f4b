//! Three series of phase currents, and what they leave in the neutral.

use num_complex::Complex64;

use electrical::Phase;

/// Phase currents over the analysis intervals, each relative to its own phase voltage. (A)
///
/// A phasor is rms, its angle is taken from the voltage of the phase it flows on, lagging negative.
/// So the same three series describe a load on any phase: a *turn* of 1 puts what was
/// on L1 on L2, L2 on L3, L3 on L1; a turn of 2 goes one further. A turn keeps the sequence.
///
/// A load to neutral has its series on the first position and its turn is its phase; one between
/// two phases has its series on the first two positions, and its turn is its pair.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Currents {
    series: [Option<Vec<Complex64>>; 3],
    neutral_alone: Option<Vec<Complex64>>,
}

impl Currents {
    /// Nothing flows.
    #[must_use]
    pub fn none() -> Self {
        Self::default()
    }

    /// From the series on each of the three positions; `None` where nothing flows.
    #[must_use]
    pub fn new(series: [Option<Vec<Complex64>>; 3]) -> Self {
        Self {
            series,
            neutral_alone: None,
        }
    }

    /// With a current that flows in the neutral and on no phase, in the common frame.
    #[must_use]
    pub fn with_neutral_alone(self, series: Vec<Complex64>) -> Self {
        Self {
            neutral_alone: Some(series),
            ..self
        }
    }

    /// A load between one phase and neutral: all on the first position.
    #[must_use]
    pub fn to_neutral(series: Vec<Complex64>) -> Self {
        Self::new([Some(series), None, None])
    }

    /// A load between two phases: the current leaves on the first position and returns on the second.
    ///
    /// `series` is relative to the voltage **between** the two phases (`U_L1` − `U_L2` at turn 0), which
    /// leads the first phase's voltage by 30°.
    ///
    /// ```
    /// use num_complex::Complex64;
    /// use balance::Currents;
    ///
    /// let heater = Currents::between_phases(&[Complex64::new(10.0, 0.0)]);
    /// assert!((heater.at(0, 0).arg().to_degrees() - 30.0).abs() < 1e-9);
    /// assert!((heater.at(1, 0).arg().to_degrees() + 30.0).abs() < 1e-9);
    /// assert!(heater.neutral_at(0).norm() < 1e-12);
    /// ```
    #[must_use]
    pub fn between_phases(series: &[Complex64]) -> Self {
        let lead = Complex64::from_polar(1.0, std::f64::consts::FRAC_PI_6);
        Self::new([
            Some(series.iter().map(|i| i * lead).collect()),
            Some(series.iter().map(|i| i * lead.conj()).collect()),
            None,
        ])
    }

    /// The series on one of the three positions (0, 1, 2); `None` where nothing flows.
    #[must_use]
    pub fn series(&self, position: usize) -> Option<&[Complex64]> {
        self.series[position].as_deref()
    }

    /// Mean square with which the load at a turn loads a phase, up to a constant. (A²)
    pub(crate) fn loading(&self, turn: usize, phase: Phase) -> f64 {
        let series = self.series((phase.index() + 3 - turn) % 3);
        series.map_or(0.0, |series| series.iter().map(Complex64::norm_sqr).sum())
    }

    /// The current on one position in one interval.
    #[must_use]
    pub fn at(&self, position: usize, interval: usize) -> Complex64 {
        self.series[position]
            .as_ref()
            .map_or(Complex64::ZERO, |series| series[interval])
    }

    /// Sum of the three currents in one interval at turn 0, in the common frame (L1's voltage at 0°).
    #[must_use]
    pub fn neutral_at(&self, interval: usize) -> Complex64 {
        Phase::ALL
            .into_iter()
            .map(|phase| phase.direction() * self.at(phase.index(), interval))
            .sum::<Complex64>()
            + self.neutral_alone_at(interval)
    }

    /// What flows in the neutral and on no phase, in the common frame; empty where there is nothing of the kind. (A)
    #[must_use]
    pub fn neutral_alone(&self) -> &[Complex64] {
        self.neutral_alone.as_deref().unwrap_or_default()
    }

    /// The same in one interval. (A)
    #[must_use]
    pub fn neutral_alone_at(&self, interval: usize) -> Complex64 {
        let alone = self.neutral_alone().get(interval).copied();
        alone.unwrap_or_default()
    }

    /// The currents with each interval multiplied by its own factor.
    #[must_use]
    pub fn scaled(&self, factors: &[f64]) -> Currents {
        let scale = |series: &Vec<Complex64>| {
            let pairs = series.iter().zip(factors);
            pairs.map(|(current, factor)| current * factor).collect()
        };
        Currents {
            series: self
                .series
                .each_ref()
                .map(|series| series.as_ref().map(scale)),
            neutral_alone: self.neutral_alone.as_ref().map(scale),
        }
    }

    /// Takes another load's currents away, at a turn.
    ///
    /// # Panics
    ///
    /// When a position's series differ in length.
    pub fn subtract_turned(&mut self, other: &Currents, turn: usize) {
        let negative = |series: &Vec<Complex64>| series.iter().map(|current| -current).collect();
        let opposite = Currents {
            series: other
                .series
                .each_ref()
                .map(|series| series.as_ref().map(negative)),
            neutral_alone: other.neutral_alone.as_ref().map(negative),
        };
        self.add_turned(&opposite, turn);
    }

    /// Adds another load's currents, position by position.
    ///
    /// # Panics
    ///
    /// When a position's series differ in length.
    pub fn add(&mut self, other: &Currents) {
        self.add_turned(other, 0);
    }

    /// Adds another load's currents at the given turn.
    ///
    /// # Panics
    ///
    /// When a position's series differ in length.
    pub fn add_turned(&mut self, other: &Currents, turn: usize) {
        for (position, series) in other.series.iter().enumerate() {
            if let Some(series) = series {
                add_series(
                    &mut self.series[(position + turn) % 3],
                    series.iter().copied(),
                );
            }
        }
        if let Some(alone) = &other.neutral_alone {
            let factor = Phase::ALL[turn % 3].direction();
            add_series(
                &mut self.neutral_alone,
                alone.iter().map(|current| factor * current),
            );
        }
    }

    /// Adds a series on one position.
    ///
    /// # Panics
    ///
    /// When the series differ in length.
    pub(crate) fn add_at(&mut self, position: usize, series: &[Complex64]) {
        add_series(&mut self.series[position], series.iter().copied());
    }

    /// The series of the three positions, empty where nothing flows.
    pub(crate) fn into_phases(self) -> [Vec<Complex64>; 3] {
        self.series.map(Option::unwrap_or_default)
    }

    /// True when every series has this many values and all of them are finite.
    pub(crate) fn is_sound(&self, intervals: usize) -> bool {
        self.series
            .iter()
            .chain([&self.neutral_alone])
            .flatten()
            .all(|series| series.len() == intervals && series.iter().all(|value| value.is_finite()))
    }
}

fn add_series(sum: &mut Option<Vec<Complex64>>, more: impl ExactSizeIterator<Item = Complex64>) {
    match sum {
        Some(sum) => {
            assert_eq!(sum.len(), more.len(), "series of different length");
            for (sum, value) in sum.iter_mut().zip(more) {
                *sum += value;
            }
        }
        empty => *empty = Some(more.collect()),
    }
}

/// Sum of three currents, each relative to its own phase voltage, in the common frame.
pub(crate) fn phasor_sum(phases: &[Vec<Complex64>; 3], interval: usize) -> Complex64 {
    Phase::ALL
        .into_iter()
        .map(|phase| phase.direction() * phases[phase.index()][interval])
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_turn_moves_each_series_one_phase_on_and_two_add() {
        let machine = Currents::new([
            Some(vec![Complex64::new(1.0, 0.0)]),
            Some(vec![Complex64::new(2.0, 0.0)]),
            None,
        ]);
        let mut sum = Currents::none();
        sum.add_turned(&machine, 2);
        sum.add(&machine);
        assert_eq!(sum.at(0, 0), Complex64::new(3.0, 0.0));
        assert_eq!(sum.at(1, 0), Complex64::new(2.0, 0.0));
        assert_eq!(sum.at(2, 0), Complex64::new(1.0, 0.0));
    }

    /// Kirchhoff's current law at the star point, written out by hand: with a² + b² + c² − ab − bc − ca,
    /// 10 A, 8 A, 3 A in phase with their voltages leave √39 A.
    #[test]
    fn neutral_is_the_phasor_sum() {
        let amps = |value| Some(vec![Complex64::new(value, 0.0)]);
        let three = Currents::new([amps(10.0), amps(8.0), amps(3.0)]);
        assert!((three.neutral_at(0).norm() - 39.0_f64.sqrt()).abs() < 1e-12);
    }
}
