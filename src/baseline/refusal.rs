//! Why there is no baseline.

use site::Every;

/// Why a baseline cannot be fitted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// The meter has no day with readings.
    #[error("meter `{meter}` has no day with energy")]
    NoDays {
        /// The meter's id.
        meter: String,
    },
    /// A variable has no value in the baseline.
    #[error("the variable `{variable}` has no value for any complete {} of the baseline", every.name())]
    NoValue {
        /// The variable's name.
        variable: String,
        /// What is counted.
        every: Every,
    },
    /// A variable is known by longer periods than are counted.
    #[error("the variable `{variable}` has weekly or monthly values: a baseline by the {} cannot use it; choose longer periods", every.name())]
    TooCoarse {
        /// The variable's name.
        variable: String,
        /// What is counted.
        every: Every,
    },
    /// More coefficients than the days can bear.
    #[error(
        "the baseline has {have} complete {}s with all variables; its {coefficients} coefficients ({terms}) need at least {need}; choose a longer baseline or fewer variables",
        every.name()
    )]
    TooFew {
        /// Periods that could enter.
        have: usize,
        /// Periods that are needed.
        need: usize,
        /// Coefficients of the model.
        coefficients: usize,
        /// Their names.
        terms: String,
        /// What is counted.
        every: Every,
    },
    /// A variable is the same throughout.
    #[error(
        "the variable `{variable}` is constant throughout the baseline: its effect cannot be separated from the base load"
    )]
    DoesNotVary {
        /// The variable's name.
        variable: String,
    },
    /// A variable says what others say already.
    #[error(
        "in the baseline, {explained_pct:.1} % of `{term}` follows from {with}: their effects cannot be separated; leave one of them out (`goes_by` in `[baseline]`), or choose a baseline in which they differ"
    )]
    Collinear {
        /// The term that the others explain.
        term: String,
        /// The others.
        with: String,
        /// How much of its variance they explain. (%)
        explained_pct: f64,
    },
}
