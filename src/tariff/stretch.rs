//! The time of a log cut into months, and each month at the changes of price.

use chrono::{Datelike, Months, NaiveDate};

use super::bill_line::DayShare;
use super::tariff::{Tariff, tariff_on};

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
    pub(super) stretches: Vec<Stretch>,
}

/// Days of a month under one tariff.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Stretch {
    /// Index of the tariff.
    pub(super) tariff: usize,
    pub(super) from: NaiveDate,
    pub(super) to: NaiveDate,
    /// The tariff's share of the month, whatever the log reaches; `None`: all of it.
    pub(super) share: Option<DayShare>,
}

impl MonthPart {
    /// The month as if the log ended with the day before this one.
    pub(super) fn until(&self, day: NaiveDate) -> MonthPart {
        let stretches = self.stretches.iter().filter(|stretch| stretch.from < day);
        MonthPart {
            to: self.to.min(day),
            stretches: stretches
                .map(|stretch| Stretch {
                    to: stretch.to.min(day),
                    ..stretch.clone()
                })
                .collect(),
            ..self.clone()
        }
    }
}

/// The months from one date to another, the second exclusive.
pub(super) fn month_parts(tariffs: &[Tariff], from: NaiveDate, to: NaiveDate) -> Vec<MonthPart> {
    let mut parts = Vec::new();
    let mut first = from.with_day(1).unwrap_or(from);
    while first < to {
        let Some(next) = first.checked_add_months(Months::new(1)) else {
            break;
        };
        let (from, to) = (from.max(first), to.min(next));
        parts.push(MonthPart {
            first,
            next,
            from,
            to,
            stretches: stretches(tariffs, (first, next), (from, to)),
        });
        first = next;
    }
    parts
}

fn stretches(
    tariffs: &[Tariff],
    (first, next): (NaiveDate, NaiveDate),
    (from, to): (NaiveDate, NaiveDate),
) -> Vec<Stretch> {
    let begins = tariff_on(tariffs, first).unwrap_or(0);
    tariffs
        .iter()
        .enumerate()
        .skip(begins)
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
            (a < b).then_some(Stretch {
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
