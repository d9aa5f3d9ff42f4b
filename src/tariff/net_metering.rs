//! Exported energy as a credit that later billing periods use, as the contract says.

use chrono::{Datelike, NaiveDate};
use rust_decimal::Decimal;

use super::levy::LineChoice;

/// What is credited.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NetCredit {
    /// Energy, deducted from what is imported in the same band.
    Energy {
        /// Prices of energy from which it is deducted; empty: all.
        sets: Vec<String>,
        /// Price at which the rest is paid out; `None`: it expires.
        pays_per_kwh: Option<Decimal>,
    },
    /// What is paid for export, deducted from other lines.
    Money {
        /// Lines that it reduces.
        on: LineChoice,
        /// Share of the rest that is paid out.
        pays_share: Decimal,
    },
}

/// Exported energy as a credit that later billing periods use.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NetMetering {
    /// What is credited.
    pub credit: NetCredit,
    /// Month and day on which what is left ends; `None`: never.
    pub settled_on: Option<(u32, u32)>,
    /// Credit at the start of the log. (kWh or money)
    pub opening: Decimal,
}

impl NetMetering {
    /// Does the billing period that begins on one day and ends before another reach the day of settlement?
    pub(super) fn is_settled(&self, first: NaiveDate, next: NaiveDate) -> bool {
        self.settled_on.is_some_and(|(month, day)| {
            let days = (first.year()..=next.year())
                .filter_map(|year| NaiveDate::from_ymd_opt(year, month, day));
            days.into_iter().any(|day| first < day && day <= next)
        })
    }

    /// Is the credit in kWh, and deducted from this price of energy?
    pub(super) fn nets(&self, set: &str) -> bool {
        match &self.credit {
            NetCredit::Energy { sets, .. } => sets.is_empty() || sets.iter().any(|own| own == set),
            NetCredit::Money { .. } => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_period_that_reaches_the_day_is_settled() {
        let net = NetMetering {
            credit: NetCredit::Energy {
                sets: Vec::new(),
                pays_per_kwh: None,
            },
            settled_on: Some((4, 1)),
            opening: Decimal::ZERO,
        };
        let is_settled = |first: &str, next: &str| {
            net.is_settled(
                first.parse().expect("a date"),
                next.parse().expect("a date"),
            )
        };
        assert!(is_settled("2026-03-01", "2026-04-01"));
        assert!(is_settled("2025-12-16", "2026-04-16"));
        assert!(!is_settled("2026-04-01", "2026-05-01"));
        assert!(!is_settled("2026-02-01", "2026-03-01"));
    }
}
