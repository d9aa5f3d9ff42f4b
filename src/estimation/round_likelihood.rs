//! One round: which loads are on, and how well that agrees with what was read.

use num_complex::Complex64;

use crate::model::PhaseReading;
use crate::touch::Touch;

/// Below this a sum of currents has no direction to speak of. (A)
const NO_DIRECTION_A: f64 = 0.5;

/// A load's share while on: normally distributed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OnShare {
    pub(crate) mean: f64,
    pub(crate) variance: f64,
}

/// The readings of a round against the loads that are on, their shares integrated out.
#[derive(Clone, Debug)]
pub(crate) struct RoundLikelihood {
    readings: Vec<PhaseReading>,
    sums: Vec<Complex64>,
    thirds: Vec<f64>,
    /// By how much a reading grows with a current in each direction, at the sums that the state began with.
    slopes: Vec<Option<(Complex64, f64)>>,
    /// Inverse of the covariance of the readings.
    inverse: Vec<f64>,
    /// Reading less sum.
    residual: Vec<f64>,
    /// Inverse × residual.
    weighted: Vec<f64>,
}

impl RoundLikelihood {
    /// With nothing on.
    pub(crate) fn new(readings: Vec<PhaseReading>) -> RoundLikelihood {
        let count = readings.len();
        RoundLikelihood {
            sums: vec![Complex64::ZERO; count],
            thirds: vec![0.0; count],
            slopes: vec![None; count],
            inverse: Vec::new(),
            residual: Vec::new(),
            weighted: Vec::new(),
            readings,
        }
    }

    /// Begins anew with these loads on.
    pub(crate) fn begin<'t>(&mut self, on: impl Iterator<Item = (&'t [Touch], OnShare)> + Clone) {
        let count = self.readings.len();
        self.sums.fill(Complex64::ZERO);
        self.thirds.fill(0.0);
        for (touches, share) in on.clone() {
            self.add(touches, share.mean);
        }
        for row in 0..count {
            let (sum, third) = (self.sums[row], self.thirds[row]);
            let size = magnitude(sum, third);
            let sign = sign_of(&self.readings[row], sum);
            self.slopes[row] =
                (size > NO_DIRECTION_A).then(|| (sum.conj() / size * sign, third / size * sign));
        }
        self.inverse = vec![0.0; count * count];
        for (row, reading) in self.readings.iter().enumerate() {
            self.inverse[row * count + row] = reading.error_a.powi(2).recip();
        }
        self.look_again();
        for (touches, share) in on {
            self.spread(touches, share.variance);
        }
        self.weigh();
    }

    fn add(&mut self, touches: &[Touch], share: f64) {
        for touch in touches {
            self.sums[touch.row] += touch.fundamental * share;
            self.thirds[touch.row] += touch.third * share;
        }
    }

    fn look_again(&mut self) {
        self.residual = (0..self.readings.len())
            .map(|row| self.readings[row].amps - self.explained(row))
            .collect();
    }

    fn explained(&self, row: usize) -> f64 {
        shown(&self.readings[row], self.sums[row], self.thirds[row])
    }

    /// Slope of a reading with a load's share. (A)
    fn slope(&self, touch: &Touch) -> f64 {
        match self.slopes[touch.row] {
            Some((along, third)) => (along * touch.fundamental).re + third * touch.third,
            None => magnitude(touch.fundamental, touch.third),
        }
    }

    /// Widens (or, with a negative variance, narrows) the covariance by a load's.
    fn spread(&mut self, touches: &[Touch], variance: f64) {
        let count = self.readings.len();
        let mut along = vec![0.0; count];
        for touch in touches {
            let slope = self.slope(touch);
            for (row, along) in along.iter_mut().enumerate() {
                *along += slope * self.inverse[touch.row * count + row];
            }
        }
        let own: f64 = touches
            .iter()
            .map(|touch| self.slope(touch) * along[touch.row])
            .sum();
        let factor = variance / (1.0 + variance * own);
        for row in 0..count {
            let by = factor * along[row];
            if by != 0.0 {
                let inverse = &mut self.inverse[row * count..(row + 1) * count];
                for (inverse, along) in inverse.iter_mut().zip(&along) {
                    *inverse -= by * along;
                }
            }
        }
    }

    fn weigh(&mut self) {
        let count = self.readings.len();
        self.weighted = (0..count)
            .map(|row| {
                let inverse = &self.inverse[row * count..(row + 1) * count];
                inverse.iter().zip(&self.residual).map(|(a, b)| a * b).sum()
            })
            .collect();
    }

    /// By how much the log likelihood grows when a load is switched on (sign 1) or off (−1).
    pub(crate) fn gain(&self, touches: &[Touch], share: OnShare, sign: f64) -> f64 {
        let count = self.readings.len();
        let changes: Vec<(usize, f64, f64)> = touches
            .iter()
            .map(|touch| {
                let row = touch.row;
                let sum = self.sums[row] + touch.fundamental * (share.mean * sign);
                let third = self.thirds[row] + touch.third * (share.mean * sign);
                let after = shown(&self.readings[row], sum, third.max(0.0));
                let residual = self.readings[row].amps - after;
                (row, residual - self.residual[row], self.slope(touch))
            })
            .collect();
        // Residual r' = r + δ, slopes g: everything follows from V⁻¹ among the rows touched.
        let (mut by_change, mut change_change, mut slope_residual) = (0.0, 0.0, 0.0);
        let (mut slope_change, mut slope_slope) = (0.0, 0.0);
        for &(row, change, slope) in &changes {
            by_change += change * self.weighted[row];
            slope_residual += slope * self.weighted[row];
            for &(other, other_change, other_slope) in &changes {
                let inverse = self.inverse[row * count + other];
                change_change += change * inverse * other_change;
                slope_change += slope * inverse * other_change;
                slope_slope += slope * inverse * other_slope;
            }
        }
        let variance = share.variance * sign;
        let widened = (1.0 + variance * slope_slope).max(1e-9);
        let quadratic = 2.0 * by_change + change_change
            - variance * (slope_residual + slope_change).powi(2) / widened;
        -0.5 * (widened.ln() + quadratic)
    }

    /// Switches a load on (sign 1) or off (−1).
    pub(crate) fn switch(&mut self, touches: &[Touch], share: OnShare, sign: f64) {
        self.add(touches, share.mean * sign);
        self.spread(touches, share.variance * sign);
        self.look_again();
        self.weigh();
    }

    /// Shares of the loads that are on, given the readings: `drawn` are shares drawn before the readings, `errors` are
    /// errors drawn for the readings; both are put right by what is then left unexplained (Matheron's rule).
    pub(crate) fn agree(
        &self,
        on: &[(&[Touch], OnShare)],
        drawn: &mut [f64],
        mut error: impl FnMut() -> f64,
    ) {
        let count = self.readings.len();
        let mut left: Vec<f64> = (0..count)
            .map(|row| self.residual[row] - self.readings[row].error_a * error())
            .collect();
        for ((touches, share), drawn) in on.iter().zip(drawn.iter()) {
            for touch in *touches {
                left[touch.row] -= self.slope(touch) * (drawn - share.mean);
            }
        }
        let weighted: Vec<f64> = (0..count)
            .map(|row| {
                let inverse = &self.inverse[row * count..(row + 1) * count];
                inverse.iter().zip(&left).map(|(a, b)| a * b).sum()
            })
            .collect();
        for ((touches, share), drawn) in on.iter().zip(drawn.iter_mut()) {
            let along: f64 = touches
                .iter()
                .map(|touch| self.slope(touch) * weighted[touch.row])
                .sum();
            *drawn += share.variance * along;
        }
    }
}

fn magnitude(sum: Complex64, third: f64) -> f64 {
    (sum.norm_sqr() + third * third).sqrt()
}

/// A clamp meter shows a magnitude; a reading with a sign has been given one by who took it.
fn sign_of(reading: &PhaseReading, sum: Complex64) -> f64 {
    if reading.amps < 0.0 && sum.re < 0.0 {
        -1.0
    } else {
        1.0
    }
}

/// What the meter shows of a sum of currents. (A)
pub(crate) fn shown(reading: &PhaseReading, sum: Complex64, third: f64) -> f64 {
    sign_of(reading, sum) * magnitude(sum, third)
}
