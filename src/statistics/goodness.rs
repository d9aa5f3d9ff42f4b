//! How well a model explains what was measured.

/// Sum of squared misfits and mean of what was measured.
fn sums(measured: &[f64], predicted: &[f64]) -> Option<(f64, f64)> {
    if measured.is_empty() || measured.len() != predicted.len() {
        return None;
    }
    let misfit = measured.iter().zip(predicted).map(|(y, p)| (y - p).powi(2));
    let mean = measured.iter().sum::<f64>() / measured.len() as f64;
    Some((misfit.sum(), mean))
}

/// Coefficient of variation of the root mean square error. (%)
///
/// `None` where the lists differ in length, there are no more values than parameters, or the mean is not positive.
///
/// # Symbols
///
/// | symbol | meaning | range |
/// |---|---|---|
/// | `y_i` | measured values, `ȳ` their mean | mean above 0 |
/// | `p_i` | what the model says of them, in the same unit | finite |
/// | `n` | number of values | above `k` |
/// | `k` | parameters that were fitted to these values; 0 of a model from elsewhere | |
///
/// # Formula
///
/// ```text
/// CV(RMSE) = 100·√( Σ(y_i − p_i)²/(n − k) ) / ȳ
/// ```
///
/// # Source
///
/// ASHRAE Guideline 14-2014, Measurement of Energy, Demand, and Water Savings.
///
/// # Examples
///
/// Four months; derived from the formula, not printed anywhere:
///
/// ```
/// use statistics::cv_rmse_pct;
/// let (measured, predicted) = ([100.0, 120.0, 110.0, 130.0], [102.0, 118.0, 113.0, 127.0]);
/// let cv = |parameters| cv_rmse_pct(&measured, &predicted, parameters).expect("figures");
/// assert!((cv(0) - 2.217).abs() < 5e-4);
/// assert!((cv(2) - 3.135).abs() < 5e-4);
/// assert_eq!(cv_rmse_pct(&measured, &predicted, 4), None);
/// ```
#[must_use]
pub fn cv_rmse_pct(measured: &[f64], predicted: &[f64], parameters: usize) -> Option<f64> {
    let (misfit, mean) = sums(measured, predicted)?;
    let freedom = measured.len().checked_sub(parameters).filter(|n| *n > 0)?;
    (mean > 0.0).then(|| 100.0 * (misfit / freedom as f64).sqrt() / mean)
}

/// Normalised mean bias error: positive where more was measured than the model says. (%)
///
/// `None` as for [`cv_rmse_pct`]. Of a least-squares fit with a constant term, on the values it was fitted to, it is 0.
///
/// # Symbols
///
/// As for [`cv_rmse_pct`].
///
/// # Formula
///
/// ```text
/// NMBE = 100·( Σ(y_i − p_i)/(n − k) ) / ȳ
/// ```
///
/// # Source
///
/// ASHRAE Guideline 14-2014, Measurement of Energy, Demand, and Water Savings.
///
/// # Examples
///
/// The misfits −2, 2, −3, 3 cancel; of the first three −3 remains, a tenth of a mean of 110 once in three:
///
/// ```
/// use statistics::nmbe_pct;
/// let (measured, predicted) = ([100.0, 120.0, 110.0, 130.0], [102.0, 118.0, 113.0, 127.0]);
/// assert!(nmbe_pct(&measured, &predicted, 1).is_some_and(|bias| bias.abs() < 5e-4));
/// let bias = nmbe_pct(&measured[..3], &predicted[..3], 0).expect("figures");
/// assert!((bias + 100.0 / 110.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn nmbe_pct(measured: &[f64], predicted: &[f64], parameters: usize) -> Option<f64> {
    let (_, mean) = sums(measured, predicted)?;
    let freedom = measured.len().checked_sub(parameters).filter(|n| *n > 0)?;
    let bias: f64 = measured.iter().zip(predicted).map(|(y, p)| y - p).sum();
    (mean > 0.0).then(|| 100.0 * bias / freedom as f64 / mean)
}

/// Share of the variance about the mean that a model explains, R².
///
/// `None` where the lists differ in length or all measured values are one.
///
/// # Formula
///
/// ```text
/// R² = 1 − Σ(y_i − p_i)²/Σ(y_i − ȳ)²
/// ```
///
/// # Source
///
/// N. R. Draper, H. Smith, Applied Regression Analysis, 3rd ed., Wiley, 1998, chapter 1 (from memory).
///
/// # Examples
///
/// ```
/// use statistics::r_squared;
/// // About the mean 2 there is 1 + 0 + 1; of it 0.5 is left.
/// let share = r_squared(&[1.0, 2.0, 3.0], &[1.5, 2.0, 2.5]).expect("figures");
/// assert!((share - 0.75).abs() < 1e-12);
/// assert_eq!(r_squared(&[2.0, 2.0], &[2.0, 2.0]), None);
/// ```
#[must_use]
pub fn r_squared(measured: &[f64], predicted: &[f64]) -> Option<f64> {
    let (misfit, mean) = sums(measured, predicted)?;
    let about_mean: f64 = measured.iter().map(|y| (y - mean).powi(2)).sum();
    (about_mean > 0.0).then(|| 1.0 - misfit / about_mean)
}
