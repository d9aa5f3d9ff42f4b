//! A figure with what is needed for its interval.

/// A figure with what is needed for its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EstimatedFigure {
    /// The estimate.
    pub value: f64,
    /// Its standard error.
    pub error: f64,
    /// Degrees of freedom of the error.
    pub freedom: f64,
}
