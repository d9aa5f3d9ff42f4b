//! Words of the rows of one meter, put together by interval.

use super::WordShare;
use crate::time::grid::Grid;

/// Rows one after the other that have one word and are in one interval.
#[derive(Clone, Copy, Debug)]
struct WordRun {
    bin: i64,
    word: Option<usize>,
    rows: u32,
}

/// Runs in the order of the rows: their number grows with the intervals, not with the rows.
#[derive(Clone, Debug, Default)]
pub(super) struct WordIntervals {
    runs: Vec<WordRun>,
}

impl WordIntervals {
    pub(super) fn add(&mut self, bin: i64, word: Option<usize>) {
        match self.runs.last_mut() {
            Some(run) if run.bin == bin && run.word == word => run.rows += 1,
            _ => self.runs.push(WordRun { bin, word, rows: 1 }),
        }
    }

    pub(super) fn append(&mut self, mut later: WordIntervals) {
        self.runs.append(&mut later.runs);
    }

    /// The shares of each interval. Where a row is an interval, the first that has a word stands, as the first
    /// readings do; where rows are samples, each counts.
    pub(super) fn finish(mut self, grid: Grid) -> Vec<WordShare> {
        self.runs.sort_by_key(|run| run.bin);
        let mut shares = Vec::new();
        for runs in self.runs.chunk_by(|a, b| a.bin == b.bin) {
            let start_s = grid.start_of_bin(runs[0].bin);
            if grid.is_fast() {
                shares.extend(by_samples(runs, start_s));
            } else {
                shares.push(WordShare {
                    start_s,
                    word: runs.iter().find_map(|run| run.word),
                    share: 1.0,
                });
            }
        }
        shares
    }
}

fn by_samples(runs: &[WordRun], start_s: i64) -> Vec<WordShare> {
    let mut words: Vec<(Option<usize>, u32)> = Vec::new();
    for run in runs {
        match words.iter_mut().find(|(word, _)| *word == run.word) {
            Some((_, rows)) => *rows += run.rows,
            None => words.push((run.word, run.rows)),
        }
    }
    let all: u32 = words.iter().map(|(_, rows)| rows).sum();
    let share = |(word, rows): (Option<usize>, u32)| WordShare {
        start_s,
        word,
        share: f64::from(rows) / f64::from(all),
    };
    words.into_iter().map(share).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use site::{ReadingKind, Stamp};

    fn grid(cadence_s: i64) -> Grid {
        Grid {
            readings: ReadingKind::Average,
            stamp: Stamp::End,
            cadence_s,
            base_s: cadence_s.max(60),
            anchor_s: 0,
            within_second: false,
            spread_from_s: None,
            later_counts: false,
            spread_before_s: None,
        }
    }

    fn of(rows: &[(i64, Option<usize>)], cadence_s: i64) -> Vec<(i64, Option<usize>, f64)> {
        let mut gathering = WordIntervals::default();
        for &(bin, word) in rows {
            gathering.add(bin, word);
        }
        let shares = gathering.finish(grid(cadence_s)).into_iter();
        shares.map(|s| (s.start_s, s.word, s.share)).collect()
    }

    /// Four samples of 15 s: three of one word, one without; the interval before came later.
    #[test]
    fn samples_share_their_interval() {
        let rows = [
            (7, Some(1)),
            (7, Some(1)),
            (7, None),
            (7, Some(1)),
            (6, Some(0)),
        ];
        assert_eq!(
            of(&rows, 15),
            [(360, Some(0), 1.0), (420, Some(1), 0.75), (420, None, 0.25)]
        );
    }

    #[test]
    fn of_repeated_rows_the_first_with_a_word_stands() {
        let rows = [(0, None), (1, Some(2)), (0, Some(1)), (0, Some(3))];
        assert_eq!(of(&rows, 900), [(0, Some(1), 1.0), (900, Some(2), 1.0)]);
    }
}
