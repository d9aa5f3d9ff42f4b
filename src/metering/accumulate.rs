//! Readings gathered into base intervals, in one pass, mergeable in order.
//!
//! Of a log with several samples an interval, only the interval being filled is held in full; the
//! others are columns of numbers. They stand in the order of their arrival until they are settled:
//! sorted, and those that came in several pieces joined.

use super::bins::Bins;
use super::gathering::Gathering;
pub(super) use super::kept::Column;
use super::kept::{Kept, append, push};
use super::shape::Shape;

/// Intervals that may be out of order before they are settled for the first time.
const UNSETTLED: usize = 4096;

/// What became of the readings of an interval that came a second time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fate {
    /// They were there already.
    Repeated,
    /// Others were there already; the first are kept.
    Contradicted,
}

/// Intervals, each with what is kept of its samples.
#[derive(Clone, Debug)]
pub(super) struct Intervals {
    shape: Shape,
    /// The first interval in full, as long as earlier samples of it may be added.
    head: Option<Gathering>,
    bins: Bins,
    /// Samples of each interval; empty where there is one an interval.
    samples: Vec<u32>,
    columns: Vec<Kept>,
    /// The interval being filled.
    open: Option<Gathering>,
    /// Is the first interval held in full?
    holds_head: bool,
    settle_at: usize,
    met: Vec<(i64, Fate)>,
    numbers: Vec<u64>,
}

impl Intervals {
    /// Intervals of the beginning of a log, to which later parts are added.
    pub(super) fn new(shape: Shape) -> Intervals {
        Intervals {
            columns: shape.columns.iter().copied().map(Kept::new).collect(),
            numbers: vec![0; shape.columns.len()],
            shape,
            head: None,
            bins: Bins::default(),
            samples: Vec::new(),
            open: None,
            holds_head: false,
            settle_at: UNSETTLED,
            met: Vec::new(),
        }
    }

    /// Intervals of a part of a log that is merged into an earlier part.
    pub(super) fn of_part(shape: Shape) -> Intervals {
        Intervals {
            holds_head: true,
            ..Intervals::new(shape)
        }
    }

    /// Puts one sample into its interval. `values` are in the order of the shape's quantities;
    /// NaN stands for a cell without a reading.
    pub(super) fn add(&mut self, bin: i64, values: &[f64]) {
        if !self.shape.fast {
            self.bins.push(bin);
            for ((kept, number), &value) in
                self.columns.iter_mut().zip(&mut self.numbers).zip(values)
            {
                kept.push_single(value);
                *number += u64::from(!value.is_nan());
            }
            return;
        }
        if self.open.as_ref().is_none_or(|open| open.bin != bin) {
            self.begin(bin);
        }
        if let Some(open) = &mut self.open {
            let neutral = self.shape.neutral.map(|neutral| neutral.of(values));
            open.add(&self.shape.columns, values.iter().copied().chain(neutral));
        }
    }

    fn begin(&mut self, bin: i64) {
        let fresh = match self.open.take() {
            Some(mut done) => {
                if self.holds_head && self.head.is_none() {
                    self.head = Some(done);
                    None
                } else {
                    self.close(&done);
                    done.restart(bin);
                    Some(done)
                }
            }
            None => None,
        };
        self.open = Some(fresh.unwrap_or_else(|| Gathering::new(bin, self.columns.len())));
    }

    /// Reduces an interval to what is kept of it.
    fn close(&mut self, done: &Gathering) {
        self.bins.push(done.bin);
        push(&mut self.samples, done.samples);
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

    /// Takes over the intervals of a later part of the log.
    pub(super) fn merge(&mut self, later: Intervals) {
        if let Some(head) = later.head {
            self.join(head);
        }
        if later.bins.len() > 0 {
            if let Some(open) = self.open.take() {
                self.close(&open);
            }
            let later_samples = &later.samples;
            for (own, later) in self.columns.iter_mut().zip(&later.columns) {
                own.append(later, &self.samples, later_samples);
            }
            append(&mut self.samples, later_samples);
            self.bins.append(&later.bins);
            for (own, later) in self.numbers.iter_mut().zip(&later.numbers) {
                *own += later;
            }
        }
        self.met.extend(later.met);
        if let Some(open) = later.open {
            self.join(open);
        }
        // Without this, a log that jumps back and forth would grow with its rows.
        if !self.bins.ascend() && self.bins.len() >= self.settle_at {
            self.settle_closed();
        }
    }

    /// Takes over an interval that may be the one being filled.
    fn join(&mut self, later: Gathering) {
        match &mut self.open {
            Some(open) if open.bin == later.bin => open.combine(&self.shape.columns, &later),
            _ => {
                if let Some(done) = self.open.take() {
                    self.close(&done);
                }
                self.open = Some(later);
            }
        }
    }

    /// Sorts the intervals and joins those in several pieces. Returns the numbers of the intervals
    /// that a log with one reading an interval gave more than once.
    pub(super) fn settle(&mut self) -> Vec<(i64, Fate)> {
        if let Some(open) = self.open.take() {
            self.close(&open);
        }
        self.settle_closed();
        std::mem::take(&mut self.met)
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
                    whole.combine(&self.shape.columns, &self.gathering(bin, row));
                }
                settled.close(&whole);
                continue;
            }
            settled.bins.push(bin);
            if let Some(&samples) = self.samples.get(first) {
                push(&mut settled.samples, samples);
            }
            for (to, from) in settled.columns.iter_mut().zip(&self.columns) {
                to.push_row(from, first, &settled.samples);
            }
            for &(_, row) in &pieces[1..] {
                let fate = fill(&mut settled.columns, &self.columns, row);
                self.met.extend(fate.map(|fate| (bin, fate)));
            }
        }
        self.bins = settled.bins;
        self.samples = settled.samples;
        self.columns = settled.columns;
        self.settle_at = 2 * self.bins.len() + UNSETTLED;
    }

    fn gathering(&self, bin: i64, row: usize) -> Gathering {
        let samples = self.samples[row];
        Gathering {
            bin,
            samples,
            columns: self
                .columns
                .iter()
                .map(|kept| kept.gathered(row, samples))
                .collect(),
        }
    }

    /// How many numbers each column gave so far.
    pub(super) fn numbers(&self) -> Vec<u64> {
        let mut numbers = self.numbers.clone();
        for gathering in self.head.iter().chain(&self.open) {
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
        columns + self.bins.bytes() + 4 * self.samples.capacity()
    }
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
        assert_eq!(met, [(1, Fate::Repeated), (1, Fate::Contradicted)]);
        let (bins, columns) = whole(intervals);
        assert_eq!(bins, [1, 2]);
        assert_eq!(columns[0].values, [Some(2.0), None]);
        assert_eq!(columns[1].values, [Some(231.0), Some(232.0)]);
    }

    #[test]
    fn cut_anywhere_and_merged_the_result_is_the_same() {
        let register = Quantity::EnergyImport(None);
        let power = Quantity::ActivePower(None);
        let samples: Vec<(i64, f64)> = (0..40)
            .map(|n| (n / 4 % 7, if n % 9 == 0 { f64::NAN } else { n as f64 }))
            .collect();
        let cut_at = |cuts: [usize; 2]| {
            let shape = Shape::new(&[current(), register, power], true);
            let mut all = Intervals::new(shape.clone());
            let mut part = Intervals::of_part(shape.clone());
            for (index, &(bin, value)) in samples.iter().enumerate() {
                if cuts.contains(&index) {
                    all.merge(std::mem::replace(
                        &mut part,
                        Intervals::of_part(shape.clone()),
                    ));
                }
                part.add(bin, &[value, value * 10.0, 1.0]);
            }
            all.merge(part);
            let numbers = all.numbers();
            let (bins, columns) = whole(all);
            (numbers, bins, columns)
        };
        let expected = cut_at([40, 40]);
        assert_eq!(expected.0, [35, 35, 40]);
        for first in 0..40 {
            for second in first..40 {
                assert_eq!(
                    cut_at([first, second]),
                    expected,
                    "cut at {first}, {second}"
                );
            }
        }
    }

    #[test]
    fn intervals_that_come_late_are_sorted_in() {
        let mut intervals = Intervals::new(Shape::new(&[current()], false));
        for bin in [5, 3, 4, 1, 3] {
            intervals.add(bin, &[bin as f64]);
        }
        assert_eq!(intervals.settle(), [(3, Fate::Repeated)]);
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
                let mut part = Intervals::of_part(shape.clone());
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
        assert_eq!(row + size_of::<u32>(), 156);
    }

    #[test]
    fn a_log_that_jumps_back_and_forth_does_not_grow_with_its_rows() {
        let shape = Shape::new(&[current(), Quantity::EnergyImport(None)], true);
        let mut all = Intervals::new(shape.clone());
        for _ in 0..100 {
            let mut part = Intervals::of_part(shape.clone());
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
