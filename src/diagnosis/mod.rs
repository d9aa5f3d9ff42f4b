//! What the logs say is wrong.

pub mod joint;
mod least_squares;

pub use least_squares::LeastSquares;
