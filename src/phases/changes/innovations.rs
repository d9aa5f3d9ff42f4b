//! From powers to what is new in each interval.

use std::ops::Range;

use super::record::PowerRecord;

/// Intervals that are worked on at a time.
pub(super) const TILE: usize = 256;

/// How the record is looked at: clocks put right, and how much of the interval before is taken off.
#[derive(Clone, Debug)]
pub(super) struct Lens<'r> {
    pub(super) record: &'r PowerRecord,
    /// How far each load's clock is behind that of the supply's meter. (intervals)
    pub(super) late: Vec<f64>,
    /// Share of the value before that is taken off; 1: changes. (1)
    pub(super) carried: f64,
    /// Intervals looked at.
    pub(super) runs: Vec<Range<usize>>,
}

impl Lens<'_> {
    /// All series of the loads, those of one load next to each other.
    pub(super) fn features(&self) -> usize {
        let loads = self.record.loads.iter();
        loads.map(|load| load.series.len()).sum()
    }

    pub(super) fn channels(&self) -> usize {
        self.record.supply.len()
    }

    /// Rows that there will be.
    pub(super) fn rows(&self) -> usize {
        self.runs
            .iter()
            .map(|run| run.len().saturating_sub(1))
            .sum()
    }

    /// The rows in groups of `TILE` at most.
    pub(super) fn tiles(&self) -> Vec<Range<usize>> {
        let mut tiles = Vec::new();
        for run in &self.runs {
            let mut from = run.start + 1;
            while from < run.end {
                let to = (from + TILE).min(run.end);
                tiles.push(from..to);
                from = to;
            }
        }
        tiles
    }

    /// What is new in some intervals, column by column: the loads' series, then the supply's channels.
    pub(super) fn columns(&self, rows: &Range<usize>, into: &mut Vec<f32>) {
        let carried = self.carried as f32;
        into.clear();
        let run = self.run_of(rows.start);
        for (load, &late) in self.record.loads.iter().zip(&self.late) {
            for series in &load.series {
                if late == 0.0 {
                    into.extend(
                        rows.clone()
                            .map(|row| series[row] - carried * series[row - 1]),
                    );
                } else {
                    let at = |row: usize| shifted(series, &run, row, late);
                    let mut before = at(rows.start - 1);
                    for row in rows.clone() {
                        let now = at(row);
                        into.push(now - carried * before);
                        before = now;
                    }
                }
            }
        }
        for channel in &self.record.supply {
            into.extend(
                rows.clone()
                    .map(|row| channel[row] - carried * channel[row - 1]),
            );
        }
    }

    fn run_of(&self, row: usize) -> Range<usize> {
        let at = self
            .record
            .runs
            .partition_point(|run| run.end <= row)
            .min(self.record.runs.len().saturating_sub(1));
        self.record.runs[at].clone()
    }
}

/// A series read so many intervals later than it is stamped, within its run.
pub(super) fn shifted(series: &[f32], run: &Range<usize>, row: usize, late: f64) -> f32 {
    let whole = late.floor();
    let part = (late - whole) as f32;
    let clamp = |at: i64| at.clamp(run.start as i64, run.end as i64 - 1) as usize;
    let first = clamp(row as i64 + whole as i64);
    let next = clamp(row as i64 + whole as i64 + 1);
    series[first] * (1.0 - part) + series[next] * part
}
