//! Readings gathered into base intervals, in one pass, mergeable in order.

use std::collections::BTreeMap;

use crate::site::{Kind, Quantity};

/// How two partial values of a slot become one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Rule {
    Sum,
    Min,
    Max,
    Last,
}

impl Rule {
    const fn start(self) -> f64 {
        match self {
            Rule::Sum | Rule::Last => 0.0,
            Rule::Min => f64::INFINITY,
            Rule::Max => f64::NEG_INFINITY,
        }
    }
}

/// What is kept of each quantity, as places in a row of numbers.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    columns: Vec<ColumnShape>,
    rules: Vec<Rule>,
    /// Several samples fall into one interval.
    pub(super) fast: bool,
}

#[derive(Clone, Copy, Debug)]
struct ColumnShape {
    quantity: Quantity,
    /// Sum of the samples (or the last one of a register), then their number.
    at: usize,
    /// Minimum, then maximum.
    extremes: Option<usize>,
    /// Sum of squares.
    squares: Option<usize>,
}

impl Shape {
    pub(super) fn new(quantities: &[Quantity], fast: bool) -> Shape {
        let mut rules = Vec::new();
        let mut columns = Vec::new();
        for &quantity in quantities {
            let at = rules.len();
            let register = quantity.kind() == Kind::Register;
            rules.push(if register { Rule::Last } else { Rule::Sum });
            rules.push(Rule::Sum);
            let current = matches!(quantity, Quantity::Current(_) | Quantity::NeutralCurrent);
            let voltage = matches!(quantity, Quantity::Voltage(_) | Quantity::LineVoltage(_));
            let extremes = (fast && (current || voltage)).then(|| {
                rules.extend([Rule::Min, Rule::Max]);
                rules.len() - 2
            });
            let squares = (fast && current).then(|| {
                rules.push(Rule::Sum);
                rules.len() - 1
            });
            columns.push(ColumnShape {
                quantity,
                at,
                extremes,
                squares,
            });
        }
        Shape {
            columns,
            rules,
            fast,
        }
    }

    fn width(&self) -> usize {
        self.rules.len()
    }
}

/// A column of the finished intervals.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Column {
    pub(super) name: String,
    pub(super) values: Vec<Option<f64>>,
}

/// Intervals by their number, ascending, each with a row of slots.
#[derive(Clone, Debug)]
pub(super) struct Intervals {
    shape: Shape,
    bins: Vec<i64>,
    slots: Vec<f64>,
    /// Intervals that came after later ones; joined at the end.
    late: BTreeMap<i64, Vec<f64>>,
}

/// What became of a sample.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fate {
    /// It is in.
    Kept,
    /// The interval had the same readings already.
    Repeated,
    /// The interval had other readings already; the first are kept.
    Contradicted,
}

impl Intervals {
    pub(super) fn new(shape: Shape) -> Intervals {
        Intervals {
            shape,
            bins: Vec::new(),
            slots: Vec::new(),
            late: BTreeMap::new(),
        }
    }

    /// Puts one sample into its interval. `values` are in the order of the shape's quantities;
    /// NaN stands for a cell without a reading (nowhere else).
    pub(super) fn add(&mut self, bin: i64, values: &[f64]) -> Fate {
        let fast = self.shape.fast;
        let (row, fresh) = self.row(bin);
        if !fast && !fresh {
            return self.compare(bin, values);
        }
        let shape = std::mem::replace(
            &mut self.shape,
            Shape {
                columns: Vec::new(),
                rules: Vec::new(),
                fast,
            },
        );
        let slots = self.slots_mut(row, bin, shape.width());
        for (column, &value) in shape.columns.iter().zip(values) {
            if value.is_nan() {
                continue;
            }
            if shape.rules[column.at] == Rule::Last {
                slots[column.at] = value;
            } else {
                slots[column.at] += value;
            }
            slots[column.at + 1] += 1.0;
            if let Some(at) = column.extremes {
                slots[at] = slots[at].min(value);
                slots[at + 1] = slots[at + 1].max(value);
            }
            if let Some(at) = column.squares {
                slots[at] += value * value;
            }
        }
        self.shape = shape;
        Fate::Kept
    }

    /// Where the interval's row is (`None`: among the late ones), made if it is new.
    fn row(&mut self, bin: i64) -> (Option<usize>, bool) {
        match self.bins.last() {
            Some(&last) if last == bin => return (Some(self.bins.len() - 1), false),
            Some(&last) if last > bin => {
                if let Ok(index) = self.bins.binary_search(&bin) {
                    return (Some(index), false);
                }
                let mut fresh = false;
                self.late.entry(bin).or_insert_with(|| {
                    fresh = true;
                    self.shape.rules.iter().map(|rule| rule.start()).collect()
                });
                return (None, fresh);
            }
            _ => {}
        }
        self.bins.push(bin);
        self.slots
            .extend(self.shape.rules.iter().map(|rule| rule.start()));
        (Some(self.bins.len() - 1), true)
    }

    fn slots_mut(&mut self, row: Option<usize>, bin: i64, width: usize) -> &mut [f64] {
        match row {
            Some(row) => &mut self.slots[row * width..(row + 1) * width],
            None => self.late.entry(bin).or_default(),
        }
    }

    fn slots_of(&self, bin: i64) -> &[f64] {
        let width = self.shape.width();
        match self.bins.binary_search(&bin) {
            Ok(row) => &self.slots[row * width..(row + 1) * width],
            Err(_) => self.late.get(&bin).map_or(&[], Vec::as_slice),
        }
    }

    fn compare(&self, bin: i64, values: &[f64]) -> Fate {
        let slots = self.slots_of(bin);
        let same = self
            .shape
            .columns
            .iter()
            .zip(values)
            .all(|(column, &value)| {
                let had = slots[column.at + 1] > 0.0;
                if value.is_nan() {
                    !had
                } else {
                    had && (slots[column.at] - value).abs() <= f64::EPSILON * value.abs()
                }
            });
        if same {
            Fate::Repeated
        } else {
            Fate::Contradicted
        }
    }

    /// Takes over the intervals of a later part of the log. Returns the numbers of the intervals
    /// that were in both, with what became of them.
    pub(super) fn merge(&mut self, later: Intervals) -> Vec<(i64, Fate)> {
        let width = self.shape.width();
        let mut met = Vec::new();
        let rows: Vec<(i64, Vec<f64>)> = later
            .bins
            .iter()
            .enumerate()
            .map(|(row, &bin)| (bin, later.slots[row * width..(row + 1) * width].to_vec()))
            .chain(later.late)
            .collect();
        for (bin, row) in rows {
            let (at, fresh) = self.row(bin);
            if fresh {
                self.slots_mut(at, bin, width).copy_from_slice(&row);
            } else if self.shape.fast {
                let rules = self.shape.rules.clone();
                let slots = self.slots_mut(at, bin, width);
                combine(&rules, slots, &row);
                met.push((bin, Fate::Kept));
            } else {
                let values: Vec<f64> = self
                    .shape
                    .columns
                    .iter()
                    .map(|column| {
                        if row[column.at + 1] > 0.0 {
                            row[column.at]
                        } else {
                            f64::NAN
                        }
                    })
                    .collect();
                met.push((bin, self.compare(bin, &values)));
            }
        }
        met
    }

    /// All intervals in ascending order: their numbers and the columns of means, sums, last
    /// values, and, where samples were faster, minima, maxima and mean squares.
    pub(super) fn finish(mut self) -> (Vec<i64>, Vec<Column>) {
        let width = self.shape.width();
        if !self.late.is_empty() {
            let late = std::mem::take(&mut self.late);
            let mut rows: Vec<(i64, Vec<f64>)> = self
                .bins
                .iter()
                .enumerate()
                .map(|(row, &bin)| (bin, self.slots[row * width..(row + 1) * width].to_vec()))
                .chain(late)
                .collect();
            rows.sort_by_key(|(bin, _)| *bin);
            self.bins = rows.iter().map(|(bin, _)| *bin).collect();
            self.slots = rows.into_iter().flat_map(|(_, row)| row).collect();
        }
        let slot = |row: usize, at: usize| self.slots[row * width + at];
        let rows = self.bins.len();
        let mut columns = Vec::new();
        for column in &self.shape.columns {
            let name = column.quantity.name();
            let count = |row: usize| slot(row, column.at + 1);
            let each = |value: &dyn Fn(usize) -> f64| -> Vec<Option<f64>> {
                (0..rows)
                    .map(|row| (count(row) > 0.0).then(|| value(row)))
                    .collect()
            };
            let mean = column.quantity.kind() == Kind::Level;
            columns.push(Column {
                name: name.clone(),
                values: each(&|row| {
                    let sum = slot(row, column.at);
                    if mean { sum / count(row) } else { sum }
                }),
            });
            if let Some(at) = column.extremes {
                columns.push(Column {
                    name: format!("{name}_min"),
                    values: each(&|row| slot(row, at)),
                });
                columns.push(Column {
                    name: format!("{name}_max"),
                    values: each(&|row| slot(row, at + 1)),
                });
            }
            if let Some(at) = column.squares {
                columns.push(Column {
                    name: format!("{name}_mean_square"),
                    values: each(&|row| slot(row, at) / count(row)),
                });
            }
        }
        (self.bins, columns)
    }
}

fn combine(rules: &[Rule], earlier: &mut [f64], later: &[f64]) {
    for (at, rule) in rules.iter().enumerate() {
        match rule {
            Rule::Sum => earlier[at] += later[at],
            Rule::Min => earlier[at] = earlier[at].min(later[at]),
            Rule::Max => earlier[at] = earlier[at].max(later[at]),
            // The number of samples follows a register's last value.
            Rule::Last => {
                if later[at + 1] > 0.0 {
                    earlier[at] = later[at];
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::electrical::Phase;

    fn current() -> Quantity {
        Quantity::Current(Phase::L1)
    }

    fn column<'c>(columns: &'c [Column], name: &str) -> &'c [Option<f64>] {
        &columns
            .iter()
            .find(|column| column.name == name)
            .expect("column is there")
            .values
    }

    #[test]
    fn fast_samples_become_mean_extremes_and_mean_square() {
        let mut intervals = Intervals::new(Shape::new(&[current()], true));
        for value in [3.0, 4.0, f64::NAN, 5.0] {
            assert_eq!(intervals.add(7, &[value]), Fate::Kept);
        }
        let (bins, columns) = intervals.finish();
        assert_eq!(bins, [7]);
        assert_eq!(column(&columns, "current_l1_a"), [Some(4.0)]);
        assert_eq!(column(&columns, "current_l1_a_min"), [Some(3.0)]);
        assert_eq!(column(&columns, "current_l1_a_max"), [Some(5.0)]);
        assert_eq!(
            column(&columns, "current_l1_a_mean_square"),
            [Some(50.0 / 3.0)]
        );
    }

    #[test]
    fn a_second_reading_of_a_slow_log_is_told_apart() {
        let mut intervals = Intervals::new(Shape::new(&[current()], false));
        assert_eq!(intervals.add(1, &[2.0]), Fate::Kept);
        assert_eq!(intervals.add(1, &[2.0]), Fate::Repeated);
        assert_eq!(intervals.add(1, &[2.5]), Fate::Contradicted);
        assert_eq!(intervals.add(2, &[f64::NAN]), Fate::Kept);
        let (bins, columns) = intervals.finish();
        assert_eq!(bins, [1, 2]);
        assert_eq!(columns[0].values, [Some(2.0), None]);
    }

    #[test]
    fn cut_anywhere_and_merged_the_result_is_the_same() {
        let register = Quantity::EnergyImport(None);
        let samples: Vec<(i64, f64)> = (0..40).map(|n| (n / 4, f64::from(n as i32))).collect();
        let whole = |cut: usize| {
            let shape = Shape::new(&[current(), register], true);
            let mut first = Intervals::new(shape.clone());
            let mut second = Intervals::new(shape);
            for (index, &(bin, value)) in samples.iter().enumerate() {
                let part = if index < cut { &mut first } else { &mut second };
                part.add(bin, &[value, value * 10.0]);
            }
            first.merge(second);
            first.finish()
        };
        let expected = whole(40);
        for cut in 0..40 {
            assert_eq!(whole(cut), expected, "cut at {cut}");
        }
        assert_eq!(column(&expected.1, "energy_import_kwh")[9], Some(390.0));
    }

    #[test]
    fn intervals_that_come_late_are_sorted_in() {
        let mut intervals = Intervals::new(Shape::new(&[current()], false));
        for bin in [5, 3, 4, 1] {
            assert_eq!(intervals.add(bin, &[bin as f64]), Fate::Kept);
        }
        assert_eq!(intervals.add(3, &[3.0]), Fate::Repeated);
        let (bins, columns) = intervals.finish();
        assert_eq!(bins, [1, 3, 4, 5]);
        assert_eq!(columns[0].values, [1.0, 3.0, 4.0, 5.0].map(Some));
    }
}
