//! What stays of the intervals that are done: columns of numbers, as narrow as the data allows.

use std::ops::Range;

use crate::intervals::aggregation::{Keeping, Rule};
use crate::intervals::open_interval::Gathered;

/// Numbers of a column; NaN represents none.
#[derive(Clone, Debug)]
pub(crate) enum Values {
    Double(Vec<f64>),
    Single(Vec<f32>),
}

impl Values {
    fn new(double: bool) -> Values {
        if double {
            Values::Double(Vec::new())
        } else {
            Values::Single(Vec::new())
        }
    }

    pub(crate) fn get(&self, row: usize) -> f64 {
        match self {
            Values::Double(values) => values[row],
            Values::Single(values) => f64::from(values[row]),
        }
    }

    pub(crate) fn set(&mut self, row: usize, value: f64) {
        match self {
            Values::Double(values) => values[row] = value,
            Values::Single(values) => values[row] = value as f32,
        }
    }

    fn push(&mut self, value: f64) {
        match self {
            Values::Double(values) => push(values, value),
            Values::Single(values) => push(values, value as f32),
        }
    }

    fn append(&mut self, later: &Values) {
        match (self, later) {
            (Values::Double(own), Values::Double(later)) => append(own, later),
            (Values::Single(own), Values::Single(later)) => append(own, later),
            (own, later) => (0..later.len()).for_each(|row| own.push(later.get(row))),
        }
    }

    pub(crate) fn len(&self) -> usize {
        match self {
            Values::Double(values) => values.len(),
            Values::Single(values) => values.len(),
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
            Values::Double(values) => values.capacity() * 8,
            Values::Single(values) => values.capacity() * 4,
        }
    }
}

/// Grows by an eighth: doubling would leave half of a large table unused.
fn make_room<T>(values: &mut Vec<T>, more: usize) {
    if values.capacity() - values.len() < more {
        values.reserve_exact(more.max(values.len() / 8).max(16));
    }
}

pub(crate) fn push<T>(values: &mut Vec<T>, value: T) {
    make_room(values, 1);
    values.push(value);
}

pub(crate) fn append<T: Copy>(values: &mut Vec<T>, later: &[T]) {
    make_room(values, later.len());
    values.extend_from_slice(later);
}

/// A column of the finished intervals.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Column {
    pub(crate) name: String,
    /// One value per interval, `None` where there is no reading.
    pub(crate) values: Vec<Option<f64>>,
}

/// What stays of one quantity.
#[derive(Clone, Debug)]
pub(crate) struct Kept {
    pub(crate) keeping: Keeping,
    /// Means, sums or last values.
    pub(crate) main: Values,
    min: Vec<f32>,
    max: Vec<f32>,
    mean_square: Vec<f32>,
    /// Samples with a reading; empty as long as every sample has one.
    counts: Vec<u32>,
}

impl Kept {
    pub(crate) fn new(keeping: Keeping) -> Kept {
        Kept {
            keeping,
            main: Values::new(keeping.double),
            min: Vec::new(),
            max: Vec::new(),
            mean_square: Vec::new(),
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
            push(&mut self.min, known(gathered.min) as f32);
        }
        if self.keeping.max {
            push(&mut self.max, known(gathered.max) as f32);
        }
        if self.keeping.mean_square {
            push(
                &mut self.mean_square,
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
            squares: at(&self.mean_square, 0.0) * f64::from(count),
            min: at(&self.min, f64::INFINITY),
            max: at(&self.max, f64::NEG_INFINITY),
        }
    }

    /// One more interval, the same as that in `row` of `other`.
    pub(crate) fn push_row(&mut self, other: &Kept, row: usize, samples: &[u32]) {
        self.main.push(other.main.get(row));
        for (own, theirs) in [
            (&mut self.min, &other.min),
            (&mut self.max, &other.max),
            (&mut self.mean_square, &other.mean_square),
        ] {
            if let Some(&value) = theirs.get(row) {
                push(own, value);
            }
        }
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
        append(&mut self.min, &later.min);
        append(&mut self.max, &later.max);
        append(&mut self.mean_square, &later.mean_square);
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

    /// The columns of the finished table, as far as the rows are wanted.
    pub(crate) fn finish(self, rows: Range<usize>) -> Vec<Column> {
        let name = self.keeping.name();
        let mut columns = vec![Column {
            name: name.clone(),
            values: self.main.options(rows.clone()),
        }];
        drop(self.main);
        let beside = [
            ("min", self.keeping.min, self.min),
            ("max", self.keeping.max, self.max),
            ("mean_square", self.keeping.mean_square, self.mean_square),
        ];
        for (what, kept, values) in beside {
            if kept {
                columns.push(Column {
                    name: format!("{name}_{what}"),
                    values: Values::Single(values).options(rows.clone()),
                });
            }
        }
        columns
    }

    #[cfg(test)]
    pub(crate) fn bytes(&self) -> usize {
        let singles = self.min.capacity() + self.max.capacity() + self.mean_square.capacity();
        self.main.bytes() + 4 * (singles + self.counts.capacity())
    }
}
