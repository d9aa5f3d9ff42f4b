//! What stays of the intervals that are done: columns of numbers, as narrow as the data allows.

use std::ops::Range;

use crate::intervals::aggregation::{Keeping, Rule};
use crate::intervals::grow::{append, push};
use crate::intervals::open_interval::Gathered;
use crate::intervals::sample_figures::SampleFigures;

/// Numbers of a column; NaN represents none.
#[derive(Clone, Debug)]
pub(crate) enum ColumnValues {
    Double(Vec<f64>),
    Single(Vec<f32>),
}

impl ColumnValues {
    fn new(double: bool) -> ColumnValues {
        if double {
            ColumnValues::Double(Vec::new())
        } else {
            ColumnValues::Single(Vec::new())
        }
    }

    pub(crate) fn get(&self, row: usize) -> f64 {
        match self {
            ColumnValues::Double(values) => values[row],
            ColumnValues::Single(values) => f64::from(values[row]),
        }
    }

    pub(crate) fn set(&mut self, row: usize, value: f64) {
        match self {
            ColumnValues::Double(values) => values[row] = value,
            ColumnValues::Single(values) => values[row] = value as f32,
        }
    }

    fn push(&mut self, value: f64) {
        match self {
            ColumnValues::Double(values) => push(values, value),
            ColumnValues::Single(values) => push(values, value as f32),
        }
    }

    fn append(&mut self, later: &ColumnValues) {
        match (self, later) {
            (ColumnValues::Double(own), ColumnValues::Double(later)) => append(own, later),
            (ColumnValues::Single(own), ColumnValues::Single(later)) => append(own, later),
            (own, later) => (0..later.len()).for_each(|row| own.push(later.get(row))),
        }
    }

    pub(crate) fn len(&self) -> usize {
        match self {
            ColumnValues::Double(values) => values.len(),
            ColumnValues::Single(values) => values.len(),
        }
    }

    /// The numbers of some rows, `None` where there is none.
    fn options(&self, rows: Range<usize>) -> Vec<Option<f64>> {
        rows.map(|row| Some(self.get(row)).filter(|value| !value.is_nan()))
            .collect()
    }

    #[cfg(test)]
    fn bytes(&self) -> usize {
        match self {
            ColumnValues::Double(values) => values.capacity() * 8,
            ColumnValues::Single(values) => values.capacity() * 4,
        }
    }
}

/// A column of the finished intervals.
#[derive(Clone, Debug)]
pub(crate) struct GatheredColumn {
    pub(crate) name: String,
    /// One value per interval, `None` where there is no reading.
    pub(crate) values: Vec<Option<f64>>,
    /// Of the samples, where they are faster than the intervals.
    pub(crate) samples: SampleFigures,
}

impl GatheredColumn {
    /// A column without figures of samples.
    pub(crate) fn new(name: String, values: Vec<Option<f64>>) -> GatheredColumn {
        GatheredColumn {
            name,
            values,
            samples: SampleFigures::default(),
        }
    }

    /// Its figures by the names that they have in the table.
    #[cfg(test)]
    pub(crate) fn figures(self) -> Vec<(String, Vec<Option<f64>>)> {
        let mut all = vec![(self.name.clone(), self.values)];
        all.extend(self.samples.named().map(|(what, values)| {
            let values = values.map(|value| value.map(f64::from)).collect();
            (format!("{}_{what}", self.name), values)
        }));
        all
    }
}

/// What stays of one quantity.
#[derive(Clone, Debug)]
pub(crate) struct Kept {
    pub(crate) keeping: Keeping,
    /// Means, sums or last values.
    pub(crate) main: ColumnValues,
    figures: SampleFigures,
    /// Samples with a reading; empty as long as every sample has one.
    counts: Vec<u32>,
}

impl Kept {
    pub(crate) fn new(keeping: Keeping) -> Kept {
        Kept {
            keeping,
            main: ColumnValues::new(keeping.double),
            figures: SampleFigures::default(),
            counts: Vec::new(),
        }
    }

    /// One more interval; `samples` are the samples of all intervals, this one's last.
    pub(crate) fn push(&mut self, gathered: &Gathered, samples: &[u32]) {
        let count = f64::from(gathered.count);
        let (own, before) = samples
            .split_last()
            .map_or((0, samples), |(own, b)| (*own, b));
        let known = |value: f64| if gathered.count > 0 { value } else { f64::NAN };
        self.main.push(known(match self.keeping.rule {
            Rule::Mean => gathered.sum / count,
            Rule::Sum | Rule::Last => gathered.sum,
        }));
        if self.keeping.min {
            push(&mut self.figures.min, known(gathered.min) as f32);
        }
        if self.keeping.max {
            push(&mut self.figures.max, known(gathered.max) as f32);
        }
        if self.keeping.mean_square {
            push(
                &mut self.figures.mean_square,
                known(gathered.squares / count) as f32,
            );
        }
        if self.counts.is_empty() && gathered.count != own {
            self.counts = before.to_vec();
        }
        if gathered.count != own || !self.counts.is_empty() {
            push(&mut self.counts, gathered.count);
        }
    }

    /// One more interval of a log with one reading an interval.
    pub(crate) fn push_single(&mut self, value: f64) {
        self.main.push(value);
    }

    /// The samples of an interval, as far as they can be reported from what was kept.
    pub(crate) fn gathered(&self, row: usize, samples: u32) -> Gathered {
        let count = self.counts.get(row).copied().unwrap_or(samples);
        if count == 0 {
            return Gathered::NOTHING;
        }
        let main = self.main.get(row);
        let at =
            |values: &[f32], none: f64| values.get(row).map_or(none, |&value| f64::from(value));
        Gathered {
            count,
            sum: match self.keeping.rule {
                Rule::Mean => main * f64::from(count),
                Rule::Sum | Rule::Last => main,
            },
            squares: at(&self.figures.mean_square, 0.0) * f64::from(count),
            min: at(&self.figures.min, f64::INFINITY),
            max: at(&self.figures.max, f64::NEG_INFINITY),
        }
    }

    /// One more interval, the same as that in `row` of `other`.
    pub(crate) fn push_row(&mut self, other: &Kept, row: usize, samples: &[u32]) {
        self.main.push(other.main.get(row));
        self.figures.push_row(&other.figures, row);
        let Some((own, before)) = samples.split_last() else {
            return;
        };
        let count = other.counts.get(row).copied().unwrap_or(*own);
        if self.counts.is_empty() && count != *own {
            self.counts = before.to_vec();
        }
        if count != *own || !self.counts.is_empty() {
            push(&mut self.counts, count);
        }
    }

    /// Takes over later intervals; `samples` and `later_samples` belong to the two parts.
    pub(crate) fn append(&mut self, later: &Kept, samples: &[u32], later_samples: &[u32]) {
        self.main.append(&later.main);
        self.figures.append(&later.figures);
        match (self.counts.is_empty(), later.counts.is_empty()) {
            (true, true) => {}
            (false, true) => append(&mut self.counts, later_samples),
            (empty, false) => {
                if empty {
                    self.counts = samples.to_vec();
                }
                append(&mut self.counts, &later.counts);
            }
        }
    }

    /// The column of the finished table, as far as the rows are wanted.
    pub(crate) fn finish(mut self, rows: Range<usize>) -> GatheredColumn {
        self.figures.keep(rows.clone());
        GatheredColumn {
            name: self.keeping.name(),
            values: self.main.options(rows),
            samples: self.figures,
        }
    }

    #[cfg(test)]
    pub(crate) fn bytes(&self) -> usize {
        self.main.bytes() + self.figures.bytes() + 4 * self.counts.capacity()
    }
}
