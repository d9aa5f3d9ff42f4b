//! The main figures of a site.

use chrono::NaiveDate;
use rust_decimal::prelude::ToPrimitive;

use super::Analysed;
use crate::site_row::SiteRow;
use crate::supply::{counted, highest_together, sum};
use crate::weeks::day_mean;
use demand::MeterEnergy;
use electrical::is_above_limit;
use finding::Severity;
use site::Node;

/// The row of a site that was analysed; its problems are counted elsewhere.
pub(super) fn site_row(found: &Analysed<'_>) -> SiteRow {
    let (site, energy) = (found.site, found.energy);
    let meters = counted(&energy.meters);
    let one = match meters[..] {
        [one] => Some(one),
        _ => None,
    };
    let of_supply = energy
        .meters
        .iter()
        .find(|meter| meter.measures == "supply");
    let currents = one.or(of_supply.filter(|_| meters.is_empty()));
    let declared = site.supply.declared;
    let phase_limit_a = site.phase_limit_a(Node::Supply).filter(|_| declared);
    let phases = currents.and_then(|meter| meter.phase_max_a);
    let over = phases.zip(phase_limit_a).map(|(phases, limit)| {
        let over = phases.iter().filter(|&&value| is_above_limit(value, limit));
        over.count() as f64
    });
    let of_kind = |severity: Severity| {
        let counts =
            |finding: &&finding::Finding| finding.severity == severity && !finding.accepted;
        let findings = &found.diagnosis?.findings;
        Some(findings.iter().filter(counts).count() as f64)
    };
    let base_load = energy.study.base_load.iter();
    let base_load = one.and_then(|one| base_load.clone().find(|base| base.meter == one.id));
    let carbon = |meter: &MeterEnergy| {
        let carbon = energy.carbon.as_ref()?;
        let own = carbon.meters.iter().find(|own| own.meter == meter.id)?;
        (own.without_factor_kwh <= 0.0).then_some(own.carbon_kg)
    };
    let mean = one.and_then(|one| day_mean(&one.trace.days));
    let plan = found.plan;
    let bill = energy.cost.as_ref();
    SiteRow {
        name: Some(site.name.clone()),
        from: meters.iter().map(|meter| meter.from).min().map(in_utc),
        to: meters.iter().map(|meter| meter.to).max().map(in_utc),
        demand_window_min: meters
            .first()
            .map(|meter| f64::from(meter.demand_window_min)),
        supply_meters: Some(meters.len() as f64),
        energy_import_kwh: sum(&meters, |meter| meter.energy_import_kwh)
            .or_else(|| of_supply.and_then(|meter| meter.energy_import_kwh)),
        energy_export_kwh: sum(&meters, |meter| meter.energy_export_kwh),
        day_mean_kwh: mean.map(|mean| mean.kwh),
        day_mean_low_kwh: mean.and_then(|mean| mean.range_kwh).map(|range| range.0),
        day_mean_high_kwh: mean.and_then(|mean| mean.range_kwh).map(|range| range.1),
        max_demand_kw: match one {
            Some(one) => one.max_demand_kw,
            None => highest_together(&meters),
        },
        max_demand_kva: one.and_then(|one| one.max_demand_kva),
        agreed_capacity_kva: agreed_capacity_kva(found),
        load_factor: one.and_then(|one| one.load_factor),
        power_factor: one.and_then(|one| one.power_factor),
        base_load_kw: base_load.map(|base| base.base_load_kw),
        base_load_share_pct: base_load.and_then(|base| base.base_load_share_pct),
        out_of_hours_pct: base_load.and_then(|base| base.out_of_hours_pct),
        cost: bill.and_then(|bill| bill.total.to_f64()),
        currency: bill.and_then(|bill| bill.currency.clone()),
        carbon_kg: sum(&meters, carbon),
        dangers: of_kind(Severity::Danger),
        warnings: of_kind(Severity::Warning),
        notices: of_kind(Severity::Notice),
        neutral_rms_a: currents
            .and_then(|meter| meter.neutral_rms_a)
            .or_else(|| Some(plan?.before.as_ref()?.neutral_rms_a)),
        neutral_after_recommended_a: plan.map(|plan| plan.after.neutral_rms_a),
        recommended_moves: plan.map(|plan| plan.recommended_moves as f64),
        phase_max_a_l1: phases.map(|phases| phases[0]),
        phase_max_a_l2: phases.map(|phases| phases[1]),
        phase_max_a_l3: phases.map(|phases| phases[2]),
        phase_limit_a,
        overloaded_phases: over,
        data_coverage_pct: currents.map(|meter| meter.coverage_pct),
        ..SiteRow::of(found.entry)
    }
}

fn in_utc(at: chrono::DateTime<chrono::Utc>) -> String {
    at.format("%Y-%m-%dT%H:%M:%SZ").to_string()
}

/// What the latest tariff agrees on the last day of the readings. (kVA)
fn agreed_capacity_kva(found: &Analysed<'_>) -> Option<f64> {
    let charge = found.site.tariffs.last()?.capacity.as_ref()?;
    let last: Option<NaiveDate> = found
        .energy
        .meters
        .iter()
        .map(|meter| meter.to.date_naive())
        .max();
    charge.on(last?).to_f64()
}
