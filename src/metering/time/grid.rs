//! Which interval a reading falls into.

use crate::time::cadence::settled;
use site::{Corrections, Meter, ReadingKind, Stamp};

/// Faster logs are averaged over intervals of this length. (s)
const SHORTEST_INTERVAL_S: i64 = 60;

/// Readings further apart have a gap between them. (s)
const LONGEST_STEP_S: i64 = 366 * 86_400;

/// In longer intervals samples of neighbouring seconds are not kept separate. (s)
const LONGEST_TOLD_APART_S: i64 = 3600;

/// Readings further apart are spread over the time between their stamps. (s)
const LONGEST_INTERVAL_S: i64 = 3600;
/// What they are spread over. (s)
pub(crate) const SPREAD_S: i64 = 900;

/// A cadence with less than this share of the time comes from gaps.
const FAIR_SHARE: i64 = 20;

/// How stamps of one meter become intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Grid {
    pub(crate) readings: ReadingKind,
    pub(crate) stamp: Stamp,
    /// Time between readings. (s)
    pub(crate) cadence_s: i64,
    /// Length of an interval. (s)
    pub(crate) base_s: i64,
    /// Where intervals start, modulo their length. (s)
    pub(crate) anchor_s: i64,
    /// Several samples share a second: equal stamps are no repetition.
    pub(crate) within_second: bool,
    /// Of two values of an interval the later counts.
    pub(crate) later_counts: bool,
    /// Readings are so far apart that an interval is the time between two stamps, which a change of the clock or the
    /// calendar makes longer or shorter: their usual distance. Their energy is spread evenly over it. (s)
    pub(crate) spread_from_s: Option<i64>,
    /// Intervals of this length were spread before. (s)
    pub(crate) spread_before_s: Option<i64>,
}

impl Grid {
    /// The most frequent distance between readings, and where the intervals start.
    pub(crate) fn learned(meter: &Meter, stamp: Stamp, times: &[i64]) -> Grid {
        let shared = times.windows(2).filter(|pair| pair[0] == pair[1]).count();
        let steps: Vec<i64> = times
            .windows(2)
            .map(|pair| (pair[1] - pair[0]).abs())
            .filter(|step| (1..=LONGEST_STEP_S).contains(step))
            .collect();
        let cadence_s = settled(most_frequent(&steps).unwrap_or(SHORTEST_INTERVAL_S));
        let mut grid = Grid {
            readings: meter.readings,
            stamp,
            spread_from_s: None,
            spread_before_s: None,
            cadence_s,
            base_s: cadence_s.max(SHORTEST_INTERVAL_S),
            anchor_s: 0,
            within_second: 2 * shared > times.len(),
            later_counts: meter.corrections == Corrections::Last,
        };
        if cadence_s > LONGEST_INTERVAL_S {
            return grid.spread(cadence_s);
        }
        if !grid.is_fast() {
            let offsets: Vec<i64> = times
                .iter()
                .map(|&at| grid.start_of(at).rem_euclid(grid.base_s))
                .collect();
            grid.anchor_s = most_frequent(&offsets).unwrap_or(0);
        }
        grid
    }

    /// The same where readings are so far apart.
    pub(crate) fn spread(self, from_s: i64) -> Grid {
        Grid {
            cadence_s: SPREAD_S,
            base_s: SPREAD_S,
            anchor_s: 0,
            spread_from_s: Some(from_s),
            ..self
        }
    }

    /// Usual time between readings. (s)
    pub(crate) fn logged_every_s(self) -> i64 {
        self.spread_from_s
            .or(self.spread_before_s)
            .unwrap_or(self.cadence_s)
    }

    /// The stamp of an interval that begins at a moment.
    pub(crate) fn stamp_of_start(self, start: i64) -> i64 {
        start + (start - self.start_of(start))
    }

    /// The grid of a log whose rows follow each other at other distances than its beginning showed:
    /// means over the longest cadence with a fair share of the time, in which all others are
    /// samples. `None` where this grid does. `cadences` are distances and their rows.
    pub(crate) fn for_all(self, cadences: &[(i64, u64)]) -> Option<Grid> {
        let time = |&(step, rows): &(i64, u64)| step.saturating_mul(rows as i64);
        let whole: i64 = cadences.iter().map(time).sum();
        let fair = |cadence: &&(i64, u64)| time(cadence).saturating_mul(FAIR_SHARE) >= whole;
        let shortest = cadences.iter().map(|&(step, _)| step).min()?;
        let longest = cadences.iter().filter(fair).map(|&(step, _)| step).max()?;
        if self.spread_from_s.is_some() {
            return None;
        }
        let too_long = longest > self.base_s;
        let too_short = !self.is_fast() && shortest < self.cadence_s;
        let base_s = if too_long { longest } else { self.base_s };
        (too_long || too_short).then_some(Grid {
            cadence_s: shortest.min(self.cadence_s),
            base_s,
            anchor_s: self.anchor_s.rem_euclid(base_s),
            ..self
        })
    }

    /// Several samples fall into one interval.
    pub(crate) fn is_fast(self) -> bool {
        self.cadence_s < self.base_s
    }

    /// Are two samples of one interval the same sample if their stamps are the same?
    pub(crate) fn tells_samples_apart(self) -> bool {
        self.is_fast() && !self.within_second
    }

    /// Start of what a reading represents.
    pub(crate) fn start_of(self, at: i64) -> i64 {
        if self.spread_from_s.is_some() {
            return at;
        }
        match (self.readings, self.stamp) {
            (ReadingKind::Average, Stamp::End) => at - self.cadence_s,
            _ => at,
        }
    }

    /// Number of the interval that a reading falls into.
    pub(crate) fn bin(self, at: i64) -> i64 {
        let from_anchor = self.start_of(at) - self.anchor_s;
        if self.is_fast() {
            from_anchor.div_euclid(self.base_s)
        } else {
            // The nearest interval: loggers are late or early by a few seconds.
            (from_anchor + self.base_s / 2).div_euclid(self.base_s)
        }
    }

    /// The moment of a reading within its interval, where samples are distinguished by it. (s, of an
    /// interval of more than an hour in 3600 parts)
    pub(crate) fn moment(self, at: i64) -> Option<u16> {
        self.tells_samples_apart().then(|| {
            let within = (self.start_of(at) - self.anchor_s).rem_euclid(self.base_s);
            let parts = self.base_s.min(LONGEST_TOLD_APART_S);
            (within * parts / self.base_s) as u16
        })
    }

    pub(crate) fn start_of_bin(self, bin: i64) -> i64 {
        bin * self.base_s + self.anchor_s
    }
}

/// The smallest of the most frequent values.
fn most_frequent(values: &[i64]) -> Option<i64> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable();
    let mut best: Option<(usize, i64)> = None;
    for run in sorted.chunk_by(|a, b| a == b) {
        if best.is_none_or(|(count, _)| run.len() > count) {
            best = Some((run.len(), run[0]));
        }
    }
    best.map(|(_, value)| value)
}
