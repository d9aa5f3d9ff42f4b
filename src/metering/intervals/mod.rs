//! Readings averaged over base intervals, in one pass, mergeable in order.
//!
//! In: samples by the number of their interval. Out: the intervals in order, each with what its samples came to.
//!
//! Of a log with several samples an interval, only the interval being filled is held in full; the
//! others are columns of numbers. They stand in the order of their arrival until they are settled:
//! sorted, and those that came in several pieces joined.

pub(crate) mod aggregation;
pub(crate) mod closed_columns;
mod grow;
pub(crate) mod interval_runs;
pub(crate) mod merger;
pub(crate) mod meter_part;
pub(crate) mod open_interval;
pub(crate) mod repeated_intervals;
pub(crate) mod sample_figures;
pub(crate) mod sample_neutral;
mod settle;
#[cfg(test)]
mod tests;

use crate::intervals::aggregation::Shape;
use crate::intervals::closed_columns::{GatheredColumn, Kept};
use crate::intervals::grow::{append, push};
use crate::intervals::interval_runs::Bins;
use crate::intervals::open_interval::{Fate, Gathering, Span};
use crate::intervals::repeated_intervals::RepeatedIntervals;

/// Intervals that may be out of order before they are settled for the first time.
const UNSETTLED: usize = 4096;

/// An interval that is not done.
#[derive(Clone, Debug)]
enum IntervalSlot {
    Filling(Gathering),
    /// Its samples are kept elsewhere until the part before is known.
    Waiting(i64),
}

impl IntervalSlot {
    fn bin(&self) -> i64 {
        match self {
            IntervalSlot::Filling(gathering) => gathering.bin,
            IntervalSlot::Waiting(bin) => *bin,
        }
    }
}

/// Intervals, each with what is kept of its samples.
#[derive(Clone, Debug)]
pub(super) struct Intervals {
    shape: Shape,
    bins: Bins,
    /// Samples of each interval; empty where there is one an interval.
    samples: Vec<u32>,
    /// From which moment to which they reach; empty where there is one an interval.
    spans: Vec<Span>,
    columns: Vec<Kept>,
    /// The interval being filled.
    open: Option<IntervalSlot>,
    /// The one filled before: a clock that is put back by a few seconds may lead back to it.
    before: Option<IntervalSlot>,
    /// Intervals of the beginning that still may wait for what the part before holds of them.
    may_wait: u8,
    settle_at: usize,
    /// Intervals that occur again, what became of the readings, and of how many.
    met: RepeatedIntervals,
    numbers: Vec<u64>,
    /// Of intervals with two values: the sums of the first and of the later ones, of energies or of powers.
    pub(super) disputed: [f64; 2],
}

impl Intervals {
    /// Intervals of the beginning of a log, to which later parts are added.
    pub(super) fn new(shape: Shape) -> Intervals {
        Intervals {
            columns: shape.columns.iter().copied().map(Kept::new).collect(),
            numbers: vec![0; shape.columns.len()],
            shape,
            bins: Bins::default(),
            samples: Vec::new(),
            spans: Vec::new(),
            open: None,
            before: None,
            may_wait: 0,
            settle_at: UNSETTLED,
            met: RepeatedIntervals::default(),
            disputed: [0.0; 2],
        }
    }

    /// Intervals of a part of a log. Of the first two, which the part before may have begun, the
    /// samples are to be kept: see [`Intervals::waits`].
    pub(super) fn of_part(shape: Shape) -> Intervals {
        Intervals {
            may_wait: if shape.fast { 2 } else { 0 },
            ..Intervals::new(shape)
        }
    }

    /// Must a sample of this interval wait until the part before is known?
    #[inline]
    pub(super) fn waits(&mut self, bin: i64) -> bool {
        if let Some(IntervalSlot::Filling(open)) = &self.open
            && open.bin == bin
        {
            return false;
        }
        self.waits_elsewhere(bin)
    }

    fn waits_elsewhere(&mut self, bin: i64) -> bool {
        if self.turn_to(bin) {
            return matches!(self.open, Some(IntervalSlot::Waiting(_)));
        }
        if self.may_wait == 0 {
            return false;
        }
        self.may_wait -= 1;
        self.before = self.open.replace(IntervalSlot::Waiting(bin));
        true
    }

    /// Makes an interval that is not done the one being filled.
    fn turn_to(&mut self, bin: i64) -> bool {
        let is = |slot: &Option<IntervalSlot>| slot.as_ref().is_some_and(|slot| slot.bin() == bin);
        if is(&self.open) {
            return true;
        }
        let found = is(&self.before);
        if found {
            std::mem::swap(&mut self.open, &mut self.before);
        }
        found
    }

    /// The same without any interval.
    pub(super) fn emptied(&self) -> Intervals {
        Intervals::new(self.shape.clone())
    }

    /// Puts one sample into its interval. `values` are in the order of the shape's quantities;
    /// NaN represents a cell without a reading.
    #[cfg(test)]
    pub(super) fn add(&mut self, bin: i64, values: &[f64]) {
        self.add_at(bin, None, values);
    }

    /// The same for a sample of a moment, counted from the start of the interval. Where the interval
    /// has a sample of that moment it stays as it is, and what became of the new one is returned.
    pub(super) fn add_at(&mut self, bin: i64, moment: Option<u16>, values: &[f64]) -> Option<Fate> {
        if !self.shape.fast {
            self.bins.push(bin);
            for ((kept, number), &value) in
                self.columns.iter_mut().zip(&mut self.numbers).zip(values)
            {
                kept.push_single(value);
                *number += u64::from(!value.is_nan());
            }
            return None;
        }
        let open_here = matches!(&self.open, Some(IntervalSlot::Filling(open)) if open.bin == bin);
        if !open_here && !self.turn_to(bin) {
            self.begin(bin);
        }
        let Some(IntervalSlot::Filling(open)) = &mut self.open else {
            return None;
        };
        if let Some(moment) = moment
            && let Some(fate) = open.take(moment, values)
        {
            return Some(fate);
        }
        let neutral = self.shape.neutral.map(|neutral| neutral.of(values));
        let values = values.iter().copied().chain(neutral);
        open.add(&self.shape.columns, moment, values);
        None
    }

    fn begin(&mut self, bin: i64) {
        let fresh = match self.before.take() {
            Some(IntervalSlot::Filling(mut done)) => {
                self.close(&done);
                done.restart(bin);
                done
            }
            _ => Gathering::new(bin, self.columns.len()),
        };
        self.before = self.open.replace(IntervalSlot::Filling(fresh));
    }

    fn close_slot(&mut self, slot: Option<IntervalSlot>) {
        if let Some(IntervalSlot::Filling(done)) = slot {
            self.close(&done);
        }
    }

    /// Reduces an interval to what is kept of it.
    fn close(&mut self, done: &Gathering) {
        self.bins.push(done.bin);
        push(&mut self.samples, done.samples);
        push(&mut self.spans, done.span);
        for ((kept, number), gathered) in self
            .columns
            .iter_mut()
            .zip(&mut self.numbers)
            .zip(&done.columns)
        {
            kept.push(gathered, &self.samples);
            *number += u64::from(gathered.count);
        }
    }

    /// Takes over the intervals of a later part of the log. The samples that waited were added.
    pub(super) fn merge(&mut self, later: Intervals) {
        let slots = [later.before, later.open];
        let goes_on = slots
            .iter()
            .any(|slot| matches!(slot, Some(IntervalSlot::Filling(_))));
        if goes_on || later.bins.len() > 0 {
            let mut own = [self.before.take(), self.open.take()];
            let [before, open] = slots.map(|slot| match slot {
                Some(IntervalSlot::Waiting(bin)) => own
                    .iter_mut()
                    .find(|own| own.as_ref().is_some_and(|own| own.bin() == bin))
                    .and_then(Option::take),
                other => other,
            });
            for done in own {
                self.close_slot(done);
            }
            let later_samples = &later.samples;
            for (own, later) in self.columns.iter_mut().zip(&later.columns) {
                own.append(later, &self.samples, later_samples);
            }
            append(&mut self.samples, later_samples);
            append(&mut self.spans, &later.spans);
            self.bins.append(&later.bins);
            for (own, later) in self.numbers.iter_mut().zip(&later.numbers) {
                *own += later;
            }
            (self.before, self.open) = (before, open);
        }
        self.met.append(later.met);
        for (own, later) in self.disputed.iter_mut().zip(later.disputed) {
            *own += later;
        }
        // Without this, a log that jumps back and forth would grow with its rows.
        if !self.bins.ascend() && self.bins.len() >= self.settle_at {
            self.settle_closed();
        }
    }

    /// Does the later of two values of an interval count?
    pub(super) fn later_counts(&self) -> bool {
        self.shape.later_counts
    }

    /// How many numbers each column gave so far.
    pub(super) fn numbers(&self) -> Vec<u64> {
        let mut numbers = self.numbers.clone();
        for slot in self.before.iter().chain(&self.open) {
            let IntervalSlot::Filling(gathering) = slot else {
                continue;
            };
            for (number, gathered) in numbers.iter_mut().zip(&gathering.columns) {
                *number += u64::from(gathered.count);
            }
        }
        numbers
    }

    /// Starts of the first and the last interval, once all is settled.
    pub(super) fn span(&self, start_of: impl Fn(i64) -> i64) -> Option<(i64, i64)> {
        let first = self.bins.iter().next()?;
        Some((start_of(first), start_of(self.bins.last()?)))
    }

    /// The intervals whose start is in a window (half-open), ascending: their starts and the
    /// columns of means, sums, last values, and, where samples were faster, minima, maxima and
    /// mean squares.
    pub(super) fn finish(
        mut self,
        start_of: impl Fn(i64) -> i64,
        (from, to): (i64, i64),
    ) -> (Vec<i64>, Vec<GatheredColumn>) {
        self.settle();
        let mut starts: Vec<i64> = self.bins.iter().map(start_of).collect();
        let first = starts.partition_point(|&start| start < from);
        let last = starts.partition_point(|&start| start < to).max(first);
        starts.truncate(last);
        starts.drain(..first);
        let columns = self
            .columns
            .into_iter()
            .map(|kept| kept.finish(first..last))
            .collect();
        (starts, columns)
    }

    /// Memory in use for the intervals that are done. (bytes)
    #[cfg(test)]
    fn bytes(&self) -> usize {
        let columns: usize = self.columns.iter().map(Kept::bytes).sum();
        let samples = 4 * (self.samples.capacity() + self.spans.capacity());
        columns + self.bins.bytes() + samples
    }
}
