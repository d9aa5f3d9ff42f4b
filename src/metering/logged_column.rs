//! A column of a log that is used.

use crate::header::names::Reason;
use site::Quantity;

/// A column of a log that is used.
#[derive(Clone, Debug, PartialEq)]
pub struct LoggedColumn {
    /// What it holds.
    pub quantity: Quantity,
    /// Its name in the log.
    pub column: String,
    /// The unit that the log names.
    pub unit: Option<String>,
    /// Factor to the unit of the quantity, the correction of current transformers included.
    pub scale: f64,
    /// Why it is taken for the quantity.
    pub reason: Reason,
}
