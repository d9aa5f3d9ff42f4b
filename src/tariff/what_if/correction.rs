//! What capacitors that lift the power factor would have saved.

use electrical::{CAPACITOR_CAUTION, PowerFactor, correction_power};
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

use super::WhatIfTrial;
use super::billed_year::BilledYear;
use crate::bill_line::LineKind;
use crate::demand_unit::DemandUnit;
use crate::reactive_charge::ReactiveFlow;
use crate::tariff::Tariff;
use crate::terms::Terms;
use crate::usage::{Usage, UsageBlock};
use units::Watts;

/// So many sizes are tried at most.
const MOST_STEPS: u32 = 500;

/// Capacitors in steps that are switched as the load needs them.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct CorrectionChoice {
    /// What they have to reach, one sentence.
    pub aim: String,
    /// Capacitors that reach it, in whole steps. (kvar)
    pub kvar: f64,
    /// Size of a step. (kvar)
    pub kvar_step: f64,
    /// The bill with them.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub total: Decimal,
    /// Less on the bill; negative: more.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub saving: Decimal,
    /// Caution before capacitors are connected.
    pub caution: &'static str,
}

/// The smallest bank with which no billing period of the year is charged for lagging reactive energy or a low power factor;
/// where only apparent power has a price, the one that lifts its maximum to the target.
pub(super) fn correction(
    terms: &Terms<'_>,
    usage: &Usage,
    year: &BilledYear,
    before: Decimal,
    trial: &WhatIfTrial,
    notes: &mut Vec<String>,
) -> Option<CorrectionChoice> {
    let limits = limits(terms.tariffs);
    if limits.is_empty() && !terms.tariffs.iter().any(prices_apparent_power) {
        notes.push(
            "Capacitors save nothing on this bill: no price goes by reactive or apparent power."
                .to_owned(),
        );
        return None;
    }
    if usage
        .quarters
        .iter()
        .all(|quarter| quarter.lagging_kvarh.is_none())
    {
        notes.push("Capacitors are not tried: the meter does not log reactive energy.".to_owned());
        return None;
    }
    let step = trial.kvar_step;
    let (steps, aim) = if limits.is_empty() {
        let target = trial.target_power_factor;
        let aim = format!("a power factor of {target} at the maximum demand in kVA");
        (steps_at_maximum(&usage.blocks, target, step)?, aim)
    } else {
        let aim = format!("no charge in any billing period: {}", limits.join(", "));
        let Some(steps) = steps_without_charge(terms, usage, year, step) else {
            notes.push(
                "Capacitors are not sized: no bank that is switched as the load needs it avoids every charge for a low power factor, \
                 since leading energy counts as well. Look at what leads first."
                    .to_owned(),
            );
            return None;
        };
        (steps, aim)
    };
    if steps == 0 {
        notes.push(format!(
            "Capacitors save nothing on this bill: it has {aim} already."
        ));
        return None;
    }
    let kvar = f64::from(steps) * step;
    let total = year.total(terms, &with_capacitors(usage, kvar));
    if total == before {
        notes.push(format!(
            "Capacitors of {kvar} kvar, which give {aim}, save nothing on this bill."
        ));
        return None;
    }
    Some(CorrectionChoice {
        aim,
        kvar,
        kvar_step: step,
        total,
        saving: before - total,
        caution: CAPACITOR_CAUTION,
    })
}

/// What the contract allows without a charge, in words.
fn limits(tariffs: &[Tariff]) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let mut add = |limit: String| {
        if !found.contains(&limit) {
            found.push(limit);
        }
    };
    for tariff in tariffs {
        if let Some(charge) = &tariff.power_factor {
            add(format!("power factor {} or more", charge.below.normalize()));
        }
        let charges = tariff.reactive.iter();
        for charge in charges.filter(|charge| charge.flow != ReactiveFlow::Leading) {
            let free = charge.steps.first().map(|step| step.above_share);
            add(format!(
                "up to {} kvarh for each kWh",
                free.unwrap_or_default().normalize()
            ));
        }
    }
    found
}

fn prices_apparent_power(tariff: &Tariff) -> bool {
    let mut charges = tariff.demand.iter();
    let by_kva = charges.any(|charge| charge.measure.per == DemandUnit::KilovoltAmpere);
    let excess = tariff
        .capacity
        .as_ref()
        .is_some_and(|capacity| capacity.excess.is_some());
    by_kva || excess || tariff.by_kvah
}

/// What the meter would have seen with capacitors that never over-correct.
fn with_capacitors(usage: &Usage, kvar: f64) -> Usage {
    let mut usage = usage.clone();
    for quarter in &mut usage.quarters {
        let supplied = kvar * quarter.covered_s / 3600.0;
        let lagging = quarter.lagging_kvarh;
        quarter.lagging_kvarh = lagging.map(|kvarh| (kvarh - supplied).max(0.0));
    }
    for block in &mut usage.blocks {
        if let Some(own) = block.kvar.filter(|own| *own > 0.0) {
            let left = (own - kvar).max(0.0);
            block.kvar = Some(left);
            block.kva = Some(left.hypot(block.kw));
        }
    }
    usage
}

/// The fewest steps with which nothing lagging is charged; `None` where there are none, as leading energy may be charged too.
fn steps_without_charge(
    terms: &Terms<'_>,
    usage: &Usage,
    year: &BilledYear,
    step: f64,
) -> Option<u32> {
    let mut tariffs = terms.tariffs.to_vec();
    for tariff in &mut tariffs {
        tariff
            .reactive
            .retain(|charge| charge.flow != ReactiveFlow::Leading);
    }
    let terms = Terms {
        tariffs: &tariffs,
        ..*terms
    };
    let is_charged = |steps: u32| {
        let sums = year.sums(&terms, &with_capacitors(usage, f64::from(steps) * step));
        let mut lines = year.lines_of(&terms, &sums);
        lines.any(|line| line.kind == LineKind::Reactive && !line.amount.is_zero())
    };
    let of_quarters = usage
        .quarters
        .iter()
        .filter_map(|quarter| Some(quarter.lagging_kvarh? * 3600.0 / quarter.covered_s.max(1.0)));
    let most = of_quarters.fold(0.0, f64::max);
    let (mut charged, mut free) = (0, (most / step).ceil() as u32);
    if !is_charged(charged) {
        return Some(0);
    }
    // Where the largest bank is free of charge, a larger one never costs more; else each is tried.
    if is_charged(free) {
        return (1..free.min(MOST_STEPS)).find(|&steps| !is_charged(steps));
    }
    while free - charged > 1 {
        let middle = charged + (free - charged) / 2;
        if is_charged(middle) {
            charged = middle;
        } else {
            free = middle;
        }
    }
    Some(free)
}

/// Steps that lift the demand period of the largest kVA to the target; `None` where no kVA is known.
fn steps_at_maximum(blocks: &[UsageBlock], target: f64, step: f64) -> Option<u32> {
    let known = blocks.iter().filter(|block| block.kvar.is_some());
    let highest = known.max_by(|a, b| a.kva.unwrap_or(0.0).total_cmp(&b.kva.unwrap_or(0.0)))?;
    let (kw, kvar, kva) = (highest.kw, highest.kvar?, highest.kva?);
    if kvar <= 0.0 || kw <= 0.0 {
        return Some(0);
    }
    let now = PowerFactor::lagging((kw / kva).min(1.0)).ok()?;
    let needed = correction_power(
        Watts::from_kilo(kw),
        now,
        PowerFactor::lagging(target).ok()?,
    );
    // What rounding leaves of a whole number of steps asks for no further one.
    Some((needed.ok()?.kilo().max(0.0) / step - 1e-9).ceil().max(0.0) as u32)
}
