//! Location and spread that single outliers do not move.

use super::quantile::quantile;

/// Standard deviation over median magnitude of the normal distribution, 1/Φ⁻¹(3/4).
pub const NORMAL_OVER_MEDIAN: f64 = 1.482_602_218_505_602;

/// The middle value of a sample; the mean of the two in the middle of an even number. `None` of an empty sample.
///
/// The values must be numbers.
///
/// ```
/// use statistics::median;
/// assert_eq!(median(&[7.0, 1.0, 3.0]), Some(3.0));
/// assert_eq!(median(&[7.0, 1.0, 3.0, 4.0]), Some(3.5));
/// assert_eq!(median(&[]), None);
/// ```
#[must_use]
pub fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// How far a value is from the middle of a sample, in deviations that outliers do not widen.
///
/// `None` of an empty sample, and where more than half of its values are one.
///
/// # Symbols
///
/// | symbol | meaning | range |
/// |---|---|---|
/// | `x` | the value | finite |
/// | `x_i` | the sample, in the unit of `x` | finite |
/// | `z` | the score | any number |
///
/// # Formula
///
/// ```text
/// m = median(x_i),   MAD = median(|x_i − m|)
/// z = (x − m)/(1.4826·MAD)
/// ```
///
/// # Source
///
/// B. Iglewicz, D. C. Hoaglin, "How to Detect and Handle Outliers", ASQC Quality Press, 1993, who
/// call a value with |z| > 3.5 a possible outlier (from memory); their 0.6745 is 1/1.4826.
///
/// # Examples
///
/// Of 1…7 the middle is 4 and the median distance from it 2, so that 13 is 9/2.9652 away. An odd
/// value in the sample changes neither by much:
///
/// ```
/// use statistics::robust_score;
/// let sample = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0];
/// let score = robust_score(13.0, &sample).expect("the values differ");
/// assert!((score - 3.0352).abs() < 5e-5);
/// let score = robust_score(13.0, &[1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 700.0]).expect("as above");
/// assert!((score - 3.0352).abs() < 5e-5);
/// assert_eq!(robust_score(13.0, &[2.0, 2.0, 2.0, 5.0]), None);
/// ```
#[must_use]
pub fn robust_score(x: f64, sample: &[f64]) -> Option<f64> {
    RobustScale::of(sample).map(|scale| scale.score(x))
}

/// Middle and spread of a sample, by which any number of values are scored as in [`robust_score`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RobustScale {
    middle: f64,
    spread: f64,
}

impl RobustScale {
    /// `None` of an empty sample, and where more than half of its values are one.
    #[must_use]
    pub fn of(sample: &[f64]) -> Option<RobustScale> {
        let middle = median(sample)?;
        let distances: Vec<f64> = sample.iter().map(|value| (value - middle).abs()).collect();
        let spread = NORMAL_OVER_MEDIAN * median(&distances)?;
        (spread > 0.0).then_some(RobustScale { middle, spread })
    }

    /// How far a value is from the middle.
    #[must_use]
    pub fn score(self, x: f64) -> f64 {
        (x - self.middle) / self.spread
    }
}
