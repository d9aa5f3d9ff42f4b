//! Runs of equal values.

use std::ops::Range;

/// Runs of one known value over at least so many rows that follow each other.
pub(crate) fn runs_of_one_value(
    values: &[Option<f64>],
    fewest: usize,
    follows: impl Fn(usize) -> bool,
) -> Vec<(Range<usize>, f64)> {
    let mut found = Vec::new();
    let mut first = 0;
    for row in 1..=values.len() {
        let goes_on = row < values.len()
            && follows(row)
            && values[row].is_some()
            && values[row] == values[row - 1];
        if goes_on {
            continue;
        }
        if let Some(value) = values[first]
            && row - first >= fewest
        {
            found.push((first..row, value));
        }
        first = row;
    }
    found
}

/// Changes from one row to the next within these rows.
pub(crate) fn changes(values: &[Option<f64>], rows: Range<usize>) -> usize {
    values[rows]
        .windows(2)
        .filter(|pair| pair[0].is_some() && pair[1].is_some() && pair[0] != pair[1])
        .count()
}

/// Smallest change from one row to the next: what the channel resolves.
pub(crate) fn resolution(values: &[Option<f64>]) -> Option<f64> {
    values
        .windows(2)
        .filter_map(|pair| Some((pair[1]? - pair[0]?).abs()))
        .filter(|change| *change > 0.0)
        .reduce(f64::min)
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
            runs_of_one_value(&values, 2, |_| true),
            [(0..3, 1.0), (3..6, 2.0)]
        );
        assert_eq!(runs_of_one_value(&values, 3, |row| row != 1), [(3..6, 2.0)]);
        assert_eq!(changes(&values, 0..6), 1);
        assert_eq!(resolution(&values), Some(1.0));
    }
}
