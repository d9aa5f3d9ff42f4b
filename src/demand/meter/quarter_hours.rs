//! The quarter-hours of a meter, held by column: a year has 35 040 of them, and a file may have hundreds of meters.

use super::quarter::{QUARTER_S, Quarter};

/// Quarter-hours with readings, ascending.
///
/// A column whose values are all alike takes no memory: most meters read the whole of each quarter-hour and export
/// nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct QuarterHours {
    /// Stretches without a gap, ascending: place of the first, and its start, Unix seconds.
    stretches: Vec<(usize, i64)>,
    covered_s: CompactColumn,
    energy_kwh: Vec<f64>,
    import_covered_s: CompactColumn,
    /// Empty where it is the net energy in all of them.
    import_kwh: Vec<f64>,
    estimated_kwh: CompactColumn,
    export_kwh: CompactColumn,
    reactive_covered_s: CompactColumn,
    reactive_kvarh: CompactColumn,
}

impl QuarterHours {
    /// How many there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.energy_kwh.len()
    }

    /// Are there none?
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.energy_kwh.is_empty()
    }

    /// Each of them, ascending.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = Quarter> + Clone + '_ {
        (0..self.len()).map(|at| self.at(at))
    }

    /// The one at a place. A place that is none is a fault of the caller.
    pub(crate) fn at(&self, at: usize) -> Quarter {
        let energy_kwh = self.energy_kwh[at];
        Quarter {
            start_s: self.start_s(at),
            covered_s: self.covered_s.at(at),
            energy_kwh,
            import_covered_s: self.import_covered_s.at(at),
            import_kwh: self.import_kwh.get(at).copied().unwrap_or(energy_kwh),
            estimated_kwh: self.estimated_kwh.at(at),
            export_kwh: self.export_kwh.at(at),
            reactive_covered_s: self.reactive_covered_s.at(at),
            reactive_kvarh: self.reactive_kvarh.at(at),
        }
    }

    /// Neighbours of which the key is the same, together.
    pub(crate) fn each_run<K: PartialEq>(
        &self,
        key: impl Fn(&Quarter) -> K,
        mut each: impl FnMut(K, &[Quarter]),
    ) {
        let mut run: Vec<Quarter> = Vec::new();
        let mut known: Option<K> = None;
        for quarter in self.iter() {
            let own = key(&quarter);
            if known.as_ref() != Some(&own) {
                if let Some(key) = known.replace(own) {
                    each(key, &run);
                }
                run.clear();
            }
            run.push(quarter);
        }
        if let Some(key) = known {
            each(key, &run);
        }
    }

    fn start_s(&self, at: usize) -> i64 {
        let after = self.stretches.partition_point(|&(first, _)| first <= at);
        let (first, start_s) = self.stretches[after - 1];
        start_s + (at - first) as i64 * QUARTER_S
    }

    /// Puts one after those that are there, if it has a reading.
    pub(super) fn push_read(&mut self, quarter: &Quarter) {
        if quarter.covered_s > 0.0 || quarter.import_covered_s > 0.0 {
            self.push(quarter);
        }
    }

    fn push(&mut self, quarter: &Quarter) {
        let len = self.len();
        if len == 0 || quarter.start_s != self.start_s(len - 1) + QUARTER_S {
            self.stretches.push((len, quarter.start_s));
        }
        if !self.import_kwh.is_empty() || !is_same(quarter.import_kwh, quarter.energy_kwh) {
            if self.import_kwh.is_empty() {
                self.import_kwh.extend_from_slice(&self.energy_kwh);
            }
            self.import_kwh.push(quarter.import_kwh);
        }
        self.energy_kwh.push(quarter.energy_kwh);
        self.covered_s.push(len, quarter.covered_s);
        self.import_covered_s.push(len, quarter.import_covered_s);
        self.estimated_kwh.push(len, quarter.estimated_kwh);
        self.export_kwh.push(len, quarter.export_kwh);
        self.reactive_covered_s
            .push(len, quarter.reactive_covered_s);
        self.reactive_kvarh.push(len, quarter.reactive_kvarh);
    }

    /// Gives back what was kept for more of them.
    pub(super) fn shrink(&mut self) {
        self.stretches.shrink_to_fit();
        self.energy_kwh.shrink_to_fit();
        self.import_kwh.shrink_to_fit();
        for column in [
            &mut self.covered_s,
            &mut self.import_covered_s,
            &mut self.estimated_kwh,
            &mut self.export_kwh,
            &mut self.reactive_covered_s,
            &mut self.reactive_kvarh,
        ] {
            column.each.shrink_to_fit();
        }
    }
}

impl FromIterator<Quarter> for QuarterHours {
    fn from_iter<I: IntoIterator<Item = Quarter>>(quarters: I) -> QuarterHours {
        let mut found = QuarterHours::default();
        for quarter in quarters {
            found.push(&quarter);
        }
        found.shrink();
        found
    }
}

/// To the last bit: what is put in comes out.
fn is_same(a: f64, b: f64) -> bool {
    a.to_bits() == b.to_bits()
}

/// Values of which often all are alike.
#[derive(Clone, Debug, Default, PartialEq)]
struct CompactColumn {
    /// The value of all of them, where `each` is empty.
    all: f64,
    each: Vec<f64>,
}

impl CompactColumn {
    fn at(&self, at: usize) -> f64 {
        self.each.get(at).copied().unwrap_or(self.all)
    }

    /// Puts a value after the `len` that are there.
    fn push(&mut self, len: usize, value: f64) {
        if len == 0 {
            self.all = value;
        } else if !self.each.is_empty() {
            self.each.push(value);
        } else if !is_same(value, self.all) {
            self.each = vec![self.all; len];
            self.each.push(value);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quarter(number: i64, kwh: f64) -> Quarter {
        Quarter {
            start_s: number * QUARTER_S,
            covered_s: 900.0,
            energy_kwh: kwh,
            import_covered_s: 900.0,
            import_kwh: kwh,
            estimated_kwh: 0.0,
            export_kwh: 0.0,
            reactive_covered_s: 0.0,
            reactive_kvarh: 0.0,
        }
    }

    /// Where a value differs from those before it, all of them stay as they were.
    #[test]
    fn what_is_put_in_comes_out() {
        let mut all: Vec<Quarter> = (-3..40)
            .chain([50, 52, 53])
            .map(|at| quarter(at, at as f64 / 8.0))
            .collect();
        let plain: QuarterHours = all.iter().copied().collect();
        assert!(plain.iter().eq(all.iter().copied()));
        assert!(plain.covered_s.each.is_empty() && plain.import_kwh.is_empty());
        all[20].covered_s = 300.0;
        all[21].import_kwh = 7.5;
        all[22].estimated_kwh = 0.25;
        all[23].export_kwh = 1.5;
        all[24].reactive_covered_s = 900.0;
        all[24].reactive_kvarh = -1.25;
        all[25].import_covered_s = 0.0;
        let mixed: QuarterHours = all.iter().copied().collect();
        assert!(mixed.iter().eq(all.iter().copied()));
    }

    #[test]
    fn runs_are_those_of_their_neighbours() {
        let all: QuarterHours = [0, 1, 4, 5, 6, 1000]
            .map(|at| quarter(at, 1.0))
            .into_iter()
            .collect();
        let mut runs = Vec::new();
        all.each_run(
            |quarter| quarter.start_s / 3600,
            |hour, run| runs.push((hour, run.len())),
        );
        assert_eq!(runs, [(0, 2), (1, 3), (250, 1)]);
        QuarterHours::default().each_run(|_| 0, |_, _| panic!("no run of nothing"));
    }
}
