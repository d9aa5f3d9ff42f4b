//! Student's t distribution.

use statrs::distribution::{ContinuousCDF, StudentsT};

/// The value that Student's t with `freedom` degrees of freedom stays below with the given chance.
///
/// `None` unless `freedom` is positive and `chance` is between 0 and 1.
///
/// # Source
///
/// "Student", "The probable error of a mean", Biometrika, vol. 6, 1908; worked out by the library statrs.
///
/// # Examples
///
/// Of tables of the distribution (from memory), 97.5 % with 10 degrees of freedom:
///
/// ```
/// use statistics::student_quantile;
/// let t = student_quantile(10.0, 0.975).expect("a chance");
/// assert!((t - 2.228).abs() < 5e-4);
/// assert_eq!(student_quantile(0.0, 0.975), None);
/// ```
#[must_use]
pub fn student_quantile(freedom: f64, chance: f64) -> Option<f64> {
    let inside = freedom > 0.0 && chance > 0.0 && chance < 1.0;
    let distribution = StudentsT::new(0.0, 1.0, freedom).ok().filter(|_| inside)?;
    Some(distribution.inverse_cdf(chance))
}
