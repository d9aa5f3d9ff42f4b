//! The table `meters`.

use super::{Analysed, flags, moments, utc, utc_of};
use crate::supply::counted_ids;
use demand::{BaseLoad, MeterEnergy};
use tables::{Cell, Table, columns, exact, number, words};
use units::FigureKind as Q;

/// A row for each meter with readings.
pub(super) fn meters(found: &Analysed<'_>) -> Table {
    let counted = counted_ids(&found.energy.meters);
    let base_load = |meter: &MeterEnergy| {
        let all = found.energy.study.base_load.iter();
        all.clone().find(|base| base.meter == meter.id)
    };
    let rows = found.energy.meters.iter().map(|meter| {
        let of_supply = counted.contains(&meter.id.as_str());
        (meter, base_load(meter), of_supply)
    });
    let phase = |meter: &MeterEnergy, at: usize| meter.phase_max_a.map(|phases| phases[at]);
    columns! { (m, base, of_supply) in (&MeterEnergy, Option<&BaseLoad>, bool);
        meter: words("Meter") => &m.id;
        measures: words("Measures") => &m.measures;
        of_supply: flags("Part of the site's energy") => of_supply;
        from: moments("Readings from, UTC") => utc(m.from);
        to: moments("Readings to, UTC") => utc(m.to);
        interval_s: exact("Interval", "s") => m.interval_s;
        demand_window_min: exact("Demand period", "min") => m.demand_window_min;
        energy_kwh: number("Net energy", Q::ActiveEnergy) => m.energy_kwh;
        energy_kwh_as_logged: number("Net energy as logged", Q::ActiveEnergy) => m.energy_kwh_as_logged;
        energy_import_kwh: number("Energy imported", Q::ActiveEnergy) => m.energy_import_kwh;
        energy_export_kwh: number("Energy exported", Q::ActiveEnergy) => m.energy_export_kwh;
        reactive_energy_import_kvarh: number("Reactive energy imported", Q::ReactiveEnergy)
            => m.reactive_energy_import_kvarh;
        reactive_energy_export_kvarh: number("Reactive energy exported", Q::ReactiveEnergy)
            => m.reactive_energy_export_kvarh;
        max_demand_kw: number("Maximum demand", Q::ActivePower) => m.max_demand_kw;
        max_demand_kw_as_logged: number("Maximum demand as logged", Q::ActivePower) => m.max_demand_kw_as_logged;
        max_demand_at: moments("Start of its demand period, UTC") => m.max_demand_at.map_or(Cell::Unknown, utc_of);
        max_demand_kva: number("Maximum demand", Q::ApparentPower) => m.max_demand_kva;
        load_factor: number("Load factor", Q::Factor) => m.load_factor;
        power_factor: number("Power factor", Q::PowerFactor) => m.power_factor;
        base_load_kw: number("Base load", Q::ActivePower) => base.map(|base| base.base_load_kw);
        base_load_share_pct: number("Base load as a share of the energy", Q::Percent)
            => base.and_then(|base| base.base_load_share_pct);
        out_of_hours_pct: number("Energy out of hours", Q::Percent) => base.and_then(|base| base.out_of_hours_pct);
        neutral_rms_a: number("Neutral, rms", Q::Current) => m.neutral_rms_a;
        neutral_max_a: number("Neutral, maximum", Q::Current) => m.neutral_max_a;
        phase_max_a_l1: number("L1, maximum", Q::Current) => phase(m, 0);
        phase_max_a_l2: number("L2, maximum", Q::Current) => phase(m, 1);
        phase_max_a_l3: number("L3, maximum", Q::Current) => phase(m, 2);
        current_unbalance_mean_pct: number("Current unbalance, mean", Q::Percent) => m.current_unbalance_mean_pct;
        voltage_unbalance_p95_pct: number("Voltage unbalance, 95th percentile", Q::FinePercent)
            => m.voltage_unbalance_p95_pct;
        coverage_pct: number("Coverage", Q::Percent) => m.coverage_pct;
    }
    .table("meters", "Meters", rows)
}
