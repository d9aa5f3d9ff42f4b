//! A current over time, and its figures.

use std::ops::Range;

use super::values::Values;
use metering::Logged;
use statistics::quantile;

/// Rms over time and largest interval mean of a current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurrentLevel {
    /// Rms over time. (A)
    pub rms_a: f64,
    /// Largest interval mean. (A)
    pub max_a: f64,
}

/// A current over time, `None` where an interval has no reading.
#[derive(Clone, Debug)]
pub struct Course<'l> {
    /// Mean of each interval. (A)
    pub means: Values<'l>,
    /// Mean square of each interval, where its samples are faster. (A²)
    pub squares: Option<Logged<'l>>,
}

impl Course<'_> {
    /// Over all intervals; `None` where none has a reading.
    #[must_use]
    pub fn level(&self) -> Option<CurrentLevel> {
        self.level_of(0..self.means.len())
    }

    /// Over some of the intervals; without mean squares of faster samples those of the means are taken.
    #[must_use]
    pub fn level_of(&self, rows: Range<usize>) -> Option<CurrentLevel> {
        let max_a = self.known(rows.clone()).reduce(f64::max)?;
        let (sum, count) = match self.squares {
            Some(squares) => sum_of(rows.filter_map(|row| squares.get(row))),
            None => sum_of(self.known(rows).map(|amps| amps * amps)),
        };
        let rms_a = (sum / count as f64).sqrt();
        Some(CurrentLevel { rms_a, max_a })
    }

    /// 95th percentile of the means over some of the intervals. (A)
    #[must_use]
    pub fn p95_of(&self, rows: Range<usize>) -> Option<f64> {
        let known: Vec<f64> = self.known(rows).collect();
        quantile(&known, 0.95)
    }

    fn known(&self, rows: Range<usize>) -> impl Iterator<Item = f64> {
        rows.filter_map(|row| self.means.get(row))
    }
}

fn sum_of(values: impl Iterator<Item = f64>) -> (f64, usize) {
    values.fold((0.0, 0), |(sum, count), value| (sum + value, count + 1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use metering::IntervalTable;

    /// 6 A for half the time is 6/√2 A rms; the mean squares of faster samples count instead where
    /// they are known: √((36 + 64)/2). An interval without a reading does not count.
    #[test]
    fn rms_is_over_time_and_uses_fast_samples() {
        let slow = Course {
            means: Values::Computed(vec![Some(6.0), None, Some(0.0)]),
            squares: None,
        };
        let level = slow.level().expect("readings");
        assert!((level.rms_a - 18.0_f64.sqrt()).abs() < 1e-12);
        assert!((level.max_a - 6.0).abs() < 1e-12);
        assert_eq!(slow.level_of(1..2), None);
        let columns = vec![("squares".to_owned(), vec![Some(36.0), Some(64.0)])];
        let table = IntervalTable::of_columns(vec![0, 60], 60, columns);
        let fast = Course {
            means: Values::Computed(vec![Some(5.0), Some(7.0)]),
            squares: table.named("squares"),
        };
        let level = fast.level().expect("readings");
        assert!((level.rms_a - 50.0_f64.sqrt()).abs() < 1e-12);
        assert!((level.max_a - 7.0).abs() < 1e-12);
    }
}
