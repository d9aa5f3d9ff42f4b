//! Prices as declared, from a day on.

use chrono::NaiveDate;
use rust_decimal::Decimal;

use super::band_table::BandTable;
use super::charges::{CapacityCharge, DemandCharge, LossFactors, PowerFactorSurcharge};
use super::energy_block::EnergyBlock;
use super::levy::{Levy, Tax};
use super::net_metering::NetMetering;
use super::price_series::PriceSeries;
use super::reactive_charge::ReactiveCharge;
use super::rounding::Rounding;

/// How energy is priced.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EnergyRates {
    /// By time.
    Bands(BandTable),
    /// By amount, in order.
    Blocks(Vec<EnergyBlock>),
    /// By prices from a file.
    Series(PriceSeries),
}

/// A price of energy next to the first, such as that of the network.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EnergySet {
    /// What its lines begin with.
    pub name: String,
    /// Its prices.
    pub rates: EnergyRates,
}

/// What part of a price by the month is due for days of it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Proration {
    /// All of it for a billing period; where prices change within, by days.
    #[default]
    ByPeriod,
    /// Its thirtieth for each day.
    By30Days,
    /// Twelve of them a year, by days of 365.
    By365Days,
}

/// The prices that hold from a day on; each part is optional.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tariff {
    /// Local date it takes effect.
    pub from: NaiveDate,
    /// Energy.
    pub energy: Option<EnergyRates>,
    /// Further prices of the same energy.
    pub more_energy: Vec<EnergySet>,
    /// Is energy drawn billed in kVAh?
    pub by_kvah: bool,
    /// Factors from what is metered to what is billed.
    pub losses: LossFactors,
    /// Energy exported, which is paid for.
    pub export: Option<EnergyRates>,
    /// Energy exported, as a credit that later periods use.
    pub net_metering: Option<NetMetering>,
    /// By the day.
    pub standing_per_day: Option<Decimal>,
    /// By the month.
    pub standing_per_month: Option<Decimal>,
    /// Demand.
    pub demand: Vec<DemandCharge>,
    /// Agreed capacity.
    pub capacity: Option<CapacityCharge>,
    /// Reactive energy.
    pub reactive: Vec<ReactiveCharge>,
    /// Low power factor.
    pub power_factor: Option<PowerFactorSurcharge>,
    /// Levies and discounts, in order.
    pub levies: Vec<Levy>,
    /// What a month costs at least, before taxes.
    pub minimum_per_month: Option<Decimal>,
    /// Taxes, in order.
    pub taxes: Vec<Tax>,
    /// How quantities and amounts are rounded.
    pub rounding: Rounding,
    /// What part of a price by the month is due for days of it.
    pub proration: Proration,
}

impl Tariff {
    /// Nothing costs anything.
    #[must_use]
    pub fn free_of_charge() -> Tariff {
        Tariff {
            from: NaiveDate::MIN,
            energy: None,
            more_energy: Vec::new(),
            by_kvah: false,
            losses: LossFactors::default(),
            export: None,
            net_metering: None,
            standing_per_day: None,
            standing_per_month: None,
            demand: Vec::new(),
            capacity: None,
            reactive: Vec::new(),
            power_factor: None,
            levies: Vec::new(),
            minimum_per_month: None,
            taxes: Vec::new(),
            rounding: Rounding::default(),
            proration: Proration::default(),
        }
    }

    /// What all taxes make of a unit of money for energy.
    pub(super) fn tax_on_energy(&self) -> Decimal {
        let mut taxes: Vec<Decimal> = Vec::new();
        for (at, tax) in self.taxes.iter().enumerate() {
            let energy = if tax.on.holds_energy() {
                Decimal::ONE
            } else {
                Decimal::ZERO
            };
            let earlier = self.taxes[..at].iter().zip(&taxes);
            let taxed: Decimal = earlier
                .filter(|(earlier, _)| tax.on.names_tax(earlier))
                .map(|(_, amount)| *amount)
                .sum();
            taxes.push((energy + taxed) * tax.pct / Decimal::ONE_HUNDRED);
        }
        Decimal::ONE + taxes.iter().sum::<Decimal>()
    }

    /// All prices of energy with what their lines begin with, the first of them `energy`.
    pub(super) fn sets(&self) -> impl Iterator<Item = (&str, &EnergyRates)> {
        let first = self.energy.iter().map(|rates| ("energy", rates));
        first.chain(
            self.more_energy
                .iter()
                .map(|set| (set.name.as_str(), &set.rates)),
        )
    }
}

/// The tariff of a date: the last of those that began by then. They ascend.
#[must_use]
pub fn tariff_on(tariffs: &[Tariff], date: NaiveDate) -> Option<usize> {
    tariffs.iter().rposition(|tariff| tariff.from <= date)
}
