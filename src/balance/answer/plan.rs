//! A plan among those that may be recommended.

/// The plan that is recommended, and the share of the draws in which each of its changes helps.
pub(crate) struct Recommended {
    /// Turn of each unit.
    pub(crate) choices: Vec<usize>,
    /// For each unit that changes: the share of the draws in which the neutral is lower with its change than without. (1)
    /// Empty where the figures are measured.
    pub(crate) helps: Vec<Option<f64>>,
}

/// A plan, with what decides between plans.
pub(crate) struct Plan {
    pub(crate) recommended: Recommended,
    /// The minimised quantity, as a mean square. (A²)
    pub(crate) mean_square: f64,
    /// Moves from now.
    pub(crate) moves: usize,
}
