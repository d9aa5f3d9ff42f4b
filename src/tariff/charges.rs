//! Charges other than for energy: demand, capacity, reactive energy, power factor.

use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

/// What the demand is charged by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
pub enum DemandUnit {
    /// Active power.
    #[serde(rename = "kW")]
    Kilowatt,
    /// Apparent power.
    #[serde(rename = "kVA")]
    KilovoltAmpere,
}

impl DemandUnit {
    /// `kW`, `kVA`.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            DemandUnit::Kilowatt => "kW",
            DemandUnit::KilovoltAmpere => "kVA",
        }
    }
}

/// Price of the highest demand period of the month.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DemandCharge {
    /// kW or kVA.
    pub per: DemandUnit,
    /// Price for each of it, by the month.
    pub rate_per_month: Decimal,
    /// How many months before count as well; 0: none.
    pub ratchet_months: u32,
    /// Share of the highest demand period of those months that is billed at least. (0 to 1)
    pub ratchet_share: Decimal,
}

/// Price of an agreed capacity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CapacityCharge {
    /// Agreed capacity. (kVA)
    pub kva: Decimal,
    /// Price. (currency/kVA and day)
    pub rate_per_kva_day: Decimal,
}

/// Price of lagging reactive energy beyond a free share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReactiveCharge {
    /// kvarh that are free for each kWh of the month.
    pub free_share_of_kwh: Decimal,
    /// Price of the rest. (currency/kvarh)
    pub rate_per_kvarh: Decimal,
}

/// Surcharge on each kWh for a month's power factor below a threshold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PowerFactorSurcharge {
    /// Threshold of kWh/√(kWh² + lagging kvarh²).
    pub below: Decimal,
    /// Price for each hundredth below, in proportion. (currency/kWh)
    pub surcharge_per_kwh_per_pct: Decimal,
}
