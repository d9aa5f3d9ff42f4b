//! The reasons why no connection point can be found.

use balance::BalanceError;

/// The reason why no connection point can be found.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PlacementError {
    /// No circuit or board has the phases of the machine's connection.
    #[error("no circuit or board can feed `{0}`: none has the phases that it needs")]
    NoPlace(String),
    /// Several machines are placed together, and one of them generates.
    #[error(
        "`{0}` generates: its place is found by itself; place it alone with `--name`, or each machine with `--apart`"
    )]
    GenerationAmongOthers(String),
    /// The installation cannot be analysed.
    #[error(transparent)]
    Balance(#[from] BalanceError),
}
