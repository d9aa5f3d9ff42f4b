//! Figures of a node from its currents over the intervals.

use num_complex::Complex64;
use schemars::JsonSchema;
use serde::Serialize;

use crate::node_currents::NodeCurrents;
use electrical::is_above_limit;
use statistics::quantile;

/// Currents at one node of the installation over the analysis intervals.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct NodeFigures {
    /// Root mean square over time of the neutral current. (A)
    pub neutral_rms_a: f64,
    /// 95 % of what list and readings leave open is above this; the same as the root mean square where it is measured. (A)
    pub neutral_rms_low_a: f64,
    /// 95 % is below this. (A)
    pub neutral_rms_high_a: f64,
    /// 95th percentile of the neutral current (linear interpolation, Hyndman–Fan type 7). (A)
    pub neutral_p95_a: f64,
    /// Largest neutral current of an interval; without a log the current that is not passed for 95 % of the time in the
    /// busiest hours. (A)
    pub neutral_max_a: f64,
    /// Largest current of an interval on L1, L2, L3; without a log the current that is not passed for 95 % of the time in
    /// the busiest hours, simulated. (A)
    pub phase_max_a: [f64; 3],
    /// Root mean square over time of the current on L1, L2, L3. (A)
    pub phase_rms_a: [f64; 3],
    /// Largest deviation of a phase's rms from the mean of the three, as a share of that mean. (%)
    /// `None` when no current flows.
    pub current_unbalance_pct: Option<f64>,
    /// Intervals in which each phase is over its limit.
    pub intervals_over_limit: [usize; 3],
}

/// Phase currents and neutral of a node over the intervals.
#[derive(Clone, Debug)]
pub(crate) struct NodeSeries {
    /// Magnitudes on L1, L2, L3. (A)
    pub(crate) phases_a: [Vec<f64>; 3],
    /// Neutral, with its part beyond the phasors. (A)
    pub(crate) neutral_a: Vec<f64>,
    unresolved_square: [f64; 4],
}

impl NodeSeries {
    pub(crate) fn new(currents: &NodeCurrents<'_>) -> NodeSeries {
        let magnitudes =
            |phase: &Vec<Complex64>| phase.iter().map(|current| current.norm()).collect();
        NodeSeries {
            phases_a: currents.phases.each_ref().map(magnitudes),
            neutral_a: (0..currents.intervals())
                .map(|interval| currents.neutral_square(interval).sqrt())
                .collect(),
            unresolved_square: currents.unresolved_square,
        }
    }

    pub(crate) fn figures(&self, phase_limit_a: Option<f64>) -> NodeFigures {
        let more = self.unresolved_square;
        let phase_rms_a = [0, 1, 2].map(|k| rms(&self.phases_a[k], more[k]));
        let neutral_rms_a = rms(&self.neutral_a, more[3]);
        NodeFigures {
            neutral_rms_a,
            neutral_rms_low_a: neutral_rms_a,
            neutral_rms_high_a: neutral_rms_a,
            neutral_p95_a: quantile(&self.neutral_a, 0.95).unwrap_or(0.0),
            neutral_max_a: largest(&self.neutral_a),
            phase_max_a: [0, 1, 2].map(|k| largest(&self.phases_a[k])),
            phase_rms_a,
            current_unbalance_pct: current_unbalance_pct(phase_rms_a),
            intervals_over_limit: [0, 1, 2].map(|k| {
                phase_limit_a.map_or(0, |limit| {
                    self.phases_a[k]
                        .iter()
                        .filter(|&&amps| is_above_limit(amps, limit))
                        .count()
                })
            }),
        }
    }

    /// The first interval with the largest neutral.
    pub(crate) fn worst(&self) -> usize {
        let largest = largest(&self.neutral_a);
        self.neutral_a
            .iter()
            .position(|&amps| amps >= largest)
            .unwrap_or(0)
    }
}

/// Largest deviation of a phase's rms from the mean of the three, as a share of it; `None` where no current flows. (%)
pub(crate) fn current_unbalance_pct(phase_rms_a: [f64; 3]) -> Option<f64> {
    let mean = phase_rms_a.iter().sum::<f64>() / 3.0;
    let deviation = phase_rms_a
        .iter()
        .map(|rms| (rms - mean).abs())
        .fold(0.0, f64::max);
    (mean > 0.0).then(|| 100.0 * deviation / mean)
}

/// `more` is a mean square that the values do not resolve.
fn rms(values: &[f64], more: f64) -> f64 {
    let sum: f64 = values.iter().map(|value| value * value).sum();
    (sum / values.len().max(1) as f64 + more).max(0.0).sqrt()
}

fn largest(values: &[f64]) -> f64 {
    values.iter().copied().fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn alone(phases: [Vec<Complex64>; 3]) -> NodeCurrents<'static> {
        NodeCurrents {
            phases,
            neutral_alone: &[],
            beyond: &[],
            unresolved_square: [0.0; 4],
        }
    }

    /// A reading of 100.0 A whose phasor has grown by a binary digit.
    #[test]
    fn a_reading_at_the_limit_is_not_above_it() {
        let phases = [100.0_f64.next_up(), 100.1, 99.9].map(|amps| vec![Complex64::new(amps, 0.0)]);
        let figures = NodeSeries::new(&alone(phases)).figures(Some(100.0));
        assert_eq!(figures.intervals_over_limit, [0, 1, 0]);
    }

    /// Bird, Electrical Circuit Theory and Technology: 100, 75 and 50 A at unity power factor
    /// leave 25·√3 = 43.30 A.
    #[test]
    fn figures_of_one_interval() {
        let phases = [100.0, 75.0, 50.0].map(|amps| vec![Complex64::new(amps, 0.0)]);
        let figures = NodeSeries::new(&alone(phases)).figures(Some(90.0));
        assert!((figures.neutral_rms_a - 25.0 * 3.0_f64.sqrt()).abs() < 1e-9);
        assert_eq!(figures.intervals_over_limit, [1, 0, 0]);
        assert!(
            figures
                .current_unbalance_pct
                .is_some_and(|pct| (pct - 100.0 / 3.0).abs() < 1e-9)
        );
    }
}
