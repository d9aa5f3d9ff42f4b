//! What the parts cost.

use super::{BreakdownInput, TINY_KWH, Whole};
use tariff::{CostAllocation, PartUse, UsageQuarter, allocate_cost};

/// What the energy of the parts costs by the tariff; `None` without one, or where the quarter-hours of the parts do not
/// add up to those of the meter, as of phases that only registers give.
pub(super) fn costs(ground: &BreakdownInput<'_>, whole: &Whole<'_>) -> Option<CostAllocation> {
    let terms = ground.site.terms_of(&whole.meter.id);
    let quarters = &whole.meter.trace.quarters;
    if terms.tariffs.is_empty() || whole.meter.energy_kwh.is_none_or(|kwh| kwh < 0.0) {
        return None;
    }
    let dated: f64 = quarters.iter().map(|quarter| quarter.energy_kwh).sum();
    let shared: f64 = whole.split.slices.iter().map(|slice| slice.kwh).sum();
    // Phases may be of other readings than the sum; a thousandth is far below a class.
    if (dated - shared).abs() > 1e-3 * dated.abs() + TINY_KWH {
        return None;
    }
    let used: Vec<UsageQuarter> = quarters
        .iter()
        .map(|quarter| UsageQuarter {
            start_s: quarter.start_s,
            covered_s: quarter.covered_s,
            kwh: quarter.energy_kwh,
            ..UsageQuarter::default()
        })
        .collect();
    let mut own_prices = ground.site.meter_tariffs.iter();
    let billed = own_prices.any(|own| own.meter == whole.meter.id)
        || ground.bill.is_some_and(|bill| bill.meter == whole.meter.id);
    let uses = whole.split.slices.iter().map(|slice| PartUse {
        part: slice.part,
        start_s: slice.start_s,
        kwh: slice.kwh,
    });
    allocate_cost(&terms, &used, uses, whole.split.labels.len(), billed)
}
