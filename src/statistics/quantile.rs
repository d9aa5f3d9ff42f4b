//! Percentiles of a sample.

/// Percentile of a sample by linear interpolation between its order statistics (type 7).
///
/// `None` of an empty sample. The values must be numbers; `share` is from 0 to 1.
///
/// # Symbols
///
/// | symbol | meaning | range |
/// |---|---|---|
/// | `x_(1)` … `x_(n)` | the values in ascending order | finite |
/// | `p` | share of the values at or below the quantile | 0 to 1 |
/// | `h` | position between the order statistics | 1 to n |
///
/// # Formula
///
/// ```text
/// h = 1 + (n − 1)·p,   k = ⌊h⌋
/// x_p = x_(k) + (h − k)·(x_(k+1) − x_(k))
/// ```
///
/// # Source
///
/// R. J. Hyndman, Y. Fan, "Sample Quantiles in Statistical Packages", The American Statistician,
/// vol. 50, no. 4, 1996, definition 7.
///
/// # Examples
///
/// Of 1…10 the 95 % point is at position 9.55:
///
/// ```
/// use statistics::quantile;
/// let values: Vec<f64> = (1..=10).map(f64::from).collect();
/// let p95 = quantile(&values, 0.95).expect("there are values");
/// assert!((p95 - 9.55).abs() < 1e-12);
/// ```
pub fn quantile(values: &[f64], share: f64) -> Option<f64> {
    let mut values = values.to_vec();
    let last = values.len().checked_sub(1)?;
    let at = share.clamp(0.0, 1.0) * last as f64;
    let below = at.floor() as usize;
    // The two order statistics alone: sorting a long log takes several times as long.
    let (_, &mut lower, larger) = values.select_nth_unstable_by(below, f64::total_cmp);
    let upper = larger
        .iter()
        .copied()
        .min_by(f64::total_cmp)
        .unwrap_or(lower);
    Some(lower + (at - below as f64) * (upper - lower))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Hyndman & Fan 1996, definition 7, on 1…10, on the ten values of the English Wikipedia
    /// article "Percentile" (from memory), and on 1…9: worked out by hand from the definition.
    #[test]
    fn definition_7() {
        let ten: Vec<f64> = (1..=10).rev().map(f64::from).collect();
        let nine: Vec<f64> = (1..=9).map(f64::from).collect();
        let article = [3.0, 6.0, 7.0, 8.0, 8.0, 10.0, 13.0, 15.0, 16.0, 20.0];
        for (values, share, expected) in [
            (&ten[..], 0.25, 3.25),
            (&ten[..], 0.90, 9.1),
            (&ten[..], 0.95, 9.55),
            (&article[..], 0.25, 7.25),
            (&article[..], 0.75, 14.5),
            (&nine[..], 0.2, 2.6),
        ] {
            let found = quantile(values, share).unwrap_or(f64::NAN);
            assert!((found - expected).abs() < 1e-12, "{share}: {found}");
        }
    }

    #[test]
    fn ends_and_emptiness() {
        assert_eq!(quantile(&[], 0.5), None);
        assert_eq!(quantile(&[4.0], 0.95), Some(4.0));
        assert_eq!(quantile(&[2.0, 1.0], 0.0), Some(1.0));
        assert_eq!(quantile(&[2.0, 1.0], 1.0), Some(2.0));
    }
}
