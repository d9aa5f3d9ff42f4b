//! Which resistances are more than chance, and their intervals.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::estimate::ExtraResistance;
use super::figure::EstimatedFigure;
use crate::thresholds as limits;
use statistics::student_quantile;

/// Two tests on each of three phases: at mid-log and over the last week.
const TESTS: f64 = 6.0;
/// The neutral is one conductor.
const NEUTRAL_TESTS: f64 = 2.0;

/// Half of the width of the 95 % interval.
pub(super) fn half_width(figure: EstimatedFigure) -> f64 {
    student_quantile(figure.freedom.max(1.0), 0.975)
        .map_or(f64::INFINITY, |deviations| deviations * figure.error)
}

fn student(figure: EstimatedFigure) -> StudentsT {
    StudentsT::new(0.0, 1.0, figure.freedom.max(1.0))
        .expect("a distribution with at least one degree of freedom exists")
}

/// Chance of an estimate this large in a sound phase.
fn chance(figure: EstimatedFigure) -> f64 {
    if figure.error <= 0.0 {
        return if figure.value > 0.0 { 0.0 } else { 1.0 };
    }
    1.0 - student(figure).cdf(figure.value / figure.error)
}

impl ExtraResistance {
    /// Is the resistance more than chance gives in one healthy log of a hundred, and enough to matter?
    pub fn is_found(&self) -> bool {
        self.is_significant(limits::JOINT_FALSE_ALARM / TESTS)
            && self.last_week.value >= limits::JOINT_SMALLEST_OHM
    }

    /// Is the resistance of the neutral more than chance gives in one healthy log of two hundred, and enough to matter?
    pub fn is_found_in_neutral(&self) -> bool {
        self.is_significant(limits::NEUTRAL_FALSE_ALARM / NEUTRAL_TESTS)
            && self.last_week.value >= limits::NEUTRAL_SMALLEST_OHM
    }

    fn is_significant(&self, smallest_chance: f64) -> bool {
        [self.at_middle, self.last_week]
            .iter()
            .any(|&figure| chance(figure) <= smallest_chance)
    }

    /// 95 % interval of a figure: lower and upper end.
    pub fn interval_95(figure: EstimatedFigure) -> (f64, f64) {
        let half = half_width(figure);
        (figure.value - half, figure.value + half)
    }
}
