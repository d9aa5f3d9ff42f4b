//! What stands next to the mean of an interval where its samples are faster.

use std::ops::Range;

use crate::intervals::grow::{append, push};

/// Smallest, largest and mean square of the samples of each interval, in single precision. NaN stands for none; empty
/// where a figure is not kept.
#[derive(Clone, Debug, Default)]
pub(crate) struct SampleFigures {
    pub(crate) min: Vec<f32>,
    pub(crate) max: Vec<f32>,
    pub(crate) mean_square: Vec<f32>,
}

impl SampleFigures {
    fn each(&self) -> [&Vec<f32>; 3] {
        [&self.min, &self.max, &self.mean_square]
    }

    fn each_mut(&mut self) -> [&mut Vec<f32>; 3] {
        [&mut self.min, &mut self.max, &mut self.mean_square]
    }

    fn with(&mut self, other: &SampleFigures, act: impl Fn(&mut Vec<f32>, &[f32])) {
        for (own, theirs) in self.each_mut().into_iter().zip(other.each()) {
            act(own, theirs);
        }
    }

    /// One more interval, the same as that in `row` of `other`.
    pub(crate) fn push_row(&mut self, other: &SampleFigures, row: usize) {
        self.with(other, |own, theirs| {
            if let Some(&value) = theirs.get(row) {
                push(own, value);
            }
        });
    }

    pub(crate) fn append(&mut self, later: &SampleFigures) {
        self.with(later, append);
    }

    /// Adds another part of the same quantity; unknown where it is unknown.
    pub(crate) fn add(&mut self, part: &SampleFigures) {
        self.with(part, |own, part| {
            for (sum, more) in own.iter_mut().zip(part) {
                *sum += more;
            }
        });
    }

    /// Keeps some of the intervals.
    pub(crate) fn keep(&mut self, rows: Range<usize>) {
        for values in self.each_mut() {
            values.truncate(rows.end);
            values.drain(..rows.start.min(values.len()));
        }
    }

    /// Keeps the intervals for which `stays` is true.
    pub(crate) fn retain(&mut self, stays: impl Fn(usize) -> bool) {
        for values in self.each_mut() {
            let mut rows = 0..;
            values.retain(|_| rows.next().is_some_and(&stays));
        }
    }

    /// Makes intervals unknown.
    pub(crate) fn leave_out(&mut self, rows: &[usize]) {
        for values in self
            .each_mut()
            .into_iter()
            .filter(|values| !values.is_empty())
        {
            for &row in rows {
                values[row] = f32::NAN;
            }
        }
    }

    /// The figures that are kept, each by the ending of its column's name; `None` where there is none.
    pub(crate) fn named(
        &self,
    ) -> impl Iterator<Item = (&'static str, impl Iterator<Item = Option<f32>>)> {
        let named = [
            ("min", &self.min),
            ("max", &self.max),
            ("mean_square", &self.mean_square),
        ];
        let kept = named.into_iter().filter(|(_, values)| !values.is_empty());
        kept.map(|(name, values)| (name, values.iter().map(|value| known(*value))))
    }

    #[cfg(test)]
    pub(crate) fn bytes(&self) -> usize {
        let room = self.each().map(Vec::capacity);
        4 * room.iter().sum::<usize>()
    }
}

/// A number that is there.
fn known(value: f32) -> Option<f32> {
    (!value.is_nan()).then_some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A voltage's figures: it has no mean square.
    fn volts(min: &[f32], max: &[f32]) -> SampleFigures {
        SampleFigures {
            min: min.to_vec(),
            max: max.to_vec(),
            mean_square: Vec::new(),
        }
    }

    fn all(figures: &SampleFigures) -> Vec<(&'static str, Vec<Option<f32>>)> {
        let named = figures.named();
        named
            .map(|(name, values)| (name, values.collect()))
            .collect()
    }

    #[test]
    fn figures_keep_to_their_intervals() {
        let mut figures = volts(&[1.0, 2.0, 3.0, 4.0, 5.0], &[6.0, 7.0, 8.0, 9.0, 10.0]);
        figures.keep(1..5);
        figures.retain(|row| row != 1);
        figures.leave_out(&[2]);
        let expected = [
            ("min", vec![Some(2.0), Some(4.0), None]),
            ("max", vec![Some(7.0), Some(9.0), None]),
        ];
        assert_eq!(all(&figures), expected);
    }

    #[test]
    fn a_part_that_is_unknown_leaves_the_sum_unknown() {
        let mut whole = volts(&[1.0, f32::NAN], &[2.0, 3.0]);
        whole.add(&volts(&[0.5, 1.0], &[f32::NAN, 1.0]));
        let expected = [
            ("min", vec![Some(1.5), None]),
            ("max", vec![None, Some(4.0)]),
        ];
        assert_eq!(all(&whole), expected);
    }
}
