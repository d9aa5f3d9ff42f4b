//! What the logs share: means over an interval, registers, and the writing of figures.

use std::fmt::Write;

/// Sums of quantities over the steps of an interval.
pub(crate) struct Mean<const N: usize> {
    sums: [f64; N],
    steps: u32,
}

impl<const N: usize> Mean<N> {
    pub(crate) fn new() -> Self {
        Mean {
            sums: [0.0; N],
            steps: 0,
        }
    }

    pub(crate) fn add(&mut self, values: &[f64; N]) {
        for (sum, value) in self.sums.iter_mut().zip(values) {
            *sum += value;
        }
        self.steps += 1;
    }

    /// The means since the last call.
    pub(crate) fn take(&mut self) -> [f64; N] {
        let steps = f64::from(self.steps.max(1));
        let means = self.sums.map(|sum| sum / steps);
        *self = Mean::new();
        means
    }
}

/// Appends a comma and a figure with this number of decimals; zero is a plain `0`, to save space.
pub(crate) fn push_figure(row: &mut String, value: f64, decimals: usize) {
    let start = row.len();
    // Writing to a string cannot fail.
    let _ = write!(row, ",{value:.decimals$}");
    let figure = &row[start + 1..];
    if figure
        .bytes()
        .all(|byte| matches!(byte, b'-' | b'0' | b'.'))
    {
        row.truncate(start + 1);
        row.push('0');
    }
}

/// Appends a register as its display shows it: digits beyond the last one are cut off.
pub(crate) fn push_register(row: &mut String, kwh: f64, decimals: usize) {
    let unit = [1.0, 10.0, 100.0][decimals];
    push_figure(row, (kwh * unit).floor() / unit, decimals);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rounded_nought_has_no_sign() {
        let mut row = String::new();
        push_figure(&mut row, -0.04, 1);
        push_figure(&mut row, -0.06, 1);
        assert_eq!(row, ",0,-0.1");
    }

    #[test]
    fn a_register_does_not_round_up() {
        let mut row = String::new();
        push_register(&mut row, 41.97, 1);
        assert_eq!(row, ",41.9");
    }
}
