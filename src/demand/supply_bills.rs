//! The bill of each supply: of the meters that have prices of their own, and of all others together.

use crate::meter_work::AsLogged;
use crate::supply_together::{SupplyPart, together};
use metering::Logs;
use site::{Measured, Site};
use tariff::{Bill, CostDay, Usage, bill, bills_together, cost_by_day, days_together};

/// The bills as one with the running total, and what is not billed among the notes.
pub(crate) fn billed(
    site: &Site,
    parts: &[SupplyPart],
    notes: &mut Vec<String>,
) -> (Option<Bill>, Vec<CostDay>) {
    let (mut bills, mut days) = (Vec::new(), Vec::new());
    for (meter, parts) in supplies(site, parts) {
        let terms = site.terms_of(meter);
        let Some((usage, said)) = together(&parts) else {
            continue;
        };
        if terms.tariffs.is_empty() {
            notes.push(format!(
                "meter `{}` of the supply has no tariff: it is not billed. Write a `[[tariff]]` with `meter = \"{}\"`",
                usage.meter, parts[0].meter
            ));
            continue;
        }
        if let Some(mut own) = bill(&terms, &usage) {
            own.notes.extend(said);
            bills.push(own);
            days.push(cost_by_day(&terms, &usage));
        }
    }
    (bills_together(bills), days_together(days))
}

/// The meters that are billed as one, each with the meter whose prices they have; all without prices of their own are one.
fn supplies<'s>(site: &'s Site, parts: &[SupplyPart]) -> Vec<(&'s str, Vec<SupplyPart>)> {
    let own = site.meter_tariffs.iter().map(|own| own.meter.as_str());
    let mut supplies: Vec<(&str, Vec<SupplyPart>)> = own.map(|meter| (meter, Vec::new())).collect();
    supplies.push(("", Vec::new()));
    for part in parts {
        let at = supplies.iter().position(|(meter, _)| *meter == part.meter);
        let at = at.unwrap_or(supplies.len() - 1);
        supplies[at].1.push(part.clone());
    }
    supplies.retain(|(_, parts)| !parts.is_empty());
    supplies
}

/// What is billed by the prices of a meter of the supply, in blocks of this length (empty: of all meters without prices of their
/// own); `None` where it has no energy.
#[must_use]
pub fn supply_usage(site: &Site, logs: &Logs, window_min: u32, meter: &str) -> Option<Usage> {
    let mut parts = Vec::new();
    for log in &logs.meters {
        if site.meters[log.meter].measures != Measured::SUPPLY {
            continue;
        }
        let unaltered = log.unaltered();
        let Some(own) = AsLogged::new(site, unaltered.as_ref().unwrap_or(log), window_min) else {
            continue;
        };
        parts.push(own.work.supply_part(&own.energy));
    }
    let mut supplies = supplies(site, &parts).into_iter();
    let (_, parts) = supplies.find(|(own, _)| *own == meter)?;
    let (usage, _) = together(&parts)?;
    (!usage.quarters.is_empty()).then_some(usage)
}
