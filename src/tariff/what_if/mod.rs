//! What other terms, or another use, would have cost over the last twelve months of the log.
//!
//! In: the prices, what the meter saw, other tariffs and the [`WhatIfTrial`]. Out: [`WhatIf`]. Whatever is tried is billed as the
//! bill itself is, from what the meter would have seen.

mod billed_year;
mod capacity;
mod correction;
mod shift;

use chrono::NaiveDate;
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

use self::billed_year::BilledYear;
pub use self::capacity::CapacityChoice;
use self::capacity::least_capacity;
pub use self::correction::CorrectionChoice;
use self::correction::correction;
pub use self::shift::ShiftChoice;
use self::shift::shifts;
use super::bill::bill_of;
use super::tariff::Tariff;
use super::terms::Terms;
use super::usage::Usage;

/// Phases that balance better do not change the sum of the three.
const PHASE_MOVES: &str = "Moving loads to other phases saves nothing on this bill: no price goes by phase, and the sum of the \
                           three phases stays. What it saves in the feeders is in `tapoff balance`.";

/// What is tried besides other capacities and tariffs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WhatIfTrial {
    /// Load that is shifted; `None`: a tenth of the maximum demand. (kW)
    pub shift_kw: Option<f64>,
    /// Capacitors are rounded up to a multiple of this. (kvar)
    pub kvar_step: f64,
    /// Power factor that is aimed at where the contract names none, lagging.
    pub target_power_factor: f64,
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
    /// Load shifted out of each band and each window of demand, the largest saving first.
    pub shifts: Vec<ShiftChoice>,
    /// Capacitors, where reactive power has a price.
    pub correction: Option<CorrectionChoice>,
    /// What saves nothing or could not be tried, one sentence each.
    pub notes: Vec<String>,
}

/// What other terms would have cost; `None` without readings or a tariff.
#[must_use]
pub fn what_if(
    terms: &Terms<'_>,
    usage: &Usage,
    others: &[(String, Terms<'_>)],
    trial: &WhatIfTrial,
) -> Option<WhatIf> {
    let year = BilledYear::of(terms, usage)?;
    let mut tariffs = Vec::new();
    for (name, terms) in std::iter::once(("site.toml", terms))
        .chain(others.iter().map(|(name, terms)| (name.as_str(), terms)))
    {
        let bill = bill_of(terms, usage, year.from, year.to)?;
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
    let before = tariffs[0].total;
    tariffs.sort_by_key(|choice| choice.total);
    let mut notes = Vec::new();
    let adds_maxima = |tariff: &Tariff| {
        let mut charges = tariff.demand.iter();
        charges.any(|charge| charge.measure.sum_of_maxima)
    };
    let (mut shifted, mut corrected) = (Vec::new(), None);
    if !usage.meter_blocks.is_empty() && terms.tariffs.iter().any(adds_maxima) {
        notes.push(
            "Shifted load and capacitors are not tried: demand is the sum of the maxima of several meters, and it is not known at which they would be."
                .to_owned(),
        );
    } else {
        shifted = shifts(terms, usage, &year, before, trial.shift_kw, &mut notes);
        corrected = correction(terms, usage, &year, before, trial, &mut notes);
    }
    notes.push(PHASE_MOVES.to_owned());
    Some(WhatIf {
        currency: terms.currency.map(ToOwned::to_owned),
        from: year.from,
        to: year.to,
        capacity: least_capacity(terms, usage, &year),
        tariffs,
        shifts: shifted,
        correction: corrected,
        notes,
    })
}
