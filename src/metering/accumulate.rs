//! Readings gathered into base intervals, in one pass, mergeable in order.
//!
//! Of a log with several samples an interval, only the interval being filled is held in full; the
//! others are columns of numbers. They stand in the order of their arrival until they are settled:
//! sorted, and those that came in several pieces joined.

use super::bins::Bins;
pub(super) use super::gathering::Fate;
use super::gathering::{Gathering, Span};
pub(super) use super::kept::Column;
use super::kept::{Kept, append, push};
use super::met::Met;
use super::shape::Shape;

/// Intervals that may be out of order before they are settled for the first time.
const UNSETTLED: usize = 4096;

/// An interval that is not done.
#[derive(Clone, Debug)]
enum Slot {
    Filling(Gathering),
    /// Its samples are kept elsewhere until the part before is known.
    Waiting(i64),
}

impl Slot {
    fn bin(&self) -> i64 {
        match self {
            Slot::Filling(gathering) => gathering.bin,
            Slot::Waiting(bin) => *bin,
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
    open: Option<Slot>,
    /// The one filled before: a clock that is put back by a few seconds may lead back to it.
    before: Option<Slot>,
    /// Intervals of the beginning that still may wait for what the part before holds of them.
    may_wait: u8,
    settle_at: usize,
    /// Intervals that were met again, what became of the readings, and of how many.
    met: Met,
    numbers: Vec<u64>,
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
            met: Met::default(),
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
        if let Some(Slot::Filling(open)) = &self.open
            && open.bin == bin
        {
            return false;
        }
        self.waits_elsewhere(bin)
    }

    fn waits_elsewhere(&mut self, bin: i64) -> bool {
        if self.turn_to(bin) {
            return matches!(self.open, Some(Slot::Waiting(_)));
        }
        if self.may_wait == 0 {
            return false;
        }
        self.may_wait -= 1;
        self.before = self.open.replace(Slot::Waiting(bin));
        true
    }

    /// Makes an interval that is not done the one being filled.
    fn turn_to(&mut self, bin: i64) -> bool {
        let is = |slot: &Option<Slot>| slot.as_ref().is_some_and(|slot| slot.bin() == bin);
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
    /// NaN stands for a cell without a reading.
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
        let open_here = matches!(&self.open, Some(Slot::Filling(open)) if open.bin == bin);
        if !open_here && !self.turn_to(bin) {
            self.begin(bin);
        }
        let Some(Slot::Filling(open)) = &mut self.open else {
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
            Some(Slot::Filling(mut done)) => {
                self.close(&done);
                done.restart(bin);
                done
            }
            _ => Gathering::new(bin, self.columns.len()),
        };
        self.before = self.open.replace(Slot::Filling(fresh));
    }

    fn close_slot(&mut self, slot: Option<Slot>) {
        if let Some(Slot::Filling(done)) = slot {
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
            .any(|slot| matches!(slot, Some(Slot::Filling(_))));
        if goes_on || later.bins.len() > 0 {
            let mut own = [self.before.take(), self.open.take()];
            let [before, open] = slots.map(|slot| match slot {
                Some(Slot::Waiting(bin)) => own
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
        // Without this, a log that jumps back and forth would grow with its rows.
        if !self.bins.ascend() && self.bins.len() >= self.settle_at {
            self.settle_closed();
        }
    }

    /// Sorts the intervals and joins those in several pieces. Returns the numbers of the intervals
    /// that came again, what became of their readings, and of how many.
    pub(super) fn settle(&mut self) -> Vec<(i64, Fate, u32)> {
        for done in [self.before.take(), self.open.take()] {
            self.close_slot(done);
        }
        self.settle_closed();
        self.met.take()
    }

    fn settle_closed(&mut self) {
        if self.bins.ascend() {
            return;
        }
        let mut order: Vec<(i64, usize)> = self
            .bins
            .iter()
            .enumerate()
            .map(|(row, bin)| (bin, row))
            .collect();
        order.sort_unstable();
        let mut settled = Intervals::new(self.shape.clone());
        for pieces in order.chunk_by(|a, b| a.0 == b.0) {
            let (bin, first) = pieces[0];
            if self.shape.fast && pieces.len() > 1 {
                let mut whole = self.gathering(bin, first);
                for &(_, row) in &pieces[1..] {
                    let left_out = join(&self.shape, &mut whole, self.gathering(bin, row));
                    if let Some((fate, samples)) = left_out {
                        self.met.add(bin, fate, samples);
                    }
                }
                settled.close(&whole);
                continue;
            }
            settled.bins.push(bin);
            if let Some(&samples) = self.samples.get(first) {
                push(&mut settled.samples, samples);
            }
            if let Some(&span) = self.spans.get(first) {
                push(&mut settled.spans, span);
            }
            for (to, from) in settled.columns.iter_mut().zip(&self.columns) {
                to.push_row(from, first, &settled.samples);
            }
            for &(_, row) in &pieces[1..] {
                if let Some(fate) = fill(&mut settled.columns, &self.columns, row) {
                    self.met.add(bin, fate, 1);
                }
            }
        }
        self.bins = settled.bins;
        self.samples = settled.samples;
        self.spans = settled.spans;
        self.columns = settled.columns;
        self.settle_at = 2 * self.bins.len() + UNSETTLED;
    }

    fn gathering(&self, bin: i64, row: usize) -> Gathering {
        let samples = self.samples[row];
        let columns = self.columns.iter();
        let columns = columns.map(|kept| kept.gathered(row, samples)).collect();
        Gathering::of(bin, samples, self.spans[row], columns)
    }

    /// How many numbers each column gave so far.
    pub(super) fn numbers(&self) -> Vec<u64> {
        let mut numbers = self.numbers.clone();
        for slot in self.before.iter().chain(&self.open) {
            let Slot::Filling(gathering) = slot else {
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

    /// The intervals whose start lies in a window (half-open), ascending: their starts and the
    /// columns of means, sums, last values, and, where samples were faster, minima, maxima and
    /// mean squares.
    pub(super) fn finish(
        mut self,
        start_of: impl Fn(i64) -> i64,
        (from, to): (i64, i64),
    ) -> (Vec<i64>, Vec<Column>) {
        self.settle();
        let mut starts: Vec<i64> = self.bins.iter().map(start_of).collect();
        let first = starts.partition_point(|&start| start < from);
        let last = starts.partition_point(|&start| start < to).max(first);
        starts.truncate(last);
        starts.drain(..first);
        let columns = self
            .columns
            .into_iter()
            .flat_map(|kept| kept.finish(first..last))
            .collect();
        (starts, columns)
    }

    /// Memory in use for the intervals that are done. (bytes)
    #[cfg(test)]
    fn bytes(&self) -> usize {
        let columns: usize = self.columns.iter().map(Kept::bytes).sum();
        let beside = 4 * (self.samples.capacity() + self.spans.capacity());
        columns + self.bins.bytes() + beside
    }
}

/// Joins a later piece of an interval. Where both have samples of the same moments, the piece that
/// reaches further stays, the first if neither does; returns what became of the other's samples.
fn join(shape: &Shape, whole: &mut Gathering, later: Gathering) -> Option<(Fate, u32)> {
    if !whole.span.meets(later.span) {
        whole.combine(&shape.columns, &later);
        return None;
    }
    if whole.columns == later.columns && whole.span == later.span {
        return Some((Fate::Repeated, later.samples));
    }
    if later.span != whole.span && later.span.covers(whole.span) && later.samples > whole.samples {
        let left_out = whole.samples;
        *whole = later;
        return Some((Fate::Late, left_out));
    }
    Some((Fate::Late, later.samples))
}

/// Fills what the last interval lacks from another row of readings. `None` where something was
/// filled in and nothing contradicts.
fn fill(columns: &mut [Kept], from: &[Kept], row: usize) -> Option<Fate> {
    let last = columns.first()?.main.len().checked_sub(1)?;
    let contradicts = columns.iter().zip(from).any(|(own, from)| {
        let (own, other) = (own.main.get(last), from.main.get(row));
        (own - other).abs() > f64::EPSILON * other.abs()
    });
    if contradicts {
        return Some(Fate::Contradicted);
    }
    let mut filled = false;
    for (own, from) in columns.iter_mut().zip(from) {
        let value = from.main.get(row);
        if own.main.get(last).is_nan() && !value.is_nan() {
            own.main.set(last, value);
            filled = true;
        }
    }
    (!filled).then_some(Fate::Repeated)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::electrical::Phase;
    use crate::site::Quantity;
    use approx::assert_relative_eq;

    fn current() -> Quantity {
        Quantity::Current(Phase::L1)
    }

    fn whole(intervals: Intervals) -> (Vec<i64>, Vec<Column>) {
        intervals.finish(|bin| bin, (i64::MIN, i64::MAX))
    }

    fn column(columns: &[Column], name: &str) -> Vec<Option<f64>> {
        columns
            .iter()
            .find(|column| column.name == name)
            .expect("column is there")
            .values
            .clone()
    }

    #[test]
    fn fast_samples_become_mean_extremes_and_mean_square() {
        let mut intervals = Intervals::new(Shape::new(&[current()], true));
        for value in [3.0, 4.0, f64::NAN, 5.0] {
            intervals.add(7, &[value]);
        }
        assert_eq!(intervals.numbers(), [3]);
        let (bins, columns) = whole(intervals);
        assert_eq!(bins, [7]);
        assert_eq!(column(&columns, "current_l1_a"), [Some(4.0)]);
        assert_eq!(column(&columns, "current_l1_a_min"), [Some(3.0)]);
        assert_eq!(column(&columns, "current_l1_a_max"), [Some(5.0)]);
        let square = column(&columns, "current_l1_a_mean_square")[0].expect("three samples");
        assert_relative_eq!(square, 50.0 / 3.0, max_relative = 1e-7);
    }

    /// Three equal loads that take turns: at every moment one phase carries 12 A and so does the
    /// neutral (Kirchhoff), while the mean currents of 4 A each would cancel.
    #[test]
    fn loads_that_take_turns_show_in_the_computed_neutral() {
        let quantities = Phase::ALL.map(Quantity::Current);
        let mut intervals = Intervals::new(Shape::new(&quantities, true));
        for sample in 0..60 {
            let mut values = [0.0; 3];
            values[sample % 3] = 12.0;
            intervals.add(0, &values);
        }
        let (_, columns) = whole(intervals);
        for (name, expected) in [
            ("current_n_computed_a", 12.0),
            ("current_n_computed_a_max", 12.0),
            ("current_n_computed_a_mean_square", 144.0),
        ] {
            let value = column(&columns, name)[0].expect("samples");
            assert_relative_eq!(value, expected, max_relative = 1e-6);
        }
    }

    #[test]
    fn a_second_reading_of_a_slow_log_is_told_apart() {
        let voltage = Quantity::Voltage(Phase::L1);
        let mut intervals = Intervals::new(Shape::new(&[current(), voltage], false));
        for (bin, amps, volts) in [
            (1, 2.0, f64::NAN),
            (1, 2.0, f64::NAN),
            (1, 2.5, 230.0),
            (1, f64::NAN, 231.0),
            (2, f64::NAN, 232.0),
        ] {
            intervals.add(bin, &[amps, volts]);
        }
        let met = intervals.settle();
        assert_eq!(met, [(1, Fate::Repeated, 1), (1, Fate::Contradicted, 1)]);
        let (bins, columns) = whole(intervals);
        assert_eq!(bins, [1, 2]);
        assert_eq!(columns[0].values, [Some(2.0), None]);
        assert_eq!(columns[1].values, [Some(231.0), Some(232.0)]);
    }

    #[test]
    fn intervals_that_come_late_are_sorted_in() {
        let mut intervals = Intervals::new(Shape::new(&[current()], false));
        for bin in [5, 3, 4, 1, 3] {
            intervals.add(bin, &[bin as f64]);
        }
        assert_eq!(intervals.settle(), [(3, Fate::Repeated, 1)]);
        let (bins, columns) = whole(intervals);
        assert_eq!(bins, [1, 3, 4, 5]);
        assert_eq!(columns[0].values, [1.0, 3.0, 4.0, 5.0].map(Some));
    }

    /// What a log of 14 columns keeps: at most 160 bytes an interval, however many samples.
    #[test]
    fn fourteen_columns_take_at_most_160_bytes_an_interval() {
        let mut quantities = Vec::new();
        quantities.extend(Phase::ALL.map(Quantity::Voltage));
        quantities.extend(Phase::ALL.map(Quantity::Current));
        quantities.extend(Phase::ALL.map(|phase| Quantity::ActivePower(Some(phase))));
        quantities.extend(Phase::ALL.map(|phase| Quantity::ReactivePower(Some(phase))));
        quantities.extend([Quantity::NeutralCurrent, Quantity::EnergyImport(None)]);
        let shape = Shape::new(&quantities, true);
        let per_interval = |samples: i64, intervals: i64| {
            let mut all = Intervals::new(shape.clone());
            for chunk in 0..intervals / 500 {
                let mut part = Intervals::new(shape.clone());
                for at in chunk * 500 * samples..(chunk + 1) * 500 * samples {
                    part.add(at / samples, &[at as f64 % 100.0; 14]);
                }
                all.merge(part);
            }
            all.bytes() as f64 / intervals as f64
        };
        // An eighth of room to grow at most.
        let measured = [per_interval(2, 20_000), per_interval(8, 20_000)];
        assert!(measured[0] <= 160.0 * 1.125, "{measured:?}");
        assert_relative_eq!(measured[0], measured[1]);
        let mut exact = Intervals::new(shape);
        exact.add(0, &[1.0; 14]);
        exact.settle();
        let row: usize = exact
            .columns
            .iter()
            .map(|kept| {
                let keeping = kept.keeping;
                let beside = [keeping.min, keeping.max, keeping.mean_square];
                let singles = beside.into_iter().filter(|kept| *kept).count();
                4 * singles + if keeping.double { 8 } else { 4 }
            })
            .sum();
        assert_eq!(row + size_of::<u32>() + size_of::<Span>(), 160);
    }

    #[test]
    fn a_log_that_jumps_back_and_forth_does_not_grow_with_its_rows() {
        let shape = Shape::new(&[current(), Quantity::EnergyImport(None)], true);
        let mut all = Intervals::new(shape.clone());
        for _ in 0..100 {
            let mut part = Intervals::new(shape.clone());
            for row in 0..1000 {
                part.add(row % 2 * 1440, &[5.0, row as f64]);
            }
            all.merge(part);
        }
        assert!(all.bins.len() < 2 * UNSETTLED);
        let (bins, columns) = whole(all);
        assert_eq!(bins, [0, 1440]);
        assert_eq!(column(&columns, "current_l1_a"), [Some(5.0), Some(5.0)]);
        assert_eq!(
            column(&columns, "energy_import_kwh"),
            [Some(998.0), Some(999.0)]
        );
    }
}
