//! The sites in the order in which they need attention, as the page and the workbook show them.

use crate::site_row::{SiteRow, SiteStatus};
use tables::{Cell, Table, columns, exact, fixed, number, words};
use units::FigureKind as Q;

/// Dangers, overloaded phases and what moves would gain.
pub(crate) fn safety_table(rows: &[SiteRow]) -> Table {
    let change = |row: &SiteRow| match (row.neutral_rms_a, row.neutral_after_recommended_a) {
        (now, Some(after)) => Cell::Change(now, after),
        (now, None) => now.into(),
    };
    columns! { row in &SiteRow;
        site: words("Site") => &row.site;
        dangers: exact("Dangers", "") => row.dangers;
        overloaded_phases: exact("Phases over the limit", "") => row.overloaded_phases;
        loading_pct: number("Most heavily loaded phase, of its limit", Q::Percent) => row.loading_pct();
        warnings: exact("Warnings", "") => row.warnings;
        neutral: number("Neutral now → after the recommended moves, rms", Q::Current) => change(row);
        recommended_moves: exact("Moves", "") => row.recommended_moves;
        problems: exact("Problems in the data", "") => row.problems;
        data_coverage_pct: number("Coverage", Q::Percent) => row.data_coverage_pct;
    }
    .table("safety", "Safety and phase loading", rows)
}

/// Energy, cost and demand, also by floor area.
pub(crate) fn energy_table(rows: &[SiteRow]) -> Table {
    let per_area = |figure: Option<f64>, row: &SiteRow| Some(figure? / row.floor_area_m2?);
    let of_capacity = |row: &SiteRow| Some(100.0 * row.max_demand_kva? / row.agreed_capacity_kva?);
    columns! { row in &SiteRow;
        site: words("Site") => &row.site;
        energy_import_kwh: number("Energy imported", Q::ActiveEnergy) => row.energy_import_kwh;
        day_per_area: fixed("Energy by area and day", "kWh/m²", 3).optional() => per_area(row.day_mean_kwh, row);
        per_output: fixed("Energy by unit of output", "kWh", 2).optional()
            => row.energy_import_kwh.zip(row.output).map(|(kwh, made)| kwh / made);
        cost: fixed("Cost of the logged period", "", 2).optional() => row.cost;
        currency: words("Currency").optional() => row.currency.clone();
        cost_per_area: fixed("Cost by area", "per m²", 2).optional() => per_area(row.cost, row);
        max_demand_kw: number("Maximum demand", Q::ActivePower) => row.max_demand_kw;
        of_capacity_pct: number("Of the agreed capacity", Q::Percent).optional() => of_capacity(row);
        base_load_share_pct: number("Base load, of the energy", Q::Percent) => row.base_load_share_pct;
        load_factor: number("Load factor", Q::Factor) => row.load_factor;
        power_factor: number("Power factor", Q::PowerFactor) => row.power_factor;
    }
    .table("energy", "Energy, cost and demand", rows)
}

/// Sites that could not be analysed.
pub(crate) fn failed_table(rows: &[SiteRow]) -> Table {
    let failed = rows.iter().filter(|row| row.status == SiteStatus::Failed);
    columns! { row in &SiteRow;
        site: words("Site") => &row.site;
        message: words("Why").sentences() => row.message.clone();
    }
    .table("failed", "Sites that could not be analysed", failed)
}
