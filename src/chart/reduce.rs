//! Reduces long series to the width of a drawing without losing an extreme.

/// The values of one column of the drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ColumnSpan {
    /// Start of the column. \[Unix s\]
    pub from_s: f64,
    /// End of the column. \[Unix s\]
    pub to_s: f64,
    /// Smallest value.
    pub min: f64,
    /// Largest value.
    pub max: f64,
    /// Mean of the values.
    pub mean: f64,
    /// Number of values.
    pub count: usize,
}

/// Groups a series into at most `columns` equal parts of `period` (Unix s), each with its minimum,
/// maximum and mean; parts without readings are left out. A series with no more values than columns
/// is given value by value.
///
/// Every extreme of the series is an extreme of a span. Values that are not finite are skipped.
///
/// ```
/// let start_s: Vec<i64> = (0..1000).map(|minute| minute * 60).collect();
/// let mut amps = vec![5.0; 1000];
/// amps[617] = 90.0;
/// let spans = chart::reduce(&start_s, 60, &amps, (0, 60_000), 50);
/// assert_eq!(spans.len(), 50);
/// assert!(spans.iter().any(|span| span.max == 90.0 && span.min == 5.0));
/// ```
#[must_use]
pub fn reduce(
    start_s: &[i64],
    interval_s: u32,
    values: &[f64],
    period: (i64, i64),
    columns: usize,
) -> Vec<ColumnSpan> {
    let points = start_s
        .iter()
        .zip(values)
        .filter(|(start, value)| value.is_finite() && **start >= period.0 && **start < period.1);
    let length_s = (period.1 - period.0) as f64;
    let one_by_one = start_s.len() <= columns;
    let mut spans: Vec<ColumnSpan> = Vec::new();
    let mut last_column = None;
    for (&start, &value) in points {
        let column = ((start - period.0) as f64 / length_s * columns as f64).floor();
        match spans.last_mut() {
            Some(span) if !one_by_one && last_column == Some(column) => {
                span.min = span.min.min(value);
                span.max = span.max.max(value);
                span.mean += (value - span.mean) / (span.count + 1) as f64;
                span.count += 1;
            }
            _ => {
                let (from_s, to_s) = if one_by_one {
                    (
                        start as f64,
                        (start + i64::from(interval_s)).min(period.1) as f64,
                    )
                } else {
                    let edge = |column: f64| period.0 as f64 + column * length_s / columns as f64;
                    (edge(column), edge(column + 1.0))
                };
                spans.push(ColumnSpan {
                    from_s,
                    to_s,
                    min: value,
                    max: value,
                    mean: value,
                    count: 1,
                });
            }
        }
        last_column = Some(column);
    }
    spans
}

/// Splits the columns where there is a gap in the readings.
pub(super) fn runs(spans: &[ColumnSpan]) -> impl Iterator<Item = &[ColumnSpan]> {
    spans.chunk_by(|one, next| next.from_s - one.to_s <= 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_extreme_survives() {
        let start_s: Vec<i64> = (0..40_320)
            .map(|minute| 1_700_000_000 + minute * 60)
            .collect();
        let values: Vec<f64> = (0..40_320_u64)
            .map(|n| (n * 7_919 % 10_007) as f64 / 100.0)
            .collect();
        let period = (start_s[0], start_s[0] + 40_320 * 60);
        let spans = reduce(&start_s, 60, &values, period, 700);
        assert_eq!(spans.len(), 700);
        let (low, high) = spans
            .iter()
            .fold((f64::MAX, f64::MIN), |(low, high), span| {
                (low.min(span.min), high.max(span.max))
            });
        assert!(
            low.total_cmp(&values.iter().copied().fold(f64::MAX, f64::min))
                .is_eq()
        );
        assert!(
            high.total_cmp(&values.iter().copied().fold(f64::MIN, f64::max))
                .is_eq()
        );
        assert_eq!(spans.iter().map(|span| span.count).sum::<usize>(), 40_320);
    }

    #[test]
    fn a_pause_cuts_the_run_and_nothing_is_invented() {
        let start_s = [0, 60, 120, 600, 660];
        let spans = reduce(&start_s, 60, &[1.0, 2.0, f64::NAN, 3.0, 4.0], (0, 720), 100);
        assert_eq!(spans.len(), 4);
        assert_eq!(
            runs(&spans).map(<[ColumnSpan]>::len).collect::<Vec<_>>(),
            [2, 2]
        );
    }

    #[test]
    fn nothing_gives_nothing() {
        assert!(reduce(&[], 60, &[], (0, 1), 10).is_empty());
        assert_eq!(runs(&[]).count(), 0);
    }
}
