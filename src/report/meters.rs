//! Energy, unmetered remainder and data quality of the meters.

use chrono_tz::Tz;

use super::format::{UNKNOWN, fixed_moment, kwh, moment, number, optional, percent};
use super::table::Table;
use demand::{EnergyResult, MeterEnergy};

pub(super) fn energy_table(energy: &EnergyResult) -> Table {
    let rows = energy.meters.iter().map(energy_row).collect();
    let head = [
        "Meter",
        "Measures",
        "#Energy [kWh]",
        "#Maximum demand [kW]",
        "Block of the maximum (local time)",
        "#Maximum demand [kVA]",
        "#Load factor",
        "#Power factor",
        "#Neutral, rms [A]",
        "#Coverage [%]",
    ];
    Table::new("Energy and demand by meter", &head, rows)
}

fn energy_row(meter: &MeterEnergy) -> Vec<String> {
    let when = meter.max_demand_at.map_or_else(
        || UNKNOWN.to_owned(),
        |at| {
            format!(
                "{}\u{A0}({}\u{A0}min)",
                fixed_moment(at),
                meter.demand_window_min
            )
        },
    );
    vec![
        meter.id.clone(),
        meter.measures.clone(),
        meter.energy_kwh.map_or_else(|| UNKNOWN.to_owned(), kwh),
        optional(meter.max_demand_kw, 1),
        when,
        optional(meter.max_demand_kva, 1),
        optional(meter.load_factor, 2),
        optional(meter.power_factor, 3),
        optional(meter.neutral_rms_a, 1),
        number(meter.coverage_pct, 1),
    ]
}

/// Energy of each phase, registers, reactive energy and unbalance: what the first table has no room for.
pub(super) fn more_table(energy: &EnergyResult) -> Table {
    let rows = energy
        .meters
        .iter()
        .map(|meter| {
            let phase = |one: usize| {
                meter
                    .energy_kwh_by_phase
                    .map_or_else(|| UNKNOWN.to_owned(), |kwhs| kwh(kwhs[one]))
            };
            let kwh_or = |value: Option<f64>| value.map_or_else(|| UNKNOWN.to_owned(), kwh);
            vec![
                meter.id.clone(),
                phase(0),
                phase(1),
                phase(2),
                kwh_or(meter.register_energy_kwh),
                kwh_or(meter.reactive_energy_import_kvarh),
                kwh_or(meter.reactive_energy_export_kvarh),
                optional(meter.current_unbalance_mean_pct, 1),
                optional(meter.current_unbalance_p95_pct, 1),
                optional(meter.voltage_unbalance_p95_pct, 2),
            ]
        })
        .collect();
    let head = [
        "Meter",
        "#L1 [kWh]",
        "#L2 [kWh]",
        "#L3 [kWh]",
        "#By its register [kWh]",
        "#Reactive, lagging [kvarh]",
        "#Reactive, leading [kvarh]",
        "#Current unbalance, mean [%]",
        "#Current unbalance, 95th percentile [%]",
        "#Voltage unbalance, 95th percentile [%]",
    ];
    Table::new(
        "Phases, registers, reactive energy and unbalance by meter",
        &head,
        rows,
    )
}

pub(super) fn remainder_table(energy: &EnergyResult) -> Table {
    let rows = energy
        .reconciliation
        .iter()
        .map(|part| {
            vec![
                part.main.clone(),
                part.submeters.join(", "),
                kwh(part.unmetered_kwh),
                part.unmetered_pct
                    .map_or_else(|| UNKNOWN.to_owned(), percent),
            ]
        })
        .collect();
    let head = [
        "Meter above",
        "Meters below it",
        "#Seen above only [kWh]",
        "#Share of the meter above",
    ];
    Table::new("What the meters below do not see", &head, rows)
}

pub(super) fn quality_table(energy: &EnergyResult, zone: Tz) -> Table {
    let time = |at: Option<_>| at.map_or_else(|| UNKNOWN.to_owned(), |at| moment(at, zone));
    let rows = energy
        .meters
        .iter()
        .flat_map(|meter| {
            meter.quality.iter().map(move |entry| {
                vec![
                    meter.id.clone(),
                    entry.kind.replace('-', " "),
                    number(entry.count as f64, 0),
                    time(entry.first),
                    time(entry.last),
                    entry.lines(),
                    entry
                        .effect_kwh
                        .map_or_else(|| UNKNOWN.to_owned(), signed_kwh),
                    entry.note.clone(),
                ]
            })
        })
        .collect();
    let head = [
        "Meter",
        "What",
        "#Count",
        "First",
        "Last",
        "Lines",
        "#Changes the energy by [kWh]",
        "What was done with it",
    ];
    Table::new("Oddities in the logs", &head, rows)
}

/// Energy with its sign.
fn signed_kwh(energy: f64) -> String {
    if energy > 0.0 {
        format!("+{}", kwh(energy))
    } else {
        kwh(energy)
    }
}

/// How much of the period each meter covers.
pub(super) fn coverage_table(energy: &EnergyResult, zone: Tz) -> Table {
    let rows = energy
        .meters
        .iter()
        .map(|meter| {
            vec![
                meter.id.clone(),
                moment(meter.from, zone),
                moment(meter.to, zone),
                super::format::duration(u64::from(meter.interval_s)),
                number(meter.intervals as f64, 0),
                number(meter.coverage_pct, 1),
            ]
        })
        .collect();
    let head = [
        "Meter",
        "From",
        "To",
        "#Interval",
        "#Intervals with readings",
        "#Coverage [%]",
    ];
    Table::new("What the logs cover (local time)", &head, rows)
}
