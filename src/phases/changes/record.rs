//! What goes in: powers over the same intervals.

use std::ops::Range;

/// A connection that a load may have.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialConnection {
    /// Its probability before anything is measured.
    pub prior: f64,
    /// For each series of the load its share in each channel of the supply. (1)
    pub shares: Vec<Vec<f64>>,
}

/// A load that has a meter of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordedLoad {
    /// Its active power, and its reactive power where it is logged, in each interval. (kW, kvar)
    pub series: Vec<Vec<f32>>,
    /// Where it may be connected; their priors add up to 1.
    pub connections: Vec<TrialConnection>,
    /// Standard deviation of its meter's gain. (1)
    pub gain_error: f64,
    /// May its clock differ from that of the supply's meter?
    pub own_clock: bool,
}

/// Powers of the supply's phases and of the loads over the same intervals.
#[derive(Clone, Debug, PartialEq)]
pub struct PowerRecord {
    /// Length of an interval. (s)
    pub step_s: f64,
    /// Intervals that follow each other without a gap, ascending.
    pub runs: Vec<Range<usize>>,
    /// Active powers of L1, L2, L3, and reactive ones where they are logged. (kW, kvar)
    pub supply: Vec<Vec<f32>>,
    /// The loads.
    pub loads: Vec<RecordedLoad>,
}

impl PowerRecord {
    /// Number of intervals.
    #[must_use]
    pub fn len(&self) -> usize {
        self.supply.first().map_or(0, Vec::len)
    }

    /// True without any interval.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The last intervals, so many of them at most.
    pub(super) fn last_runs(&self, most: usize) -> Vec<Range<usize>> {
        let mut left = most;
        let mut kept: Vec<Range<usize>> = Vec::new();
        for run in self.runs.iter().rev() {
            let taken = run.len().min(left);
            if taken > 1 {
                kept.push(run.end - taken..run.end);
            }
            left -= taken;
        }
        kept.reverse();
        kept
    }
}
