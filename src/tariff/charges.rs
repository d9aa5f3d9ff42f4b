//! Charges for demand and capacity, the power factor, and losses.

use chrono::NaiveDate;
use rust_decimal::Decimal;

use super::band::Months;
use super::demand_measure::DemandMeasure;
use super::demand_unit::DemandUnit;

/// The time that a price of demand or capacity is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RateTime {
    /// A month, or a billing period.
    Month,
    /// A day.
    Day,
}

/// A demand that the contract names, and what is billed below and above it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ContractedDemand {
    /// kW or kVA.
    pub demand: Decimal,
    /// This share of it is billed at least.
    pub lower_share: Decimal,
    /// What is beyond this share of it counts as excess; `None`: nothing does.
    pub upper_share: Option<Decimal>,
    /// How often the excess is added to the measured demand.
    pub excess_factor: Decimal,
}

/// Price of the demand of a month.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DemandCharge {
    /// Its name on the bill, behind `demand`.
    pub name: Option<String>,
    /// Which demand it is.
    pub measure: DemandMeasure,
    /// Price of each kW or kVA.
    pub rate: Decimal,
    /// What the price is for.
    pub by: RateTime,
    /// The largest of so many months, this one included, is billed. (1: of this month)
    pub over_months: u32,
    /// How many months before count as well; 0: none.
    pub ratchet_months: u32,
    /// Share of the highest demand of those months that is billed at least. (0 to 1)
    pub ratchet_share: Decimal,
    /// Months of the year whose demand counts for the ratchet.
    pub ratchet_season: Months,
    /// A demand that the contract names.
    pub contracted: Option<ContractedDemand>,
    /// So much is billed at least. (kW, kVA)
    pub at_least: Decimal,
}

impl DemandCharge {
    /// A price of the month's maximum demand.
    #[must_use]
    pub fn maximum(per: DemandUnit, rate_per_month: Decimal) -> DemandCharge {
        DemandCharge {
            name: None,
            measure: DemandMeasure::maximum(per),
            rate: rate_per_month,
            by: RateTime::Month,
            over_months: 1,
            ratchet_months: 0,
            ratchet_share: Decimal::ZERO,
            ratchet_season: Months::ALL,
            contracted: None,
            at_least: Decimal::ZERO,
        }
    }

    /// Its line on the bill.
    #[must_use]
    pub fn line(&self) -> String {
        match &self.name {
            Some(name) => format!("demand {name}"),
            None => "demand".to_owned(),
        }
    }
}

/// How demand beyond the agreed capacity is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExcessBy {
    /// The highest of the month, for all of its days.
    Month,
    /// The highest of each day, for that day.
    Day,
}

/// Price of what is above the agreed capacity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ExcessCapacity {
    /// How it is counted.
    pub by: ExcessBy,
    /// Price. (currency/kVA and day, or month)
    pub rate: Decimal,
}

/// Price of an agreed capacity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CapacityCharge {
    /// Agreed capacity. (kVA)
    pub kva: Decimal,
    /// Later ones with the dates from which they hold, ascending.
    pub changes: Vec<(NaiveDate, Decimal)>,
    /// Price. (currency/kVA and day, or month)
    pub rate: Decimal,
    /// What the prices are for.
    pub by: RateTime,
    /// Price of demand above it.
    pub excess: Option<ExcessCapacity>,
}

impl CapacityCharge {
    /// The capacity that is agreed on a date. (kVA)
    #[must_use]
    pub fn on(&self, date: NaiveDate) -> Decimal {
        let last = self.changes.iter().rev().find(|(from, _)| *from <= date);
        last.map_or(self.kva, |(_, kva)| *kva)
    }
}

/// Surcharge on each kWh for a month's power factor below a threshold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PowerFactorSurcharge {
    /// Threshold of kWh/√(kWh² + kvarh²).
    pub below: Decimal,
    /// Price for each hundredth below, in proportion. (currency/kWh)
    pub surcharge_per_kwh_per_pct: Decimal,
    /// Is the reactive energy lagging less leading, not lagging alone?
    pub net: bool,
}

/// Factors from what is metered to what is billed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LossFactors {
    /// Of energy drawn.
    pub energy: Decimal,
    /// Of demand.
    pub demand: Decimal,
}

impl Default for LossFactors {
    fn default() -> LossFactors {
        LossFactors {
            energy: Decimal::ONE,
            demand: Decimal::ONE,
        }
    }
}
