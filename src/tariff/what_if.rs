//! What another agreed capacity or another tariff would have cost, over the last twelve months of the log.

use chrono::{Months, NaiveDate};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::Serialize;

use super::bill::bill_of;
use super::price_period::{MonthPart, month_parts};
use super::pricing;
use super::sums::{self, MonthSums};
use super::tariff::Tariff;
use super::terms::Terms;
use super::usage::Usage;

/// Capacities that are tried at most. (kVA)
const MOST_KVA: u32 = 5000;

/// The agreed capacity that would have cost least.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct CapacityChoice {
    /// What is agreed at the end. (kVA)
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub agreed_kva: Decimal,
    /// The bill as it is.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub total: Decimal,
    /// The smallest capacity that costs least. (kVA)
    pub least_kva: u32,
    /// The bill with it.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub least_total: Decimal,
    /// From this capacity the bill is within a thousandth of the least. (kVA)
    pub near_from_kva: u32,
    /// To this capacity. (kVA)
    pub near_to_kva: u32,
}

/// The bill by a tariff.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct TariffChoice {
    /// The file it is from; `site.toml` for the site's own.
    pub tariff: String,
    /// The bill by it.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub total: Decimal,
    /// What could not be billed, one sentence each.
    pub notes: Vec<String>,
}

/// What other terms would have cost.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct WhatIf {
    /// ISO 4217 code.
    pub currency: Option<String>,
    /// First local date.
    #[serde(serialize_with = "units::serial::date")]
    pub from: NaiveDate,
    /// The local date after the last.
    #[serde(serialize_with = "units::serial::date")]
    pub to: NaiveDate,
    /// Where demand above the agreed capacity has a price.
    pub capacity: Option<CapacityChoice>,
    /// The tariffs, the cheapest first.
    pub tariffs: Vec<TariffChoice>,
}

/// What other terms would have cost; `None` without readings or a tariff.
#[must_use]
pub fn what_if(terms: &Terms<'_>, usage: &Usage, others: &[(String, Terms<'_>)]) -> Option<WhatIf> {
    let begin = sums::date(terms.zone, usage.from_s)?;
    let to = sums::date(terms.zone, usage.to_s - 1)?.succ_opt()?;
    let from = to.checked_sub_months(Months::new(12))?.max(begin);
    let mut tariffs = Vec::new();
    for (name, terms) in std::iter::once(("site.toml", terms))
        .chain(others.iter().map(|(name, terms)| (name.as_str(), terms)))
    {
        let bill = bill_of(terms, usage, from, to)?;
        let mut notes = bill.notes.clone();
        notes.extend(bill.months.iter().flat_map(|month| &month.notes).cloned());
        notes.sort();
        notes.dedup();
        tariffs.push(TariffChoice {
            tariff: name.to_owned(),
            total: bill.total,
            notes,
        });
    }
    tariffs.sort_by_key(|choice| choice.total);
    Some(WhatIf {
        currency: terms.currency.map(ToOwned::to_owned),
        from,
        to,
        capacity: capacity(terms, usage, from, to),
        tariffs,
    })
}

/// All whole capacities are tried, up to the largest demand.
fn capacity(
    terms: &Terms<'_>,
    usage: &Usage,
    from: NaiveDate,
    to: NaiveDate,
) -> Option<CapacityChoice> {
    let charge = terms.tariffs.last()?.capacity.as_ref()?;
    charge.excess?;
    // Without a price of what is above it, the smallest would always be the cheapest.
    let priced = |tariff: &Tariff| {
        let capacity = tariff.capacity.as_ref();
        capacity.is_none_or(|capacity| capacity.excess.is_some())
    };
    terms.tariffs.iter().all(priced).then_some(())?;
    let begin = sums::date(terms.zone, usage.from_s)?;
    let (first, _) = terms.billing.around(from);
    let mut parts = month_parts(terms, begin, first.min(to));
    let earlier = parts.len();
    parts.extend(month_parts(terms, from, to));
    let sums = sums::sums(terms, &parts, usage);
    let days = sums.iter().flat_map(|month| &month.days_kva);
    let most = days
        .map(|(_, kva)| *kva)
        .reduce(f64::max)?
        .ceil()
        .to_u32()?;
    let total = |terms: &Terms<'_>| total(terms, &parts, &sums, earlier);
    let with = |kva: u32| {
        let mut tariffs = terms.tariffs.to_vec();
        for capacity in tariffs
            .iter_mut()
            .filter_map(|tariff| tariff.capacity.as_mut())
        {
            capacity.kva = Decimal::from(kva);
            capacity.changes.clear();
        }
        total(&Terms {
            tariffs: &tariffs,
            ..*terms
        })
    };
    let totals: Vec<(u32, Decimal)> = (1..=most.min(MOST_KVA))
        .map(|kva| (kva, with(kva)))
        .collect();
    let &(least_kva, least_total) = totals.iter().min_by_key(|(_, total)| *total)?;
    let near = least_total * Decimal::new(1001, 3);
    let mut within = totals.iter().filter(|(_, total)| *total <= near);
    let near_from_kva = within.next()?.0;
    Some(CapacityChoice {
        agreed_kva: charge.on(to.pred_opt()?),
        total: total(terms),
        least_kva,
        least_total,
        near_from_kva,
        near_to_kva: within.next_back().map_or(near_from_kva, |(kva, _)| *kva),
    })
}

fn total(terms: &Terms<'_>, parts: &[MonthPart], sums: &[MonthSums], earlier: usize) -> Decimal {
    (earlier..parts.len())
        .flat_map(|at| pricing::lines(terms, parts, sums, at, &mut Vec::new()))
        .map(|line| line.amount)
        .sum()
}
