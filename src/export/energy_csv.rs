//! Energy and demand as CSV: one row per meter.

use super::csv_table::{csv_text, number, text};
use crate::demand::EnergyResult;

/// One row per meter.
///
/// # Errors
///
/// Those of the CSV writer, which memory does not provoke.
pub fn energy_csv(result: &EnergyResult) -> Result<String, csv::Error> {
    let header = [
        "meter",
        "measures",
        "from",
        "to",
        "interval_s",
        "intervals",
        "coverage_pct",
        "energy_kwh",
        "energy_l1_kwh",
        "energy_l2_kwh",
        "energy_l3_kwh",
        "register_energy_kwh",
        "reactive_energy_import_kvarh",
        "reactive_energy_export_kvarh",
        "max_demand_kw",
        "max_demand_at",
        "max_demand_kva",
        "demand_window_min",
        "load_factor",
        "power_factor",
        "neutral_rms_a",
        "neutral_max_a",
        "neutral_computed_rms_a",
        "current_unbalance_mean_pct",
        "current_unbalance_p95_pct",
        "voltage_unbalance_p95_pct",
    ];
    let rows: Vec<Vec<String>> = result
        .meters
        .iter()
        .map(|meter| {
            let phase =
                |index: usize| number(meter.energy_kwh_by_phase.map(|phases| phases[index]));
            vec![
                text(&meter.id),
                text(&meter.measures),
                meter.from.format("%Y-%m-%dT%H:%M:%SZ").to_string(),
                meter.to.format("%Y-%m-%dT%H:%M:%SZ").to_string(),
                meter.interval_s.to_string(),
                meter.intervals.to_string(),
                number(Some(meter.coverage_pct)),
                number(meter.energy_kwh),
                phase(0),
                phase(1),
                phase(2),
                number(meter.register_energy_kwh),
                number(meter.reactive_energy_import_kvarh),
                number(meter.reactive_energy_export_kvarh),
                number(meter.max_demand_kw),
                meter
                    .max_demand_at
                    .map(|at| at.to_rfc3339())
                    .unwrap_or_default(),
                number(meter.max_demand_kva),
                meter.demand_window_min.to_string(),
                number(meter.load_factor),
                number(meter.power_factor),
                number(meter.neutral_rms_a),
                number(meter.neutral_max_a),
                number(meter.neutral_computed_rms_a),
                number(meter.current_unbalance_mean_pct),
                number(meter.current_unbalance_p95_pct),
                number(meter.voltage_unbalance_p95_pct),
            ]
        })
        .collect();
    csv_text(&header, &rows)
}
