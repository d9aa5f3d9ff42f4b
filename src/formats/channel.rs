//! One stream of values of one meter.

use site::Quantity;

/// Values at equal distances, such as those of one day.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// Start of the first interval, Unix seconds.
    pub start_s: i64,
    /// Length of an interval. (s)
    pub interval_s: u32,
    /// As written; NaN represents none.
    pub values: Vec<f64>,
    /// Intervals that the source marks as estimated or substituted.
    pub estimated: Vec<EstimatedRange>,
    /// Its line in the file, from 0.
    pub line: usize,
}

/// Intervals of a stretch, counted from 0, the second exclusive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EstimatedRange {
    /// The first.
    pub from: usize,
    /// The one after the last.
    pub to: usize,
}

impl EstimatedRange {
    /// Marks one more interval; those that follow each other are one range.
    pub(crate) fn mark(ranges: &mut Vec<EstimatedRange>, at: usize) {
        match ranges.last_mut() {
            Some(last) if last.to == at => last.to = at + 1,
            _ => ranges.push(EstimatedRange {
                from: at,
                to: at + 1,
            }),
        }
    }
}

impl Stretch {
    /// Start of an interval and its length, Unix seconds.
    #[must_use]
    pub fn start_of(&self, interval: usize) -> i64 {
        self.start_s + interval as i64 * i64::from(self.interval_s)
    }

    /// Sum of its values as written.
    #[must_use]
    pub fn sum(&self) -> f64 {
        self.values.iter().filter(|value| !value.is_nan()).sum()
    }

    /// Is an interval marked as estimated?
    #[must_use]
    pub fn is_estimated(&self, interval: usize) -> bool {
        self.estimated
            .iter()
            .any(|range| (range.from..range.to).contains(&interval))
    }
}

/// One stream of values of one meter.
#[derive(Clone, Debug, PartialEq)]
pub struct IntervalChannel {
    /// The meter's identifier in the file; `None`: the file names none.
    pub point: Option<String>,
    /// What the file calls the channel.
    pub register: String,
    /// What it holds; `None`: nothing that is used.
    pub quantity: Option<Quantity>,
    /// The unit that the file names.
    pub unit: Option<String>,
    /// Factor from its values to the unit of the quantity.
    pub factor: f64,
    /// Does the source say which values are estimated?
    pub has_quality: bool,
    /// Its values, in the order of the file.
    pub stretches: Vec<Stretch>,
}

impl IntervalChannel {
    /// Sum of its values, in the unit of its quantity.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.stretches.iter().map(Stretch::sum).sum::<f64>() * self.factor
    }
}
