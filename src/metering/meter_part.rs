//! One meter's share of a chunk or log: its intervals and what came twice.

use super::accumulate::{Fate, Intervals};
use super::grid::Grid;
use super::quality::{Spot, Tally};
use super::shape::Shape;

/// So many rows that do not lead forward in time are remembered with their lines; more is a log in
/// another order, not one with repetitions.
const LINES_KEPT: usize = 4096;

/// One meter's share of a chunk or log.
#[derive(Debug)]
pub(super) struct MeterPart {
    pub(super) intervals: Intervals,
    pub(super) repeats: Tally,
    pub(super) contradictions: Tally,
    /// Starts of the intervals whose only reading came again. (Unix s)
    pub(super) repeated: Vec<i64>,
    /// Interval and line of the first row, and the latest interval of all rows, where there is one
    /// reading an interval.
    ends: Option<(i64, Spot, i64)>,
    /// Rows that do not lead forward: their intervals and lines.
    back: Vec<(i64, Spot)>,
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
    spot: Spot,
    values: Vec<f64>,
}

impl Sample {
    fn put(place: &mut Option<Sample>, at: i64, spot: Spot, values: &[f64]) {
        let sample = place.get_or_insert_with(|| Sample {
            at,
            spot,
            values: Vec::new(),
        });
        sample.at = at;
        sample.spot = spot;
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
            repeated: Vec::new(),
            ends: None,
            back: Vec::new(),
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
    pub(super) fn add(&mut self, grid: Grid, at: i64, spot: Spot, values: &[f64]) {
        if grid.tells_samples_apart() {
            let waits = self.waits && self.first.is_none();
            if let Some(fate) = seen(self.last.as_ref().filter(|_| !waits), at, values) {
                self.count(fate, grid.start_of(at), Some(spot));
                return;
            }
            Sample::put(&mut self.last, at, spot, values);
            if waits {
                self.first.clone_from(&self.last);
                return;
            }
        }
        let bin = grid.bin(at);
        self.remember(grid, bin, spot);
        self.intervals.add(bin, values);
    }

    /// Adds a reading of an hour that the clock repeats, out of the order of the others.
    pub(super) fn add_repeated(&mut self, grid: Grid, at: i64, spot: Spot, values: &[f64]) {
        if grid.tells_samples_apart() {
            if let Some(fate) = seen(self.last_repeated.as_ref(), at, values) {
                self.count(fate, grid.start_of(at), Some(spot));
                return;
            }
            Sample::put(&mut self.last_repeated, at, spot, values);
        }
        let bin = grid.bin(at);
        self.remember(grid, bin, spot);
        self.intervals.add(bin, values);
    }

    /// Remembers the line of a row that does not lead forward.
    fn remember(&mut self, grid: Grid, bin: i64, spot: Spot) {
        if grid.is_fast() {
            return;
        }
        let Some((.., latest)) = &mut self.ends else {
            self.ends = Some((bin, spot, bin));
            return;
        };
        if bin > *latest {
            *latest = bin;
        } else if self.back.len() < LINES_KEPT {
            self.back.push((bin, spot));
        }
    }

    fn count(&mut self, fate: Fate, at: i64, spot: Option<Spot>) {
        let tally = match fate {
            Fate::Repeated => &mut self.repeats,
            Fate::Contradicted => &mut self.contradictions,
        };
        match spot {
            Some(spot) => tally.add_at(Some(at), spot),
            None => tally.add(Some(at)),
        }
    }

    /// The same with other lines.
    pub(super) fn placed(self, place: impl Fn(Spot) -> Spot) -> MeterPart {
        let placed = |sample: Option<Sample>| {
            sample.map(|sample| Sample {
                spot: place(sample.spot),
                ..sample
            })
        };
        MeterPart {
            repeats: self.repeats.placed(&place),
            contradictions: self.contradictions.placed(&place),
            ends: self
                .ends
                .map(|(first, spot, last)| (first, place(spot), last)),
            back: self
                .back
                .into_iter()
                .map(|(bin, spot)| (bin, place(spot)))
                .collect(),
            first: placed(self.first),
            last: placed(self.last),
            last_repeated: placed(self.last_repeated),
            ..self
        }
    }

    /// Takes over a later part.
    pub(super) fn merge(&mut self, grid: Grid, later: MeterPart) {
        self.repeats.merge(later.repeats);
        self.contradictions.merge(later.contradictions);
        if let Some(first) = later.first {
            self.add(grid, first.at, first.spot, &first.values);
        }
        if let Some((first, spot, last)) = later.ends {
            self.remember(grid, first, spot);
            self.ends = self
                .ends
                .map(|(first, spot, latest)| (first, spot, latest.max(last)));
        }
        let room = LINES_KEPT.saturating_sub(self.back.len());
        self.back.extend(later.back.into_iter().take(room));
        self.intervals.merge(later.intervals);
        self.last = later.last.or_else(|| self.last.take());
    }

    /// Sorts the intervals and counts those that came twice. To be called before the end.
    pub(super) fn settle(&mut self, grid: Grid) {
        let mut back = std::mem::take(&mut self.back);
        back.sort_unstable();
        // A log that runs backwards throughout has steps back without repetitions.
        let line_of = |bin: i64, nth: usize| {
            let first = back.partition_point(|&(known, _)| known < bin);
            let found = back.get(first + nth).filter(|(known, _)| *known == bin);
            found.map(|&(_, spot)| spot)
        };
        let mut nth = 0;
        let mut previous = None;
        for (bin, fate) in self.intervals.settle() {
            nth = if previous == Some(bin) { nth + 1 } else { 0 };
            previous = Some(bin);
            let start = grid.start_of_bin(bin);
            if fate == Fate::Repeated {
                self.repeated.push(start);
            }
            self.count(fate, start, line_of(bin, nth));
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
