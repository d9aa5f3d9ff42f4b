//! Demand, diversity, base load, power factor and unmetered power as text for a terminal.

use std::fmt::Write;

use super::energy_tables::energy_tables;
use demand::EnergyResult;
use tables::{Cell, plain};
use units::{format_moment, format_number};

/// The tables for one reading; of the highest demand periods only those of main meters.
pub(super) fn study_text(result: &EnergyResult) -> String {
    let mut text = String::new();
    let mains = mains(result);
    let is_main =
        |row: &[Cell]| matches!(&row[0], Cell::Text(meter) if mains.contains(&meter.as_str()));
    for table in energy_tables(result) {
        match table.id {
            "highest-demand-periods" => {
                // The scheduled machines are a long list: `--table`, CSV and JSON have it.
                text.push_str(&table.only(is_main).without("scheduled").text());
                sliding(&mut text, result, &mains);
            }
            "diversity" | "base-load" | "power-factor" => text.push_str(&table.text()),
            _ => {}
        }
    }
    unmetered(&mut text, result);
    text
}

/// The supply's meter and those with sub-meters; the first meter where there is none.
fn mains(result: &EnergyResult) -> Vec<&str> {
    let is_main = |id: &str| {
        let mut above = result.reconciliation.iter();
        above.any(|entry| entry.main == id)
    };
    let mains: Vec<&str> = result
        .meters
        .iter()
        .filter(|meter| meter.measures == "supply" || is_main(&meter.id))
        .map(|meter| meter.id.as_str())
        .collect();
    if mains.is_empty() {
        return result
            .meters
            .iter()
            .take(1)
            .map(|meter| meter.id.as_str())
            .collect();
    }
    mains
}

fn sliding(text: &mut String, result: &EnergyResult, mains: &[&str]) {
    for study in &result.study.demand {
        let (Some(kw), Some(at)) = (study.sliding_max_kw, study.sliding_max_at) else {
            continue;
        };
        if mains.contains(&study.meter.as_str()) {
            let _ = writeln!(
                text,
                "  {}: sliding maximum {} kW over {} min, from {}",
                plain(&study.meter),
                format_number(kw, 2),
                study.demand_window_min,
                format_moment(at)
            );
        }
    }
}

fn unmetered(text: &mut String, result: &EnergyResult) {
    for entry in &result.study.unmetered {
        let below = match (entry.demand_periods_below_zero, entry.tolerance_max_kw) {
            (0, Some(_)) => "never below zero by more than the meter tolerance".to_owned(),
            (0, None) => "never below zero".to_owned(),
            (count, Some(_)) => {
                format!(
                    "below zero by more than the meter tolerance in {count} of {} demand periods",
                    entry.blocks
                )
            }
            (count, None) => format!("below zero in {count} of {} demand periods", entry.blocks),
        };
        let _ = writeln!(
            text,
            "\nUnmetered part of {}: {} to {} kW, {below}",
            plain(&entry.main),
            format_number(entry.lowest_kw, 2),
            format_number(entry.highest_kw, 2)
        );
        for clock in &entry.clocks {
            let side = if clock.ahead_min > 0.0 {
                "ahead of"
            } else {
                "behind"
            };
            let _ = writeln!(
                text,
                "  the clock of {} is {:.0} min {side} it; its readings are shifted to agree",
                plain(&clock.meter),
                clock.ahead_min.abs()
            );
        }
    }
}
