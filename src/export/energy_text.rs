//! Energy and demand as text for a terminal.

use std::fmt::Write;

use super::bill_text::bill_text;
use super::carbon::carbon_text;
use super::text_table::{Side, plain, table};
use demand::{EnergyResult, MeterEnergy};
use site::Site;
use units::{format_kwh, format_percent, or_dash};

/// All meters.
#[must_use]
pub fn energy_text(site: &Site, result: &EnergyResult) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "{}: times are {}", plain(&site.name), site.timezone);
    if result.meters.is_empty() {
        text.push_str("\nNo meter has a log.\n");
    }
    if let Some(since) = &result.since {
        text.push_str(&super::since_text::since_text(since));
    }
    energies(&mut text, result);
    currents(&mut text, result);
    remainders(&mut text, result);
    if let Some(bill) = &result.cost {
        text.push_str(&bill_text(bill));
    }
    if let Some(carbon) = &result.carbon {
        text.push_str(&carbon_text(carbon));
    }
    text.push_str(&super::study_text::study_text(result));
    text.push_str(&super::baseline_text::baseline_text(&result.change));
    quality(&mut text, site, result);
    if !result.notes.is_empty() {
        text.push_str("\nNotes\n");
        for note in &result.notes {
            let _ = writeln!(text, "  - {}", plain(note));
        }
    }
    text
}

fn fixed(value: Option<f64>, decimals: usize) -> String {
    or_dash(value, |value| units::fixed(value, decimals))
}

fn energies(text: &mut String, result: &EnergyResult) {
    let Some(first) = result.meters.first() else {
        return;
    };
    let _ = writeln!(
        text,
        "\nEnergy and demand (blocks of {} min aligned to the local clock; kVA = √(kWh² + kvarh²)/h)",
        first.demand_window_min
    );
    let rows: Vec<Vec<String>> = result.meters.iter().map(energy_row).collect();
    text.push_str(&table(
        &[
            ("meter", Side::Left),
            ("measures", Side::Left),
            ("energy", Side::Right),
            ("register", Side::Right),
            ("max (kW)", Side::Right),
            ("at", Side::Left),
            ("max (kVA)", Side::Right),
            ("load factor", Side::Right),
            ("power factor", Side::Right),
            ("coverage", Side::Right),
        ],
        &rows,
    ));
}

fn energy_row(meter: &MeterEnergy) -> Vec<String> {
    vec![
        meter.id.clone(),
        meter.measures.clone(),
        or_dash(meter.energy_kwh, format_kwh),
        or_dash(meter.register_energy_kwh, format_kwh),
        fixed(meter.max_demand_kw, 2),
        meter.max_demand_at.map_or("–".to_owned(), |at| {
            at.format("%Y-%m-%d %H:%M").to_string()
        }),
        fixed(meter.max_demand_kva, 2),
        fixed(meter.load_factor, 3),
        fixed(meter.power_factor, 3),
        format_percent(meter.coverage_pct),
    ]
}

fn currents(text: &mut String, result: &EnergyResult) {
    let rows: Vec<Vec<String>> = result
        .meters
        .iter()
        .filter(|meter| meter.phase_max_a.is_some())
        .map(|meter| {
            let phase = |index: usize| fixed(meter.phase_max_a.map(|phases| phases[index]), 1);
            vec![
                meter.id.clone(),
                phase(0),
                phase(1),
                phase(2),
                fixed(meter.neutral_rms_a, 1),
                fixed(meter.neutral_computed_rms_a, 1),
                fixed(meter.neutral_max_a, 1),
                fixed(meter.current_unbalance_mean_pct, 1),
                fixed(meter.current_unbalance_p95_pct, 1),
                fixed(meter.voltage_unbalance_p95_pct, 2),
            ]
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    text.push_str("\nCurrents (A, of interval means) and unbalance (%)\n");
    text.push_str(&table(
        &[
            ("meter", Side::Left),
            ("L1 max", Side::Right),
            ("L2 max", Side::Right),
            ("L3 max", Side::Right),
            ("N rms", Side::Right),
            ("N computed", Side::Right),
            ("N max", Side::Right),
            ("current, mean", Side::Right),
            ("current, p95", Side::Right),
            ("voltage, p95", Side::Right),
        ],
        &rows,
    ));
}

fn remainders(text: &mut String, result: &EnergyResult) {
    for entry in &result.reconciliation {
        let _ = writeln!(
            text,
            "\nBelow {}: {} of it is not seen by {} ({})",
            plain(&entry.main),
            format_kwh(entry.unmetered_kwh),
            plain(&entry.submeters.join(", ")),
            or_dash(entry.unmetered_pct, format_percent),
        );
    }
}

fn quality(text: &mut String, site: &Site, result: &EnergyResult) {
    let rows: Vec<Vec<String>> = result
        .meters
        .iter()
        .flat_map(|meter| {
            meter.quality.iter().map(|entry| {
                let first = entry.first.map_or(String::new(), |at| {
                    at.with_timezone(&site.timezone)
                        .format("%Y-%m-%d %H:%M")
                        .to_string()
                });
                vec![
                    meter.id.clone(),
                    entry.kind.clone(),
                    entry.count.to_string(),
                    first,
                    entry.lines(),
                    or_dash(entry.effect_kwh, |kwh| units::signed(kwh, 1)),
                    entry.note.clone(),
                ]
            })
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    text.push_str("\nOddities of the logs\n");
    text.push_str(&table(
        &[
            ("meter", Side::Left),
            ("kind", Side::Left),
            ("count", Side::Right),
            ("first", Side::Left),
            ("lines", Side::Left),
            ("effect (kWh)", Side::Right),
            ("what was done", Side::Left),
        ],
        &rows,
    ));
}
