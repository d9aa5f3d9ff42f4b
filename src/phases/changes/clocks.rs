//! Clocks: by how much each load's meter is behind or ahead of the supply's.

use rayon::prelude::*;

use super::record::PowerRecord;
use super::scale::expected_scale;
use std::ops::Range;

/// Clocks are looked for within this. (s)
const FARTHEST_S: f64 = 300.0;
/// Standard deviation of a meter's clock that is set by hand now and then. Common practice: a minute or two. (s)
const CLOCK_SD_S: f64 = 90.0;
/// Finest difference that is looked for, in seconds and as a part of an interval.
const FINEST_S: f64 = 15.0;
const FINEST_PART: f64 = 15.0;
/// How often all loads are gone through.
const SWEEPS: usize = 10;
const SCALE_ROUNDS: usize = 3;
/// Values that one step of a loop takes.
const LANES: usize = 8;
/// The first of them, in which all rows count alike: what is not yet explained must not lose its weight.
const EVEN_SWEEPS: usize = 3;

/// How far each load's clock is behind that of the supply's meter, by the changes of power: each load in turn is put
/// where it explains most of what the others leave. (intervals)
pub(super) fn clocks(record: &PowerRecord, runs: &[Range<usize>]) -> Vec<f64> {
    let mut search = Search::new(record, runs);
    let mut order: Vec<usize> = (0..record.loads.len()).collect();
    let energy: Vec<f64> = (0..order.len()).map(|load| search.size(load)).collect();
    // The largest first: they hide the others.
    order.sort_by(|&a, &b| energy[b].total_cmp(&energy[a]));
    for sweep in 0..SWEEPS {
        search.weigh(sweep >= EVEN_SWEEPS);
        let mut is_new = false;
        for &load in &order {
            is_new |= search.place(load);
        }
        if !is_new && sweep > EVEN_SWEEPS {
            break;
        }
    }
    search.late
}

struct Search<'r> {
    record: &'r PowerRecord,
    runs: &'r [Range<usize>],
    late: Vec<f64>,
    connection: Vec<Option<usize>>,
    /// Changes of each channel that no load explains, in the order of the rows.
    left: Vec<Vec<f32>>,
    /// Inverse variance of each channel.
    weight: Vec<f64>,
    /// Weight of each row: less where what no load explains is unusual.
    rows: Vec<f32>,
}

impl<'r> Search<'r> {
    fn new(record: &'r PowerRecord, runs: &'r [Range<usize>]) -> Search<'r> {
        let changes = |series: &[f32]| -> Vec<f32> {
            let rows = runs.iter().flat_map(|run| run.start + 1..run.end);
            rows.map(|row| series[row] - series[row - 1]).collect()
        };
        Search {
            record,
            runs,
            late: vec![0.0; record.loads.len()],
            connection: vec![None; record.loads.len()],
            left: record
                .supply
                .iter()
                .map(|channel| changes(channel))
                .collect(),
            weight: Vec::new(),
            rows: Vec::new(),
        }
    }

    fn weigh(&mut self, by_row: bool) {
        let rows = self.left.first().map_or(0, Vec::len);
        if !by_row || self.rows.len() != rows {
            self.rows = vec![1.0; rows];
        }
        for _ in 0..if by_row { SCALE_ROUNDS } else { 1 } {
            let variance = |left: &Vec<f32>| {
                let sum: f64 = left
                    .iter()
                    .zip(&self.rows)
                    .map(|(one, weight)| f64::from(weight * one * one))
                    .sum();
                (sum / rows.max(1) as f64).max(1e-12)
            };
            self.weight = self
                .left
                .iter()
                .map(|left| variance(left).recip())
                .collect();
            if by_row {
                for (row, weight) in self.rows.iter_mut().enumerate() {
                    let distance: f64 = self
                        .left
                        .iter()
                        .zip(&self.weight)
                        .map(|(left, weight)| weight * f64::from(left[row]).powi(2))
                        .sum();
                    *weight = expected_scale(distance, self.left.len()) as f32;
                }
            }
        }
    }

    /// Changes of a load's active power so many intervals later.
    fn changes(&self, load: usize, late: f64) -> Vec<f32> {
        let whole = late.floor();
        let part = (late - whole) as f32;
        let mut changes = self.whole_changes(load, whole as i64);
        if part > 0.0 {
            let next = self.whole_changes(load, whole as i64 + 1);
            for (change, next) in changes.iter_mut().zip(next) {
                *change = (1.0 - part) * *change + part * next;
            }
        }
        changes
    }

    /// The same for whole intervals; nothing changes beyond the ends of a run.
    fn whole_changes(&self, load: usize, late: i64) -> Vec<f32> {
        let series = &self.record.loads[load].series[0];
        let mut changes = Vec::with_capacity(self.left[0].len());
        for run in self.runs {
            let (start, end) = (run.start as i64, run.end as i64);
            let first = (start + 1 + late).clamp(start + 1, end);
            let last = (end + late).clamp(first, end);
            let before = (first - start - 1 - late).clamp(0, end - start - 1);
            let inside = first as usize..last as usize;
            let from = changes.len();
            changes.resize(from + before as usize, 0.0);
            changes.extend(inside.map(|row| series[row] - series[row - 1]));
            changes.resize(from + run.len() - 1, 0.0);
        }
        changes
    }

    /// Sum of the squares of a load's changes.
    fn size(&self, load: usize) -> f64 {
        let changes = self.changes(load, 0.0);
        changes.iter().map(|one| f64::from(one * one)).sum()
    }

    /// Sum of products, each row with its weight.
    fn dot(&self, a: &[f32], b: &[f32]) -> f64 {
        let mut sums = [0.0_f64; LANES];
        let (a, a_end) = a.as_chunks::<LANES>();
        let (b, b_end) = b.as_chunks::<LANES>();
        let (weights, weights_end) = self.rows.as_chunks::<LANES>();
        for ((a, b), weights) in a.iter().zip(b).zip(weights) {
            for lane in 0..LANES {
                sums[lane] += f64::from(a[lane] * b[lane] * weights[lane]);
            }
        }
        let end = a_end.iter().zip(b_end).zip(weights_end);
        let end: f64 = end.map(|((a, b), weight)| f64::from(a * b * weight)).sum();
        sums.iter().sum::<f64>() + end
    }

    fn put(&mut self, load: usize, changes: &[f32], sign: f32) {
        let Some(connection) = self.connection[load] else {
            return;
        };
        let shares = &self.record.loads[load].connections[connection].shares[0];
        for (left, share) in self.left.iter_mut().zip(shares) {
            if *share != 0.0 {
                let factor = sign * *share as f32;
                for (left, change) in left.iter_mut().zip(changes) {
                    *left -= factor * change;
                }
            }
        }
    }

    /// Puts a load where it fits best; true where that is elsewhere than before.
    fn place(&mut self, load: usize) -> bool {
        let own = &self.record.loads[load];
        let now = self.changes(load, self.late[load]);
        self.put(load, &now, -1.0);
        let step_s = self.record.step_s;
        let finest = FINEST_S.max(step_s / FINEST_PART) / step_s;
        let farthest = if own.own_clock {
            FARTHEST_S / step_s
        } else {
            0.0
        };
        let count = (farthest / finest).floor() as i64;
        let whole = farthest.ceil() as i64;
        let lags: Vec<Vec<f32>> = (-whole..=whole + 1)
            .into_par_iter()
            .map(|lag| self.whole_changes(load, lag))
            .collect();
        let against: Vec<Vec<f64>> = lags
            .par_iter()
            .map(|changes| {
                self.left
                    .iter()
                    .map(|left| self.dot(changes, left))
                    .collect()
            })
            .collect();
        let squares: Vec<f64> = lags.par_iter().map(|own| self.dot(own, own)).collect();
        let neighbours: Vec<f64> = lags
            .par_windows(2)
            .map(|pair| self.dot(&pair[0], &pair[1]))
            .collect();
        let mut best = (f64::NEG_INFINITY, 0, 0.0);
        for at in -count..=count {
            let late = at as f64 * finest;
            let first = (late.floor() as i64 + whole) as usize;
            let part = late - late.floor();
            let norm = (1.0 - part).powi(2) * squares[first]
                + 2.0 * part * (1.0 - part) * neighbours[first]
                + part.powi(2) * squares[first + 1];
            let prior = -0.5 * (late * step_s / CLOCK_SD_S).powi(2);
            for (number, connection) in own.connections.iter().enumerate() {
                let mut fit = prior + connection.prior.ln();
                for (channel, share) in connection.shares[0].iter().enumerate() {
                    let product =
                        (1.0 - part) * against[first][channel] + part * against[first + 1][channel];
                    fit += self.weight[channel] * share * (product - 0.5 * share * norm);
                }
                if fit > best.0 {
                    best = (fit, number, late);
                }
            }
        }
        let is_new =
            self.connection[load] != Some(best.1) || (self.late[load] - best.2).abs() > 0.0;
        self.connection[load] = Some(best.1);
        self.late[load] = best.2;
        let changes = self.changes(load, best.2);
        self.put(load, &changes, 1.0);
        is_new
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::changes::RecordedLoad;

    /// 1, 3, 4, 8, 8 kW: changes of 2, 1, 4, 0. Read an interval late the second is first; half an interval late each is
    /// the mean of two.
    #[test]
    fn changes_are_shifted_within_their_run() {
        let record = PowerRecord {
            step_s: 60.0,
            runs: std::iter::once(0..5).collect(),
            supply: vec![vec![0.0; 5]],
            loads: vec![RecordedLoad {
                series: vec![vec![1.0, 3.0, 4.0, 8.0, 8.0]],
                connections: Vec::new(),
                gain_error: 0.01,
                own_clock: true,
            }],
        };
        let search = Search::new(&record, &record.runs);
        assert_eq!(search.changes(0, 0.0), [2.0, 1.0, 4.0, 0.0]);
        assert_eq!(search.changes(0, 1.0), [1.0, 4.0, 0.0, 0.0]);
        assert_eq!(search.changes(0, -2.0), [0.0, 0.0, 2.0, 1.0]);
        assert_eq!(search.changes(0, 0.5), [1.5, 2.5, 2.0, 0.0]);
        assert_eq!(search.changes(0, 9.0), [0.0; 4]);
        assert_eq!(search.changes(0, -9.0), [0.0; 4]);
    }
}
