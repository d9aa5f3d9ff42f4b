//! Energy and demand of each meter: one declaration of the columns for CSV and workbook.

use chrono_tz::Tz;

use super::sheet::{Cell, Field, Sheet, field};
use demand::{EnergyResult, MeterEnergy};

/// A meter, and the zone that its times are shown in.
type Row<'r> = (&'r MeterEnergy, Tz);

/// One row per meter.
pub(super) fn meters_sheet(result: &EnergyResult, zone: Tz) -> Sheet {
    Sheet::of(
        "meters",
        "Energy, demand and unbalance of each meter",
        result.meters.iter().map(|meter| (meter, zone)),
        fields(),
    )
}

/// One row per meter, as CSV.
///
/// # Errors
///
/// Those of the CSV writer, which memory does not provoke.
pub fn energy_csv(result: &EnergyResult) -> Result<String, csv::Error> {
    // First and last reading are written in UTC, whatever the zone.
    meters_sheet(result, Tz::UTC).csv()
}

fn fields<'r>() -> Vec<Field<Row<'r>>> {
    let mut fields = extent();
    fields.extend(energies());
    fields.extend(demands());
    fields.extend(currents());
    fields
}

fn extent<'r>() -> Vec<Field<Row<'r>>> {
    vec![
        field("meter", "meter", 0, |(meter, _)| meter.id.as_str().into()),
        field("measures", "measures", 0, |(meter, _)| {
            meter.measures.as_str().into()
        }),
        field("from", "from", 0, |(meter, zone)| {
            Cell::Instant(meter.from.with_timezone(zone).fixed_offset())
        }),
        field("to", "to", 0, |(meter, zone)| {
            Cell::Instant(meter.to.with_timezone(zone).fixed_offset())
        }),
        field("interval_s", "interval (s)", 0, |(meter, _)| {
            f64::from(meter.interval_s).into()
        }),
        field("intervals", "intervals", 0, |(meter, _)| {
            meter.intervals.into()
        }),
        field("coverage_pct", "coverage (%)", 1, |(meter, _)| {
            meter.coverage_pct.into()
        }),
    ]
}

fn of_phase(meter: &MeterEnergy, index: usize) -> Cell {
    meter.energy_kwh_by_phase.map(|phases| phases[index]).into()
}

fn energies<'r>() -> Vec<Field<Row<'r>>> {
    vec![
        field("energy_kwh", "energy (kWh)", 2, |(meter, _)| {
            meter.energy_kwh.into()
        }),
        field("energy_l1_kwh", "energy L1 (kWh)", 2, |(meter, _)| {
            of_phase(meter, 0)
        }),
        field("energy_l2_kwh", "energy L2 (kWh)", 2, |(meter, _)| {
            of_phase(meter, 1)
        }),
        field("energy_l3_kwh", "energy L3 (kWh)", 2, |(meter, _)| {
            of_phase(meter, 2)
        }),
        field(
            "register_energy_kwh",
            "by its register (kWh)",
            2,
            |(meter, _)| meter.register_energy_kwh.into(),
        ),
        field(
            "reactive_energy_import_kvarh",
            "reactive, lagging (kvarh)",
            2,
            |(meter, _)| meter.reactive_energy_import_kvarh.into(),
        ),
        field(
            "reactive_energy_export_kvarh",
            "reactive, leading (kvarh)",
            2,
            |(meter, _)| meter.reactive_energy_export_kvarh.into(),
        ),
    ]
}

fn demands<'r>() -> Vec<Field<Row<'r>>> {
    vec![
        field("max_demand_kw", "maximum demand (kW)", 2, |(meter, _)| {
            meter.max_demand_kw.into()
        }),
        field("max_demand_at", "block begins", 0, |(meter, _)| {
            meter.max_demand_at.into()
        }),
        field("max_demand_kva", "maximum demand (kVA)", 2, |(meter, _)| {
            meter.max_demand_kva.into()
        }),
        field("demand_window_min", "block (min)", 0, |(meter, _)| {
            f64::from(meter.demand_window_min).into()
        }),
        field("load_factor", "load factor", 3, |(meter, _)| {
            meter.load_factor.into()
        }),
        field("power_factor", "power factor", 3, |(meter, _)| {
            meter.power_factor.into()
        }),
    ]
}

fn currents<'r>() -> Vec<Field<Row<'r>>> {
    vec![
        field("neutral_rms_a", "neutral, rms (A)", 1, |(meter, _)| {
            meter.neutral_rms_a.into()
        }),
        field("neutral_max_a", "neutral, largest (A)", 1, |(meter, _)| {
            meter.neutral_max_a.into()
        }),
        field(
            "neutral_computed_rms_a",
            "neutral computed, rms (A)",
            1,
            |(meter, _)| meter.neutral_computed_rms_a.into(),
        ),
        field(
            "current_unbalance_mean_pct",
            "current unbalance, mean (%)",
            1,
            |(meter, _)| meter.current_unbalance_mean_pct.into(),
        ),
        field(
            "current_unbalance_p95_pct",
            "current unbalance, p95 (%)",
            1,
            |(meter, _)| meter.current_unbalance_p95_pct.into(),
        ),
        field(
            "voltage_unbalance_p95_pct",
            "voltage unbalance, p95 (%)",
            2,
            |(meter, _)| meter.voltage_unbalance_p95_pct.into(),
        ),
    ]
}
