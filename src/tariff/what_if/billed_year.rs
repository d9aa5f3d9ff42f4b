//! The last twelve months of a log as billing periods, to be billed again and again.

use chrono::{Months, NaiveDate};
use rust_decimal::Decimal;

use crate::price_period::{MonthPart, month_parts};
use crate::pricing;
use crate::sums::{self, MonthSums};
use crate::terms::Terms;
use crate::usage::Usage;

/// The last twelve months of a log, and the periods before them, on which a ratchet looks back.
#[derive(Clone, Debug)]
pub(super) struct BilledYear {
    /// First local date.
    pub(super) from: NaiveDate,
    /// The local date after the last.
    pub(super) to: NaiveDate,
    parts: Vec<MonthPart>,
    /// How many of the parts are before the year.
    earlier: usize,
}

impl BilledYear {
    /// `None` of a log without a date.
    pub(super) fn of(terms: &Terms<'_>, usage: &Usage) -> Option<BilledYear> {
        let begin = sums::date(terms.zone, usage.from_s)?;
        let to = sums::date(terms.zone, usage.to_s - 1)?.succ_opt()?;
        let from = to.checked_sub_months(Months::new(12))?.max(begin);
        let (first, _) = terms.billing.around(from);
        let mut parts = month_parts(terms, begin, first.min(to));
        let earlier = parts.len();
        parts.extend(month_parts(terms, from, to));
        Some(BilledYear {
            from,
            to,
            parts,
            earlier,
        })
    }

    pub(super) fn sums(&self, terms: &Terms<'_>, usage: &Usage) -> Vec<MonthSums> {
        sums::sums(terms, &self.parts, usage)
    }

    /// The bill of the year.
    pub(super) fn total_of(&self, terms: &Terms<'_>, sums: &[MonthSums]) -> Decimal {
        self.lines_of(terms, sums).map(|line| line.amount).sum()
    }

    /// The same of what a meter saw.
    pub(super) fn total(&self, terms: &Terms<'_>, usage: &Usage) -> Decimal {
        self.total_of(terms, &self.sums(terms, usage))
    }

    pub(super) fn lines_of(
        &self,
        terms: &Terms<'_>,
        sums: &[MonthSums],
    ) -> impl Iterator<Item = crate::BillLine> {
        pricing::lines_from(terms, &self.parts, sums, self.earlier)
    }
}
