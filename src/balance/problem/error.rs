//! Why there is no answer.

use super::problem::ProblemError;

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BalanceError {
    /// The site lists no machine and no log tells the phases apart.
    #[error(
        "there is nothing to balance: the machine list is empty and no log tells the phases apart"
    )]
    NothingToBalance,
    /// The heat in feeders is asked for where none is declared.
    #[error(
        "no board has a `feeder` with its length and cross-sections: the heat in feeders cannot be told"
    )]
    NoFeeder,
    /// Machines cannot be held where the user wants them.
    #[error("{0}")]
    Fix(String),
    /// The proof cannot be written out.
    #[error("no certificate can be written: {0}")]
    NoCertificate(String),
    /// The parts of the problem do not fit together.
    #[error("the installation cannot be analysed: {0}")]
    Problem(#[from] ProblemError),
}
