//! Tables of the maximum demand, base load, baseline and energy by board.

use super::conductor::supply_meter;
use demand::{BreakdownBy, EnergyResult};
use export::{energy_tables, part_tables};
use tables::{Cell, Table};

/// Highest demand periods of the supply, diversity, base load, power factor, baseline, unusual days, boards.
pub(super) fn study_tables(energy: &EnergyResult) -> Vec<Table> {
    let main = supply_meter(energy)
        .or_else(|| energy.meters.first())
        .map_or("", |meter| meter.id.as_str());
    let is_main = |row: &[Cell]| matches!(&row[0], Cell::Text(meter) if meter == main);
    let mut tables: Vec<Table> = energy_tables(energy)
        .into_iter()
        .filter_map(|table| match table.id {
            "highest-demand-periods" => Some(table.only(is_main)),
            "diversity" | "base-load" | "power-factor" | "carbon" | "baseline" | "baseline-fit"
            | "energy-index" | "unusual-days" => Some(table),
            _ => None,
        })
        .collect();
    let boards = part_tables(energy, |by| *by == BreakdownBy::Board);
    let notes = energy.breakdown_notes.iter().cloned();
    tables.extend(
        boards
            .into_iter()
            .map(|table| table.with_notes(notes.clone())),
    );
    tables
}
