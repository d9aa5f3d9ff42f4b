//! Intervals sorted, and those that came in several pieces joined.

use super::{Intervals, UNSETTLED};
use crate::intervals::aggregation::Shape;
use crate::intervals::closed_columns::Kept;
use crate::intervals::grow::push;
use crate::intervals::open_interval::{Fate, Gathering};

impl Intervals {
    /// Sorts the intervals and joins those in several pieces. Returns the numbers of the intervals
    /// that came again, what became of their readings, and of how many.
    pub(crate) fn settle(&mut self) -> Vec<(i64, Fate, u32)> {
        for done in [self.before.take(), self.open.take()] {
            self.close_slot(done);
        }
        self.settle_closed();
        self.met.take()
    }

    pub(super) fn settle_closed(&mut self) {
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
            if self.shape.fast && pieces.len() > 1 {
                self.join_into(&mut settled, pieces);
            } else {
                self.fill_into(&mut settled, pieces);
            }
        }
        self.bins = settled.bins;
        self.samples = settled.samples;
        self.spans = settled.spans;
        self.columns = settled.columns;
        self.settle_at = 2 * self.bins.len() + UNSETTLED;
    }

    /// Adds an interval of several samples, all its pieces joined, by interval and row.
    fn join_into(&mut self, settled: &mut Intervals, pieces: &[(i64, usize)]) {
        let (bin, first) = pieces[0];
        let mut whole = self.gathering(bin, first);
        for &(_, row) in &pieces[1..] {
            let left_out = join(&self.shape, &mut whole, self.gathering(bin, row));
            if let Some((fate, samples)) = left_out {
                self.met.add(bin, fate, samples);
            }
        }
        settled.close(&whole);
    }

    /// Adds an interval as its first piece has it; later readings fill in what that lacks.
    fn fill_into(&mut self, settled: &mut Intervals, pieces: &[(i64, usize)]) {
        self.note_disputed(pieces);
        let mut pieces = pieces.to_vec();
        if self.shape.later_counts {
            pieces.reverse();
        }
        let (bin, first) = pieces[0];
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

    /// Adds up the first and the last value of an interval with several, where they differ.
    fn note_disputed(&mut self, pieces: &[(i64, usize)]) {
        let (Some(&(_, first)), Some(&(_, last))) = (pieces.first(), pieces.last()) else {
            return;
        };
        let energy = self
            .columns
            .iter()
            .find(|kept| kept.keeping.is_energy().is_some());
        let Some(column) = energy.filter(|_| first != last) else {
            return;
        };
        let values = [column.main.get(first), column.main.get(last)];
        if (values[0] - values[1]).abs() > f64::EPSILON * values[1].abs() {
            self.disputed[0] += values[0];
            self.disputed[1] += values[1];
        }
    }

    fn gathering(&self, bin: i64, row: usize) -> Gathering {
        let samples = self.samples[row];
        let columns = self.columns.iter();
        let columns = columns.map(|kept| kept.gathered(row, samples)).collect();
        Gathering::of(bin, samples, self.spans[row], columns)
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
