//! Runs of equal values.

use std::ops::Range;

/// Runs of one known value over at least so many rows that follow each other.
pub(crate) fn runs_of_one_value(
    values: impl Iterator<Item = Option<f64>>,
    fewest: usize,
    follows: impl Fn(usize) -> bool,
) -> Vec<(Range<usize>, f64)> {
    let mut found = Vec::new();
    let mut run: Option<(Range<usize>, f64)> = None;
    for (row, value) in values.enumerate() {
        if let Some((rows, same)) = &mut run {
            if value == Some(*same) && follows(row) {
                rows.end = row + 1;
                continue;
            }
            found.extend(run.take().filter(|(rows, _)| rows.len() >= fewest));
        }
        run = value.map(|value| (row..row + 1, value));
    }
    found.extend(run.filter(|(rows, _)| rows.len() >= fewest));
    found
}

/// Changes from one value to the next.
pub(crate) fn changes(values: impl Iterator<Item = Option<f64>>) -> usize {
    pairs(values)
        .filter(|(before, now)| (before - now).abs() > 0.0)
        .count()
}

/// Smallest change from one value to the next: what the channel resolves.
pub(crate) fn resolution(values: impl Iterator<Item = Option<f64>>) -> Option<f64> {
    pairs(values)
        .map(|(before, now)| (now - before).abs())
        .filter(|change| *change > 0.0)
        .reduce(f64::min)
}

/// Known values that follow each other.
fn pairs(values: impl Iterator<Item = Option<f64>>) -> impl Iterator<Item = (f64, f64)> {
    let mut last = None;
    values.filter_map(move |value| Some((std::mem::replace(&mut last, value)?, value?)))
}

/// The row of these from which another state holds: the one that costs least, with what each row costs before and after
/// the change.
pub(crate) fn boundary(
    rows: Range<usize>,
    before: impl Fn(usize) -> f64,
    after: impl Fn(usize) -> f64,
) -> usize {
    let mut cost: f64 = rows.clone().map(&after).sum();
    let mut best = (cost, rows.start);
    for row in rows {
        cost += before(row) - after(row);
        if cost < best.0 {
            best = (cost, row + 1);
        }
    }
    best.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_boundary_is_where_the_fewest_rows_contradict() {
        let values = [0.0, 0.0, 1.0, 0.0, 0.0, 1.0, 1.0];
        let found = boundary(1..7, |row| values[row], |row| 1.0 - values[row]);
        assert_eq!(found, 5);
    }

    #[test]
    fn a_run_ends_at_another_value_and_at_a_gap() {
        let values = [1.0, 1.0, 1.0, 2.0, 2.0, 2.0].map(Some);
        assert_eq!(
            runs_of_one_value(values.into_iter(), 2, |_| true),
            [(0..3, 1.0), (3..6, 2.0)]
        );
        assert_eq!(
            runs_of_one_value(values.into_iter(), 3, |row| row != 1),
            [(3..6, 2.0)]
        );
        assert_eq!(changes(values.into_iter()), 1);
        assert_eq!(resolution(values.into_iter()), Some(1.0));
    }
}
