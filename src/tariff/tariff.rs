//! Prices as declared, from a day on.

use chrono::NaiveDate;
use rust_decimal::Decimal;

use super::band_table::BandTable;
use super::charges::{CapacityCharge, DemandCharge, PowerFactorSurcharge, ReactiveCharge};

/// A step of a price that depends on how much is used in a month.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EnergyBlock {
    /// Where it ends; `None` for the last one. (kWh of the month)
    pub up_to_kwh_per_month: Option<Decimal>,
    /// Price within it. (currency/kWh)
    pub rate_per_kwh: Decimal,
}

/// How energy is priced.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EnergyRates {
    /// By time.
    Bands(BandTable),
    /// By amount, in order.
    Blocks(Vec<EnergyBlock>),
}

/// The prices that hold from a day on; each part is optional.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tariff {
    /// Local date it takes effect.
    pub from: NaiveDate,
    /// Energy.
    pub energy: Option<EnergyRates>,
    /// By the day.
    pub standing_per_day: Option<Decimal>,
    /// Highest demand period.
    pub demand: Option<DemandCharge>,
    /// Agreed capacity.
    pub capacity: Option<CapacityCharge>,
    /// Lagging reactive energy.
    pub reactive: Option<ReactiveCharge>,
    /// Low power factor.
    pub power_factor: Option<PowerFactorSurcharge>,
    /// Tax on all of it. (%)
    pub tax_pct: Option<Decimal>,
}

impl Tariff {
    /// Nothing costs anything.
    #[must_use]
    pub fn free_of_charge() -> Tariff {
        Tariff {
            from: NaiveDate::MIN,
            energy: None,
            standing_per_day: None,
            demand: None,
            capacity: None,
            reactive: None,
            power_factor: None,
            tax_pct: None,
        }
    }
}

/// The tariff of a date: the last of those that began by then. They ascend.
#[must_use]
pub fn tariff_on(tariffs: &[Tariff], date: NaiveDate) -> Option<usize> {
    tariffs.iter().rposition(|tariff| tariff.from <= date)
}
