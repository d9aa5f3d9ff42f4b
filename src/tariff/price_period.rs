//! The time of a log cut into months, and each month at the changes of price.

use chrono::{Datelike, NaiveDate};

use super::band::Months;
use super::bill_line::DayShare;
use super::billing_periods::PriceChange;
use super::tariff::tariff_on;
use super::terms::Terms;

/// A month, or the part of it that the log reaches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct MonthPart {
    /// First day of the month.
    pub(super) first: NaiveDate,
    /// First day of the next month.
    pub(super) next: NaiveDate,
    /// First date of the log in it.
    pub(super) from: NaiveDate,
    /// The date after the last of the log in it.
    pub(super) to: NaiveDate,
    /// Under one tariff each, in order.
    pub(super) price_periods: Vec<PricePeriod>,
}

/// Days of a month under one tariff.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct PricePeriod {
    /// Index of the tariff.
    pub(super) tariff: usize,
    pub(super) from: NaiveDate,
    pub(super) to: NaiveDate,
    /// The tariff's share of the month, whatever the log reaches; `None`: all of it.
    pub(super) share: Option<DayShare>,
}

impl PricePeriod {
    /// Is one of its days in these months of the year?
    pub(super) fn reaches(&self, months: Months) -> bool {
        let mut days = self.from.iter_days().take_while(|day| *day < self.to);
        days.any(|day| months.contains(day.month()))
    }
}

impl MonthPart {
    /// The month as if the log ended with the day before this one.
    pub(super) fn until(&self, day: NaiveDate) -> MonthPart {
        let price_periods = self
            .price_periods
            .iter()
            .filter(|price_period| price_period.from < day);
        MonthPart {
            to: self.to.min(day),
            price_periods: price_periods
                .map(|price_period| PricePeriod {
                    to: price_period.to.min(day),
                    ..price_period.clone()
                })
                .collect(),
            ..self.clone()
        }
    }
}

/// The billing periods from one date to another, the second exclusive.
pub(super) fn month_parts(terms: &Terms<'_>, from: NaiveDate, to: NaiveDate) -> Vec<MonthPart> {
    let mut parts = Vec::new();
    let mut at = from;
    while at < to {
        let (first, next) = terms.billing.around(at);
        if next <= at {
            break;
        }
        let (from, to) = (from.max(first), to.min(next));
        parts.push(MonthPart {
            first,
            next,
            from,
            to,
            price_periods: price_periods(terms, (first, next), (from, to)),
        });
        at = next;
    }
    parts
}

fn price_periods(
    terms: &Terms<'_>,
    (first, next): (NaiveDate, NaiveDate),
    (from, to): (NaiveDate, NaiveDate),
) -> Vec<PricePeriod> {
    let tariffs = terms.tariffs;
    let begins = tariff_on(tariffs, first);
    if let (PriceChange::NextPeriod, Some(tariff)) = (terms.billing.price_change, begins) {
        return vec![PricePeriod {
            tariff,
            from,
            to,
            share: None,
        }];
    }
    tariffs
        .iter()
        .enumerate()
        .skip(begins.unwrap_or(0))
        .filter_map(|(index, tariff)| {
            let ends = tariffs
                .get(index + 1)
                .map_or(next, |later| later.from.min(next));
            let holds_from = tariff.from.max(first);
            let (a, b) = (holds_from.max(from), ends.min(to));
            let share = DayShare {
                days: days(holds_from, ends),
                of: days(first, next),
            };
            (a < b).then_some(PricePeriod {
                tariff: index,
                from: a,
                to: b,
                share: (share.days < share.of).then_some(share),
            })
        })
        .collect()
}

/// Days from one date to another, the second exclusive.
pub(super) fn days(from: NaiveDate, to: NaiveDate) -> u32 {
    u32::try_from((to - from).num_days()).unwrap_or(0)
}
