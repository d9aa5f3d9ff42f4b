//! Steps of a price that depends on how much is used.

use rust_decimal::Decimal;

/// Where a step of a price by amount ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BlockEnd {
    /// kWh of the month.
    PerMonth(Decimal),
    /// kWh of each day.
    PerDay(Decimal),
    /// kWh of the month for each kW or kVA of the demand that is billed: hours of use.
    PerDemand(Decimal),
    /// It is the last.
    Open,
}

/// A step of a price that depends on how much is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EnergyBlock {
    /// Where it ends.
    pub up_to: BlockEnd,
    /// Price within it. (currency/kWh)
    pub rate_per_kwh: Decimal,
}
