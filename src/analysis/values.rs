//! Values over time: a borrowed column of the log, or calculated here.

use either::Either;
use metering::Logged;

/// One value per interval, `None` where there is none.
#[derive(Clone, Debug)]
pub enum Values<'l> {
    /// As logged.
    Logged(Logged<'l>),
    /// Worked out.
    Computed(Vec<Option<f64>>),
}

impl Values<'_> {
    /// Number of intervals.
    pub(crate) fn len(&self) -> usize {
        match self {
            Values::Logged(logged) => logged.len(),
            Values::Computed(values) => values.len(),
        }
    }

    /// The value of an interval; there is none beyond the last.
    #[must_use]
    pub fn get(&self, row: usize) -> Option<f64> {
        match self {
            Values::Logged(logged) => logged.get(row),
            Values::Computed(values) => values.get(row).copied().flatten(),
        }
    }

    /// The values in the order of the intervals.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = Option<f64>> + ExactSizeIterator + Clone {
        match self {
            Values::Logged(logged) => Either::Left(logged.iter()),
            Values::Computed(values) => Either::Right(values.iter().copied()),
        }
    }
}
