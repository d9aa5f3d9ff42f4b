//! What an invoice is checked against.

use crate::{Terms, Usage};

/// What an invoice is checked against.
#[derive(Clone, Copy, Debug)]
pub struct DifferenceEvidence<'a> {
    /// Prices and calendar.
    pub terms: &'a Terms<'a>,
    /// Energy of the billed meter.
    pub usage: &'a Usage,
    /// The same with other demand periods, which the supplier may have used.
    pub other_windows: &'a [Usage],
    /// Accuracy class of the meter. (%)
    pub class_pct: Option<f64>,
}
