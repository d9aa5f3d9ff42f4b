//! Statistics that several rooms share; they know nothing of meters.
//!
//! In: plain numbers. Out: plain numbers, `None` where the sample does not determine them.

mod goodness;
mod least_squares;
mod quantile;
mod random;
mod robust;
mod student;

pub use goodness::{cv_rmse_pct, nmbe_pct, r_squared};
pub use least_squares::LeastSquares;
pub use quantile::quantile;
pub use random::Random;
pub use robust::{NORMAL_OVER_MEDIAN, RobustScale, median, robust_score};
pub use student::student_quantile;
