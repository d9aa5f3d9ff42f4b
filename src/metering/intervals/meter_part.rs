//! One meter's share of a chunk or log: its intervals and what came twice.

use crate::intervals::Intervals;
use crate::intervals::aggregation::Shape;
use crate::intervals::open_interval::Fate;
use crate::table::quality::{ReadingLine, Tally};
use crate::time::grid::Grid;

/// So many rows that do not lead forward in time are remembered with their lines; more is a log in
/// another order, not one with repetitions.
const LINES_KEPT: usize = 4096;

/// One meter's share of a chunk or log.
#[derive(Debug)]
pub(crate) struct MeterPart {
    pub(crate) intervals: Intervals,
    pub(crate) repeats: Tally,
    pub(crate) contradictions: Tally,
    /// Starts of the intervals whose only reading came again. (Unix s)
    pub(crate) repeated: Vec<i64>,
    /// Interval and line of the first row, and the latest interval of all rows, where there is one
    /// reading an interval.
    ends: Option<(i64, ReadingLine, i64)>,
    /// Rows that do not lead forward: their intervals and lines.
    back: Vec<(i64, ReadingLine)>,
    /// Samples of moments that the log had passed before.
    pub(crate) late: Tally,
    /// Samples of the first intervals of a chunk, which wait until the chunk before is known.
    waiting: Waiting,
    /// Intervals of hours that the clock repeats. Their rows come out of the order of the others.
    again: Intervals,
}

/// Samples that wait: time, line, and the readings one sample after the other.
#[derive(Debug, Default)]
struct Waiting {
    samples: Vec<(i64, ReadingLine)>,
    values: Vec<f64>,
}

impl MeterPart {
    /// The beginning of a log.
    pub(crate) fn of_log(shape: &Shape) -> MeterPart {
        MeterPart {
            intervals: Intervals::new(shape.clone()),
            repeats: Tally::default(),
            contradictions: Tally::default(),
            repeated: Vec::new(),
            ends: None,
            back: Vec::new(),
            late: Tally::default(),
            waiting: Waiting::default(),
            again: Intervals::new(shape.clone()),
        }
    }

    /// A chunk of a log.
    pub(crate) fn of_chunk(shape: &Shape) -> MeterPart {
        MeterPart {
            intervals: Intervals::of_part(shape.clone()),
            ..MeterPart::of_log(shape)
        }
    }

    /// Adds a reading; NaN represents none.
    pub(crate) fn add(&mut self, grid: Grid, at: i64, spot: ReadingLine, values: &[f64]) {
        let bin = grid.bin(at);
        if self.intervals.waits(bin) {
            self.waiting.samples.push((at, spot));
            self.waiting.values.extend_from_slice(values);
            return;
        }
        self.remember(grid, bin, spot);
        if let Some(fate) = self.intervals.add_at(bin, grid.moment(at), values) {
            self.count(fate, grid.start_of(at), Some(spot), 1);
        }
    }

    /// Adds a reading of an hour that the clock repeats, out of the order of the others.
    pub(crate) fn add_repeated(&mut self, grid: Grid, at: i64, spot: ReadingLine, values: &[f64]) {
        let bin = grid.bin(at);
        self.remember(grid, bin, spot);
        if let Some(fate) = self.again.add_at(bin, grid.moment(at), values) {
            self.count(fate, grid.start_of(at), Some(spot), 1);
        }
    }

    /// Remembers the line of a row that does not lead forward.
    fn remember(&mut self, grid: Grid, bin: i64, spot: ReadingLine) {
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

    fn count(&mut self, fate: Fate, at: i64, spot: Option<ReadingLine>, readings: u32) {
        let tally = match fate {
            Fate::Repeated => &mut self.repeats,
            Fate::Contradicted => &mut self.contradictions,
            Fate::Late => &mut self.late,
        };
        match spot {
            Some(spot) => tally.add_at(Some(at), spot),
            None => tally.add(Some(at)),
        }
        tally.count += u64::from(readings.saturating_sub(1));
    }

    /// The same with other lines.
    pub(crate) fn placed(self, place: impl Fn(ReadingLine) -> ReadingLine) -> MeterPart {
        MeterPart {
            repeats: self.repeats.placed(&place),
            contradictions: self.contradictions.placed(&place),
            late: self.late.placed(&place),
            waiting: Waiting {
                samples: self
                    .waiting
                    .samples
                    .into_iter()
                    .map(|(at, spot)| (at, place(spot)))
                    .collect(),
                ..self.waiting
            },
            ends: self
                .ends
                .map(|(first, spot, last)| (first, place(spot), last)),
            back: self
                .back
                .into_iter()
                .map(|(bin, spot)| (bin, place(spot)))
                .collect(),
            ..self
        }
    }

    /// Takes over a later part.
    pub(crate) fn merge(&mut self, grid: Grid, later: MeterPart) {
        self.repeats.merge(later.repeats);
        self.contradictions.merge(later.contradictions);
        self.late.merge(later.late);
        let waiting = later.waiting;
        let width = waiting.values.len() / waiting.samples.len().max(1);
        let readings = waiting.values.chunks(width.max(1));
        for (values, (at, spot)) in readings.zip(waiting.samples) {
            self.add(grid, at, spot, values);
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
        self.again.merge(later.again);
    }

    /// Sorts the intervals and counts those that came twice. To be called before the end.
    pub(crate) fn settle(&mut self, grid: Grid) {
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
        let again = self.intervals.emptied();
        self.intervals
            .merge(std::mem::replace(&mut self.again, again));
        for (bin, fate, readings) in self.intervals.settle() {
            nth = if previous == Some(bin) { nth + 1 } else { 0 };
            previous = Some(bin);
            let start = grid.start_of_bin(bin);
            if fate == Fate::Repeated && !grid.is_fast() {
                self.repeated.push(start);
            }
            self.count(fate, start, line_of(bin, nth), readings);
        }
    }

    /// How many numbers each column gave.
    pub(crate) fn numbers(&self) -> Vec<u64> {
        let again = self.again.numbers();
        let all = self.intervals.numbers().into_iter().zip(again);
        all.map(|(one, other)| one + other).collect()
    }
}
