//! Energy, demand, currents and coverage of each meter, and unmetered energy.

use chrono_tz::Tz;

use demand::{AllLoads, EnergyResult, MeterEnergy, Reconciliation};
use tables::{Cell, PEOPLE, Table, columns, exact, number, words};
use units::FigureKind as Q;

/// One row per meter; times are shown in a zone.
#[must_use]
pub fn meters_table(result: &EnergyResult, zone: Tz) -> Table {
    let phase = |values: Option<[f64; 3]>, k: usize| values.map(|phases| phases[k]);
    columns! { m in &MeterEnergy;
        meter: words("Meter") => &m.id;
        measures: words("Measures") => &m.measures;
        from: words("From") => Cell::instant(m.from, &zone);
        to: words("To") => Cell::instant(m.to, &zone);
        interval_s: exact("Interval", "s") => m.interval_s;
        intervals: exact("Intervals", "") => m.intervals;
        coverage_pct: number("Coverage", Q::Percent) => m.coverage_pct;
        energy_kwh: number("Energy", Q::ActiveEnergy) => m.energy_kwh;
        energy_import_kwh: number("Import", Q::ActiveEnergy) => m.energy_import_kwh;
        energy_export_kwh: number("Export", Q::ActiveEnergy).optional() => m.energy_export_kwh.filter(|kwh| *kwh != 0.0);
        estimated_pct: number("Estimated", Q::Percent).optional() => m.estimated_pct;
        energy_l1_kwh: number("L1", Q::ActiveEnergy) => phase(m.energy_kwh_by_phase, 0);
        energy_l2_kwh: number("L2", Q::ActiveEnergy) => phase(m.energy_kwh_by_phase, 1);
        energy_l3_kwh: number("L3", Q::ActiveEnergy) => phase(m.energy_kwh_by_phase, 2);
        energy_kwh_as_logged: number("Energy as logged", Q::ActiveEnergy).optional() => m.energy_kwh_as_logged;
        register_energy_kwh: number("Energy by register", Q::ActiveEnergy) => m.register_energy_kwh;
        reactive_energy_import_kvarh: number("Reactive energy, lagging", Q::ReactiveEnergy) => m.reactive_energy_import_kvarh;
        reactive_energy_export_kvarh: number("Reactive energy, leading", Q::ReactiveEnergy) => m.reactive_energy_export_kvarh;
        max_demand_kw: number("Maximum demand", Q::ActivePower) => m.max_demand_kw;
        max_demand_kw_as_logged: number("Maximum demand as logged", Q::ActivePower).optional() => m.max_demand_kw_as_logged;
        max_demand_at: words("Start of its demand period") => m.max_demand_at;
        max_demand_kva: number("Maximum demand", Q::ApparentPower) => m.max_demand_kva;
        demand_window_min: exact("Demand period", "min") => m.demand_window_min;
        load_factor: number("Load factor", Q::Factor) => m.load_factor;
        power_factor: number("Power factor", Q::PowerFactor) => m.power_factor;
        neutral_rms_a: number("Neutral, rms", Q::Current) => m.neutral_rms_a;
        neutral_max_a: number("Neutral, max.", Q::Current) => m.neutral_max_a;
        neutral_rms_a_as_logged: number("Neutral as logged, rms", Q::Current).optional() => m.neutral_rms_a_as_logged;
        neutral_max_a_as_logged: number("Neutral as logged, max.", Q::Current).optional() => m.neutral_max_a_as_logged;
        neutral_computed_rms_a: number("Neutral computed, rms", Q::Current) => m.neutral_computed_rms_a;
        current_unbalance_mean_pct: number("Current unbalance, mean", Q::Percent) => m.current_unbalance_mean_pct;
        current_unbalance_p95_pct: number("Current unbalance, 95th percentile", Q::Percent) => m.current_unbalance_p95_pct;
        voltage_unbalance_p95_pct: number("Voltage unbalance, 95th percentile", Q::FinePercent) => m.voltage_unbalance_p95_pct;
        phase_max_l1_a: number("L1, max.", Q::Current).only(PEOPLE) => phase(m.phase_max_a, 0);
        phase_max_l2_a: number("L2, max.", Q::Current).only(PEOPLE) => phase(m.phase_max_a, 1);
        phase_max_l3_a: number("L3, max.", Q::Current).only(PEOPLE) => phase(m.phase_max_a, 2);
    }
    .table("meters", "Energy, demand and unbalance of each meter", &result.meters)
}

/// The same for terminal and page, where it is too wide for one table: energy and demand, currents and unbalance,
/// energy by phase and reactive energy. A meter without values for a table is left out of it.
#[must_use]
pub fn meter_parts(result: &EnergyResult) -> [Table; 3] {
    const ENERGY: [&str; 14] = [
        "meter",
        "measures",
        "energy_kwh",
        "energy_export_kwh",
        "estimated_pct",
        "energy_kwh_as_logged",
        "register_energy_kwh",
        "max_demand_kw",
        "max_demand_kw_as_logged",
        "max_demand_at",
        "max_demand_kva",
        "load_factor",
        "power_factor",
        "coverage_pct",
    ];
    const CURRENTS: [&str; 12] = [
        "meter",
        "phase_max_l1_a",
        "phase_max_l2_a",
        "phase_max_l3_a",
        "neutral_rms_a",
        "neutral_computed_rms_a",
        "neutral_max_a",
        "neutral_rms_a_as_logged",
        "neutral_max_a_as_logged",
        "current_unbalance_mean_pct",
        "current_unbalance_p95_pct",
        "voltage_unbalance_p95_pct",
    ];
    const PHASES: [&str; 6] = [
        "meter",
        "energy_l1_kwh",
        "energy_l2_kwh",
        "energy_l3_kwh",
        "reactive_energy_import_kvarh",
        "reactive_energy_export_kvarh",
    ];
    let all = meters_table(result, Tz::UTC);
    let says = |row: &[Cell]| row[1..].iter().any(Cell::is_known);
    let window = result
        .meters
        .first()
        .map_or(0, |meter| meter.demand_window_min);
    [
        all.part("Energy and demand", &ENERGY).with_method(format!(
            "demand periods of {window} min, aligned to the local clock; kVA = √(kWh² + kvarh²)/h"
        )),
        all.part("Currents and unbalance, from interval means", &CURRENTS)
            .only(says),
        all.part("Energy by phase and reactive energy", &PHASES)
            .only(says),
    ]
}

/// How much of the time each meter covers.
#[must_use]
pub fn coverage_table(result: &EnergyResult, zone: Tz) -> Table {
    let keys = [
        "meter",
        "from",
        "to",
        "interval_s",
        "intervals",
        "coverage_pct",
    ];
    meters_table(result, zone).part("Coverage of the logs (local time)", &keys)
}

/// One row per meter, as CSV.
///
/// # Errors
///
/// Those of the CSV writer, which writing to memory does not cause.
pub fn energy_csv(site: &str, result: &EnergyResult) -> Result<String, csv::Error> {
    meters_table(result, Tz::UTC).of_site(site).csv()
}

/// All loads together, where each has a meter and the supply none.
#[must_use]
pub fn all_loads_table(result: &EnergyResult, zone: Tz) -> Table {
    let rows: Vec<&AllLoads> = result.all_loads.iter().collect();
    columns! { all in &AllLoads;
        meters: exact("Meters", "") => all.meters;
        from: words("From") => Cell::instant(all.from, &zone);
        to: words("To") => Cell::instant(all.to, &zone);
        energy_kwh: number("Energy", Q::ActiveEnergy) => all.energy_kwh;
        max_demand_kw: number("Maximum demand", Q::ActivePower) => all.max_demand_kw;
        max_demand_at: words("Start of its demand period") => all.max_demand_at;
        load_factor: number("Load factor", Q::Factor) => all.load_factor;
    }
    .table("all_loads", "All loads together", rows)
    .with_method(
        "Sum of the meters of all listed loads; the supply has no meter of its own. Loads that are not listed and losses \
         in cables are not in it. The maximum demand is that of the demand periods for which every meter has readings.",
    )
}

/// Unmetered energy: a meter less its sub-meters.
#[must_use]
pub fn unmetered_table(result: &EnergyResult) -> Table {
    columns! { entry in &Reconciliation;
        main: words("Main meter") => &entry.main;
        submeters: words("Sub-meters") => entry.submeters.join(", ");
        unmetered_kwh: number("Unmetered energy", Q::ActiveEnergy) => entry.unmetered_kwh;
        unmetered_pct: number("Share of the main meter", Q::Percent) => entry.unmetered_pct;
    }
    .table("unmetered", "Unmetered energy", &result.reconciliation)
}
