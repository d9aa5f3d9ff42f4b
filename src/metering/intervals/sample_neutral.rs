//! The neutral current of one sample: the phasor sum of its three phase currents.
//!
//! The mean of phasors hides loads that take turns within an interval; the mean of the samples'
//! neutral currents does not.

use electrical::Phase;
use site::Quantity;

/// cos and sin of 0°, −120° and +120°: where the voltages of L1, L2, L3 point.
const VOLTAGE: [(f64, f64); 3] = [(1.0, 0.0), (-0.5, -SIN_60), (-0.5, SIN_60)];
const SIN_60: f64 = 0.866_025_403_784_438_6;

/// Which readings of a sample give the neutral current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct SampleNeutral {
    phases: [SampledPhase; 3],
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct SampledPhase {
    current: usize,
    angle: Angle,
}

/// Where the angle between a current and its voltage comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Angle {
    Powers { active: usize, reactive: usize },
    PowerFactor(usize),
    Sign { active: usize },
    InPhase,
}

impl SampleNeutral {
    /// `None` unless three currents are among the quantities.
    pub(crate) fn find(quantities: &[Quantity]) -> Option<SampleNeutral> {
        let place = |wanted: Quantity| quantities.iter().position(|known| *known == wanted);
        let [l1, l2, l3] = Phase::ALL.map(|phase| {
            let active = place(Quantity::ActivePower(Some(phase)));
            let reactive = place(Quantity::ReactivePower(Some(phase)));
            let factor = place(Quantity::PowerFactor(Some(phase)));
            let angle = match (active, reactive, factor) {
                (Some(active), Some(reactive), _) => Angle::Powers { active, reactive },
                (_, _, Some(factor)) => Angle::PowerFactor(factor),
                (Some(active), None, None) => Angle::Sign { active },
                (None, _, None) => Angle::InPhase,
            };
            Some(SampledPhase {
                current: place(Quantity::Current(phase))?,
                angle,
            })
        });
        Some(SampleNeutral {
            phases: [l1?, l2?, l3?],
        })
    }

    /// Magnitude of the neutral current; NaN where a phase current has no reading. (A)
    pub(crate) fn of(&self, values: &[f64]) -> f64 {
        let (mut real, mut imaginary) = (0.0, 0.0);
        for (phase, (cos, sin)) in self.phases.iter().zip(VOLTAGE) {
            let (x, y) = phase.phasor(values);
            real += x * cos - y * sin;
            imaginary += x * sin + y * cos;
        }
        (real * real + imaginary * imaginary).sqrt()
    }
}

impl SampledPhase {
    /// The current in the frame of its own voltage, lagging negative.
    fn phasor(&self, values: &[f64]) -> (f64, f64) {
        let amps = values[self.current];
        match self.angle {
            Angle::Powers { active, reactive } => {
                let (p, q) = (values[active], values[reactive]);
                let apparent = (p * p + q * q).sqrt();
                if apparent > 0.0 {
                    // Some meters give a current the sign of its power.
                    let share = amps.abs() / apparent;
                    (share * p, -share * q)
                } else {
                    (amps.abs(), 0.0)
                }
            }
            Angle::PowerFactor(factor) => {
                let factor = values[factor];
                let cos = if factor.is_nan() {
                    1.0
                } else {
                    factor.abs().min(1.0)
                };
                (amps * cos, -amps * (1.0 - cos * cos).sqrt())
            }
            Angle::Sign { active } if values[active] < 0.0 => (-amps.abs(), 0.0),
            Angle::Sign { .. } => (amps.abs(), 0.0),
            Angle::InPhase => (amps, 0.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn currents() -> Vec<Quantity> {
        Phase::ALL.map(Quantity::Current).to_vec()
    }

    /// Kirchhoff's current law at the star point. Magnitudes at one power factor: √(a² + b² + c² −
    /// ab − bc − ca), so 10, 8 and 3 A give √39 A; equal currents cancel.
    #[test]
    fn in_phase_currents_follow_the_magnitude_formula() {
        let neutral = SampleNeutral::find(&currents()).expect("three currents");
        assert_relative_eq!(
            neutral.of(&[10.0, 8.0, 3.0]),
            39.0_f64.sqrt(),
            epsilon = 1e-12
        );
        assert_relative_eq!(neutral.of(&[7.0, 7.0, 7.0]), 0.0, epsilon = 1e-12);
        assert!(neutral.of(&[7.0, f64::NAN, 7.0]).is_nan());
        assert_eq!(SampleNeutral::find(&currents()[..2]), None);
    }

    /// A current on L1 that lags by 60° and one on L2 in phase with its voltage point to −60° and
    /// −120°: 10 A each, 60° apart, sum to 10·√3 A.
    #[test]
    fn powers_and_power_factors_turn_the_currents() {
        let mut quantities = currents();
        quantities.extend(Phase::ALL.map(|phase| Quantity::ActivePower(Some(phase))));
        quantities.extend(Phase::ALL.map(|phase| Quantity::ReactivePower(Some(phase))));
        let neutral = SampleNeutral::find(&quantities).expect("three currents");
        let sin = 60.0_f64.to_radians().sin();
        let sample = [10.0, 10.0, 0.0, 0.5, 1.0, 0.0, sin, 0.0, 0.0];
        assert_relative_eq!(neutral.of(&sample), 10.0 * 3.0_f64.sqrt(), epsilon = 1e-12);
        let unknown = [10.0, 8.0, 3.0, f64::NAN, 1.0, 1.0, 0.0, f64::NAN, 0.0];
        assert_relative_eq!(neutral.of(&unknown), 39.0_f64.sqrt(), epsilon = 1e-12);

        let mut quantities = currents();
        quantities.extend(Phase::ALL.map(|phase| Quantity::PowerFactor(Some(phase))));
        let neutral = SampleNeutral::find(&quantities).expect("three currents");
        let sample = [10.0, 10.0, 0.0, 0.5, 1.0, 1.0];
        assert_relative_eq!(neutral.of(&sample), 10.0 * 3.0_f64.sqrt(), epsilon = 1e-12);
    }
}
