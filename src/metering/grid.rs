//! Which interval a reading falls into.

use crate::site::{Readings, Stamp};

/// How stamps of one meter become intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Grid {
    pub(super) readings: Readings,
    pub(super) stamp: Stamp,
    /// Time between readings. (s)
    pub(super) cadence_s: i64,
    /// Length of an interval. (s)
    pub(super) base_s: i64,
    /// Where intervals start, modulo their length. (s)
    pub(super) anchor_s: i64,
    /// Several samples share a second: equal stamps are no repetition.
    pub(super) within_second: bool,
}

impl Grid {
    /// Several samples fall into one interval.
    pub(super) fn is_fast(self) -> bool {
        self.cadence_s < self.base_s
    }

    /// Are two samples of one interval the same sample if their stamps are the same?
    pub(super) fn tells_samples_apart(self) -> bool {
        self.is_fast() && !self.within_second
    }

    /// Start of what a reading stands for.
    pub(super) fn start_of(self, at: i64) -> i64 {
        match (self.readings, self.stamp) {
            (Readings::Average, Stamp::End) => at - self.cadence_s,
            _ => at,
        }
    }

    /// Number of the interval that a reading falls into.
    pub(super) fn bin(self, at: i64) -> i64 {
        let from_anchor = self.start_of(at) - self.anchor_s;
        if self.is_fast() {
            from_anchor.div_euclid(self.base_s)
        } else {
            // The nearest interval: loggers are late or early by a few seconds.
            (from_anchor + self.base_s / 2).div_euclid(self.base_s)
        }
    }

    pub(super) fn start_of_bin(self, bin: i64) -> i64 {
        bin * self.base_s + self.anchor_s
    }
}
