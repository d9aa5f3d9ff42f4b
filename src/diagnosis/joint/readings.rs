//! Voltages and currents of the three phases, reading by reading.

use num_complex::Complex64;

/// What the estimate of a joint's resistance works on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PhaseReadings {
    /// Starts of the intervals, Unix seconds, ascending.
    pub starts: Vec<i64>,
    /// Length of an interval. (s)
    pub interval_s: u32,
    /// Voltage of each phase to neutral or, with a meter upstream, what is left of the upstream
    /// meter's voltage (so that it is the drop between the two, negative). (V)
    pub voltage_v: [Vec<f64>; 3],
    /// Voltage of each phase to neutral at the meter. (V)
    pub level_v: [Vec<f64>; 3],
    /// Fundamental current of each phase against its own voltage, lagging negative. (A)
    pub current_a: [Vec<Complex64>; 3],
}

impl PhaseReadings {
    /// Number of readings.
    pub fn len(&self) -> usize {
        self.starts.len()
    }

    /// True without any reading.
    pub fn is_empty(&self) -> bool {
        self.starts.is_empty()
    }

    /// From the first reading to the end of the last. (s)
    pub fn span_s(&self) -> i64 {
        match (self.starts.first(), self.starts.last()) {
            (Some(first), Some(last)) => last - first + i64::from(self.interval_s),
            _ => 0,
        }
    }

    /// Some of the readings.
    pub(super) fn part(&self, rows: std::ops::Range<usize>) -> PhaseReadings {
        PhaseReadings {
            starts: self.starts[rows.clone()].to_vec(),
            interval_s: self.interval_s,
            voltage_v: self
                .voltage_v
                .each_ref()
                .map(|series| series[rows.clone()].to_vec()),
            level_v: self
                .level_v
                .each_ref()
                .map(|series| series[rows.clone()].to_vec()),
            current_a: self
                .current_a
                .each_ref()
                .map(|series| series[rows.clone()].to_vec()),
        }
    }

    /// Readings that directly follow the one before.
    pub(super) fn neighbours(&self) -> Vec<usize> {
        (1..self.len())
            .filter(|&row| self.starts[row] - self.starts[row - 1] == i64::from(self.interval_s))
            .collect()
    }
}
