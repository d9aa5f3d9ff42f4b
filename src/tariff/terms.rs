//! What the prices are, and the calendar that they go by.

use chrono::NaiveDate;
use chrono_tz::Tz;

use super::billing_periods::BillingPeriods;
use super::reactive_charge::ReactiveFlow;
use super::tariff::Tariff;

/// What the prices are, and the calendar that they go by.
#[derive(Clone, Copy, Debug)]
pub struct Terms<'a> {
    /// Ascending by the date from which they hold.
    pub tariffs: &'a [Tariff],
    /// Zone of days, months and bands.
    pub zone: Tz,
    /// Days that a band may price apart.
    pub holidays: &'a [NaiveDate],
    /// When billing periods begin.
    pub billing: &'a BillingPeriods,
    /// ISO 4217 code.
    pub currency: Option<&'a str>,
}

impl Terms<'_> {
    /// Does any of the prices go by leading reactive energy?
    #[must_use]
    pub fn needs_leading(&self) -> bool {
        let mut tariffs = self.tariffs.iter();
        tariffs.any(|tariff| {
            let mut charges = tariff.reactive.iter();
            charges.any(|charge| charge.flow != ReactiveFlow::Lagging)
                || tariff.power_factor.is_some_and(|charge| charge.net)
        })
    }
}
