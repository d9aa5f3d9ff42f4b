//! Series of different meters on one count of intervals.

use std::ops::Range;

/// Part of an interval's readings that must be there. (1)
const PART: f64 = 0.9;
/// Intervals without a reading that are bridged by a straight line.
const BRIDGED: usize = 3;

/// Intervals of one length, aligned to UTC.
#[derive(Clone, Copy, Debug)]
pub(super) struct Count {
    pub(super) from_s: i64,
    pub(super) length_s: i64,
    pub(super) len: usize,
}

/// A series on such a count; where it is not known its value means nothing.
#[derive(Clone, Debug)]
pub(super) struct Counted {
    pub(super) values: Vec<f32>,
    pub(super) known: Vec<bool>,
}

impl Count {
    /// Means over the intervals of the count.
    pub(super) fn means(
        self,
        starts: &[i64],
        interval_s: i64,
        values: impl Iterator<Item = Option<f64>>,
    ) -> Counted {
        let mut sums = vec![0.0_f64; self.len];
        let mut counts = vec![0_u32; self.len];
        for (&start, value) in starts.iter().zip(values) {
            let at = (start - self.from_s).div_euclid(self.length_s);
            if let (Some(value), Ok(at)) = (value, usize::try_from(at))
                && at < self.len
            {
                sums[at] += value;
                counts[at] += 1;
            }
        }
        let needed = PART * self.length_s as f64 / interval_s as f64;
        Counted {
            known: counts
                .iter()
                .map(|&count| f64::from(count) >= needed && count > 0)
                .collect(),
            values: sums
                .iter()
                .zip(&counts)
                .map(|(sum, &count)| (sum / f64::from(count.max(1))) as f32)
                .collect(),
        }
    }
}

impl Counted {
    /// Bridges short gaps.
    pub(super) fn bridged(mut self) -> Counted {
        let mut at = 0;
        while at < self.known.len() {
            if self.known[at] {
                at += 1;
                continue;
            }
            let end = (at..self.known.len())
                .find(|&next| self.known[next])
                .unwrap_or(self.known.len());
            if at > 0 && end < self.known.len() && end - at <= BRIDGED {
                let (before, after) = (self.values[at - 1], self.values[end]);
                for gap in at..end {
                    let part = (gap + 1 - at) as f32 / (end + 1 - at) as f32;
                    self.values[gap] = before + part * (after - before);
                    self.known[gap] = true;
                }
            }
            at = end;
        }
        self
    }

    /// Its values in some of the intervals.
    pub(super) fn of(&self, rows: &[usize]) -> Vec<f32> {
        rows.iter().map(|&row| self.values[row]).collect()
    }
}

/// Which of the rows follow each other.
pub(super) fn runs(rows: &[usize]) -> Vec<Range<usize>> {
    let mut runs: Vec<Range<usize>> = Vec::new();
    for (at, &row) in rows.iter().enumerate() {
        match runs.last_mut() {
            Some(run) if at > 0 && rows[at - 1] + 1 == row => run.end = at + 1,
            _ => runs.push(at..at + 1),
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Minutes of 1 to 6 kW are two intervals of 2 and 5 kW; a gap of one is bridged half-way.
    #[test]
    fn means_gaps_and_runs() {
        let count = Count {
            from_s: 0,
            length_s: 180,
            len: 4,
        };
        let starts: Vec<i64> = (0..12).map(|minute| minute * 60).collect();
        let values = (1..=12).map(|kw| (!(7..=8).contains(&kw)).then_some(f64::from(kw)));
        let counted = count.means(&starts, 60, values);
        assert_eq!(counted.known, [true, true, false, true]);
        assert_eq!(counted.of(&[0, 1, 3]), [2.0, 5.0, 11.0]);
        let bridged = counted.bridged();
        assert_eq!((bridged.known[2], bridged.values[2]), (true, 8.0));
        assert_eq!(runs(&[0, 1, 3, 4, 5, 9]), [0..2, 2..5, 5..6]);
    }
}
