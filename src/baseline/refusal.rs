//! Why there is no baseline.

use site::Every;

/// What stands against a fit.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// The meter has no day with readings.
    #[error("meter `{meter}` has no day with energy")]
    NoDays {
        /// The meter's id.
        meter: String,
    },
    /// A variable has no value in the baseline.
    #[error("the variable `{variable}` has no value for any whole {} of the baseline", every.name())]
    NoValue {
        /// The variable's name.
        variable: String,
        /// What is counted.
        every: Every,
    },
    /// A variable is known by longer periods than are counted.
    #[error("the variable `{variable}` is known by the week or month: a baseline by the {} cannot go by it; choose longer periods", every.name())]
    TooCoarse {
        /// The variable's name.
        variable: String,
        /// What is counted.
        every: Every,
    },
    /// More coefficients than the days can bear.
    #[error(
        "the baseline has {have} whole {}s with all that drives them: its {coefficients} coefficients ({terms}) need at least {need}; \
         choose a longer baseline or fewer variables",
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
        "the variable `{variable}` is the same throughout the baseline: what it takes cannot be told from what every day takes"
    )]
    DoesNotVary {
        /// The variable's name.
        variable: String,
    },
    /// A variable says what others say already.
    #[error(
        "in the baseline `{term}` follows from {with} ({explained_pct:.1} % of it): what each of them takes cannot be told apart; leave one of \
         them out (`goes_by` in `[baseline]`), or choose a baseline in which they differ"
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
