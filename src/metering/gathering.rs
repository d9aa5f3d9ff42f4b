//! The interval that is being filled: its samples in full precision.

use super::shape::{Keeping, Rule};

/// Samples of one quantity within an interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Gathered {
    pub(super) count: u32,
    /// Sum of the samples, or the last one of a register.
    pub(super) sum: f64,
    pub(super) squares: f64,
    pub(super) min: f64,
    pub(super) max: f64,
}

impl Gathered {
    pub(super) const NOTHING: Gathered = Gathered {
        count: 0,
        sum: 0.0,
        squares: 0.0,
        min: f64::INFINITY,
        max: f64::NEG_INFINITY,
    };

    fn combine(&mut self, rule: Rule, later: &Gathered) {
        if later.count == 0 {
            return;
        }
        if rule == Rule::Last {
            self.sum = later.sum;
        } else {
            self.sum += later.sum;
        }
        self.count += later.count;
        self.squares += later.squares;
        self.min = self.min.min(later.min);
        self.max = self.max.max(later.max);
    }
}

/// An interval with its samples so far.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Gathering {
    pub(super) bin: i64,
    pub(super) samples: u32,
    pub(super) columns: Vec<Gathered>,
}

impl Gathering {
    pub(super) fn new(bin: i64, columns: usize) -> Gathering {
        Gathering {
            bin,
            samples: 0,
            columns: vec![Gathered::NOTHING; columns],
        }
    }

    pub(super) fn restart(&mut self, bin: i64) {
        self.bin = bin;
        self.samples = 0;
        self.columns.fill(Gathered::NOTHING);
    }

    /// Adds a sample; NaN stands for no reading.
    pub(super) fn add(&mut self, shape: &[Keeping], values: impl Iterator<Item = f64>) {
        self.samples += 1;
        for ((keeping, own), value) in shape.iter().zip(&mut self.columns).zip(values) {
            if value.is_nan() {
                continue;
            }
            own.count += 1;
            if keeping.rule == Rule::Last {
                own.sum = value;
            } else {
                own.sum += value;
            }
            if keeping.max {
                own.squares += value * value;
                own.min = if value < own.min { value } else { own.min };
                own.max = if value > own.max { value } else { own.max };
            }
        }
    }

    /// Takes over later samples of the same interval.
    pub(super) fn combine(&mut self, shape: &[Keeping], later: &Gathering) {
        self.samples += later.samples;
        for ((keeping, own), later) in shape.iter().zip(&mut self.columns).zip(&later.columns) {
            own.combine(keeping.rule, later);
        }
    }
}
