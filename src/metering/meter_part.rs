//! One meter's share of a chunk or log: its intervals and what came twice.

use super::accumulate::{Fate, Intervals};
use super::grid::Grid;
use super::quality::Tally;
use super::shape::Shape;

/// One meter's share of a chunk or log.
#[derive(Debug)]
pub(super) struct MeterPart {
    pub(super) intervals: Intervals,
    pub(super) repeats: Tally,
    pub(super) contradictions: Tally,
    /// Of a chunk, the first sample waits until the last one of the chunk before is known.
    waits: bool,
    first: Option<Sample>,
    last: Option<Sample>,
    /// The last sample of an hour that the clock repeats.
    last_repeated: Option<Sample>,
}

#[derive(Clone, Debug, PartialEq)]
struct Sample {
    at: i64,
    values: Vec<f64>,
}

impl Sample {
    fn put(place: &mut Option<Sample>, at: i64, values: &[f64]) {
        let sample = place.get_or_insert_with(|| Sample {
            at,
            values: Vec::new(),
        });
        sample.at = at;
        sample.values.clear();
        sample.values.extend_from_slice(values);
    }
}

impl MeterPart {
    /// The beginning of a log.
    pub(super) fn of_log(shape: &Shape) -> MeterPart {
        MeterPart {
            intervals: Intervals::new(shape.clone()),
            repeats: Tally::default(),
            contradictions: Tally::default(),
            waits: false,
            first: None,
            last: None,
            last_repeated: None,
        }
    }

    /// A chunk of a log.
    pub(super) fn of_chunk(shape: &Shape) -> MeterPart {
        MeterPart {
            intervals: Intervals::of_part(shape.clone()),
            waits: true,
            ..MeterPart::of_log(shape)
        }
    }

    /// Adds a reading; NaN stands for none.
    pub(super) fn add(&mut self, grid: Grid, at: i64, values: &[f64]) {
        if grid.tells_samples_apart() {
            let waits = self.waits && self.first.is_none();
            if let Some(fate) = seen(self.last.as_ref().filter(|_| !waits), at, values) {
                self.count(fate, grid.start_of(at));
                return;
            }
            Sample::put(&mut self.last, at, values);
            if waits {
                self.first.clone_from(&self.last);
                return;
            }
        }
        self.intervals.add(grid.bin(at), values);
    }

    /// Adds a reading of an hour that the clock repeats, out of the order of the others.
    pub(super) fn add_repeated(&mut self, grid: Grid, at: i64, values: &[f64]) {
        if grid.tells_samples_apart() {
            if let Some(fate) = seen(self.last_repeated.as_ref(), at, values) {
                self.count(fate, grid.start_of(at));
                return;
            }
            Sample::put(&mut self.last_repeated, at, values);
        }
        self.intervals.add(grid.bin(at), values);
    }

    fn count(&mut self, fate: Fate, at: i64) {
        match fate {
            Fate::Repeated => self.repeats.add(Some(at)),
            Fate::Contradicted => self.contradictions.add(Some(at)),
        }
    }

    /// Takes over a later part.
    pub(super) fn merge(&mut self, grid: Grid, later: MeterPart) {
        self.repeats.merge(later.repeats);
        self.contradictions.merge(later.contradictions);
        if let Some(first) = later.first {
            self.add(grid, first.at, &first.values);
        }
        self.intervals.merge(later.intervals);
        self.last = later.last.or_else(|| self.last.take());
    }

    /// Sorts the intervals and counts those that came twice. To be called before the end.
    pub(super) fn settle(&mut self, grid: Grid) {
        for (bin, fate) in self.intervals.settle() {
            self.count(fate, grid.start_of_bin(bin));
        }
    }

    /// How many numbers each column gave.
    pub(super) fn numbers(&self) -> Vec<u64> {
        self.intervals.numbers()
    }
}

/// What becomes of a sample, where there was one of the same moment just before.
fn seen(last: Option<&Sample>, at: i64, values: &[f64]) -> Option<Fate> {
    let last = last.filter(|last| last.at == at)?;
    #[expect(clippy::float_cmp, reason = "the same text gives the same number")]
    let same = |(a, b): (&f64, &f64)| a == b || a.is_nan() && b.is_nan();
    Some(if last.values.iter().zip(values).all(same) {
        Fate::Repeated
    } else {
        Fate::Contradicted
    })
}
