//! Why no place can be looked for.

use balance::BalanceError;

/// Why no place can be looked for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PlacementError {
    /// No circuit or board takes the machine's connection.
    #[error("no circuit or board can feed `{0}`: none carries the phases that it needs")]
    NoPlace(String),
    /// The installation cannot be analysed.
    #[error(transparent)]
    Balance(#[from] BalanceError),
}
