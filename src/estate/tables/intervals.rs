//! The tables `intervals` and `demand`: each meter by demand period.

use std::collections::BTreeMap;

use super::{Analysed, flags, moments, utc_s};
use crate::supply::counted_ids;
use demand::{MeterEnergy, Quarter, demand_periods};
use tables::{Table, columns, exact, number, words};
use units::FigureKind as Q;

/// What was measured in each demand period, be it complete or not.
pub(super) fn intervals(found: &Analysed<'_>) -> Table {
    let periods = |meter: &'_ MeterEnergy| {
        demand_periods(
            found.site.timezone,
            meter.demand_window_min,
            &meter.trace.quarters,
        )
    };
    let rows: Vec<(&str, Quarter)> = found
        .energy
        .meters
        .iter()
        .flat_map(|meter| {
            let id = meter.id.as_str();
            periods(meter).into_iter().map(move |period| (id, period))
        })
        .collect();
    let known = |kwh: f64, covered_s: f64| (covered_s > 0.0).then_some(kwh);
    columns! { (meter, period) in (&str, Quarter);
        meter: words("Meter") => meter;
        start: moments("Start, UTC") => utc_s(period.start_s);
        covered_s: exact("Time with readings", "s") => period.covered_s;
        energy_kwh: number("Net energy", Q::ActiveEnergy) => known(period.energy_kwh, period.covered_s);
        energy_import_kwh: number("Energy imported", Q::ActiveEnergy)
            => known(period.import_kwh, period.import_covered_s);
        energy_export_kwh: number("Energy exported", Q::ActiveEnergy) => known(period.export_kwh, period.covered_s);
        reactive_energy_kvarh: number("Net reactive energy", Q::ReactiveEnergy)
            => known(period.reactive_kvarh, period.reactive_covered_s);
    }
    .table("intervals", "Energy by demand period", rows)
}

/// Complete demand periods: those that can set a maximum.
pub(super) fn demand(found: &Analysed<'_>) -> Table {
    let counted = counted_ids(&found.energy.meters);
    let mut rows = Vec::new();
    for meter in &found.energy.meters {
        let zone = found.site.timezone;
        let periods = demand_periods(zone, meter.demand_window_min, &meter.trace.quarters);
        let periods: BTreeMap<i64, Quarter> = periods
            .into_iter()
            .map(|period| (period.start_s, period))
            .collect();
        let is_supply = counted.contains(&meter.id.as_str());
        let hours = f64::from(meter.demand_window_min) / 60.0;
        for block in meter.trace.blocks.iter() {
            let whole_s = hours * 3600.0 - 0.5;
            let period = periods.get(&block.start_s);
            let kvar = period.filter(|period| period.reactive_covered_s > whole_s);
            let kvar = kvar.map(|period| period.reactive_kvarh / hours);
            let powers = [Some(block.kw), kvar, block.kva];
            rows.push((meter.id.as_str(), is_supply, block.start_s, powers));
        }
    }
    columns! { (meter, is_supply, start_s, powers) in (&str, bool, i64, [Option<f64>; 3]);
        meter: words("Meter") => meter;
        start: moments("Start, UTC") => utc_s(start_s);
        kw: number("Demand", Q::ActivePower) => powers[0];
        kvar: number("Reactive power", Q::ReactivePower) => powers[1];
        kva: number("Demand", Q::ApparentPower) => powers[2];
        of_supply: flags("Part of the site's demand") => is_supply;
    }
    .table("demand", "Demand by complete demand period", rows)
}
