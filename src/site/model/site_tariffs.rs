//! The prices of a site: those of its supply, and those of single meters of it.

use tariff::{BillingPeriods, Tariff};

/// The prices of one meter of the supply.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MeterTariffs {
    /// Its id.
    pub meter: String,
    /// Ascending by the date from which they hold.
    pub tariffs: Vec<Tariff>,
}

/// All prices, and when billing periods begin.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SiteTariffs {
    /// Of all meters of the supply that have none of their own; ascending by the date from which they hold.
    pub tariffs: Vec<Tariff>,
    /// Those of single meters, in the order in which they are declared.
    pub of_meters: Vec<MeterTariffs>,
    /// When billing periods begin.
    pub billing: BillingPeriods,
}
