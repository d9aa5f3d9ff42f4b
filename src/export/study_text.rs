//! What sets the demand and what runs when nobody is there, as text for a terminal.

use std::fmt::Write;

use super::energy_sheets::energy_sheets;
use super::sheet::{Cell, Sheet};
use super::text_table::plain;
use demand::EnergyResult;

/// The tables that a person reads in one go: the highest blocks of the meters that others are below only.
pub(super) fn study_text(result: &EnergyResult) -> String {
    let mut text = String::new();
    let mains = mains(result);
    let is_main = |row: &[Cell]| match &row[0] {
        Cell::Text(meter) => mains.contains(&meter.as_str()),
        _ => false,
    };
    for sheet in energy_sheets(result) {
        match sheet.name {
            "highest-blocks" => {
                text.push_str(&folded(without_last(sheet.only(is_main))));
                sliding(&mut text, result, &mains);
            }
            "diversity" | "standing-load" | "power-factor" => text.push_str(&folded(sheet)),
            _ => {}
        }
    }
    remainders(&mut text, result);
    text
}

/// What was only scheduled is a long list; the table alone, CSV and JSON have it.
fn without_last(mut sheet: Sheet) -> Sheet {
    sheet.columns.pop();
    for row in &mut sheet.rows {
        row.pop();
    }
    sheet
}

/// The explanation of a long title on lines of its own.
pub(super) fn folded(mut sheet: Sheet) -> String {
    let (title, method) = sheet.title_and_method();
    if !method.is_empty() {
        sheet.title = format!("{title}\n  {method}");
    }
    sheet.text()
}

/// The supply's meter and those with meters below them; the first meter where there is none.
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
                "  {}: {kw:.2} kW over any {} min, from {}",
                plain(&study.meter),
                study.demand_window_min,
                at.format("%a %Y-%m-%d %H:%M")
            );
        }
    }
}

fn remainders(text: &mut String, result: &EnergyResult) {
    for entry in &result.study.remainder {
        let below = match (entry.blocks_below_zero, entry.tolerance_max_kw) {
            (0, Some(_)) => "never below zero beyond the accuracy classes".to_owned(),
            (0, None) => "never below zero".to_owned(),
            (count, Some(_)) => {
                format!(
                    "below zero beyond the accuracy classes in {count} of {} blocks",
                    entry.blocks
                )
            }
            (count, None) => format!("below zero in {count} of {} blocks", entry.blocks),
        };
        let _ = writeln!(
            text,
            "\nNot seen below {}: from {:.2} to {:.2} kW, {below}",
            plain(&entry.main),
            entry.lowest_kw,
            entry.highest_kw
        );
        for clock in &entry.clocks {
            let side = if clock.ahead_min > 0.0 {
                "ahead of"
            } else {
                "behind"
            };
            let _ = writeln!(
                text,
                "  the clock of {} is {:.0} min {side} it: its blocks are read as if it were not",
                plain(&clock.meter),
                clock.ahead_min.abs()
            );
        }
    }
}
