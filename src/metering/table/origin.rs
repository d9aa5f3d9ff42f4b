//! Where a figure comes from: the meter, arithmetic, or an assumption.

use site::Quantity;

/// Where the values of a quantity come from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// They are logged.
    Measured,
    /// They follow from logged values without an assumption.
    Derived {
        /// The quantities that they follow from.
        from: Vec<Quantity>,
    },
    /// They follow from other values under an assumption.
    Estimated {
        /// The assumption, as a clause.
        assumption: String,
    },
}

impl Origin {
    /// `measured`, `derived` or `estimated`.
    pub const fn name(&self) -> &'static str {
        match self {
            Origin::Measured => "measured",
            Origin::Derived { .. } => "derived",
            Origin::Estimated { .. } => "estimated",
        }
    }
}
