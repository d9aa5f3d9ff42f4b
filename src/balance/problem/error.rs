//! The reasons why no plan can be made.

use super::problem::ProblemError;

/// The reason why no plan can be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BalanceError {
    /// The site lists no machine and no log has values per phase.
    #[error("nothing to balance: the machine list is empty and no log has values per phase")]
    NothingToBalance,
    /// Feeder losses are to be minimised where no feeder is declared.
    #[error(
        "feeder losses cannot be calculated: no board has a `feeder` with its length and cross-sectional areas"
    )]
    NoFeeder,
    /// Machines cannot be kept where the user wants them.
    #[error("{0}")]
    Fix(String),
    /// The proof cannot be written out.
    #[error("no certificate can be written: {0}")]
    NoCertificate(String),
    /// The parts of the problem are inconsistent.
    #[error("the installation cannot be analysed: {0}")]
    Problem(#[from] ProblemError),
}
