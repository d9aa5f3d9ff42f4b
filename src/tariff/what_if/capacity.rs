//! The agreed capacity that would have cost least.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::Serialize;

use super::billed_year::BilledYear;
use crate::tariff::Tariff;
use crate::terms::Terms;
use crate::usage::Usage;

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

/// All whole capacities are tried, up to the largest demand.
pub(super) fn least_capacity(
    terms: &Terms<'_>,
    usage: &Usage,
    year: &BilledYear,
) -> Option<CapacityChoice> {
    let charge = terms.tariffs.last()?.capacity.as_ref()?;
    charge.excess?;
    // Without a price of what is above it, the smallest would always be the cheapest.
    let priced = |tariff: &Tariff| {
        let capacity = tariff.capacity.as_ref();
        capacity.is_none_or(|capacity| capacity.excess.is_some())
    };
    terms.tariffs.iter().all(priced).then_some(())?;
    let sums = year.sums(terms, usage);
    let days = sums.iter().flat_map(|month| &month.days_kva);
    let most = days
        .map(|(_, kva)| *kva)
        .reduce(f64::max)?
        .ceil()
        .to_u32()?;
    let with = |kva: u32| {
        let mut tariffs = terms.tariffs.to_vec();
        let capacities = tariffs
            .iter_mut()
            .filter_map(|tariff| tariff.capacity.as_mut());
        for capacity in capacities {
            capacity.kva = Decimal::from(kva);
            capacity.changes.clear();
        }
        let tariffs = &tariffs;
        year.total_of(&Terms { tariffs, ..*terms }, &sums)
    };
    let totals: Vec<(u32, Decimal)> = (1..=most.min(MOST_KVA))
        .map(|kva| (kva, with(kva)))
        .collect();
    let &(least_kva, least_total) = totals.iter().min_by_key(|(_, total)| *total)?;
    let near = least_total * Decimal::new(1001, 3);
    let mut within = totals.iter().filter(|(_, total)| *total <= near);
    let near_from_kva = within.next()?.0;
    Some(CapacityChoice {
        agreed_kva: charge.on(year.to.pred_opt()?),
        total: year.total_of(terms, &sums),
        least_kva,
        least_total,
        near_from_kva,
        near_to_kva: within.next_back().map_or(near_from_kva, |(kva, _)| *kva),
    })
}
