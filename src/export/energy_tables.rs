//! The tables behind energy and demand, and all of them as a workbook.

use rust_xlsxwriter::XlsxError;

use super::base_load::{
    base_load, base_load_by_weekday, days, load_profile, months, unmetered_by_day, week,
};
use super::baseline::baseline_tables;
use super::bill::bill_tables;
use super::breakdown::breakdown_table;
use super::carbon::carbon_table;
use super::energy_charts::energy_charts;
use super::highest_demand_periods::{diversity, highest_demand_periods, load_duration};
use super::meters::{all_loads_table, meters_table, unmetered_table};
use super::power_factor::power_factor;
use super::quality::quality_list;
use super::since::since_table;
use demand::EnergyResult;
use site::Site;
use tables::{Table, workbook_with_charts};

/// Sheets of the ways in which the energy is broken down.
const WAYS: [&str; 10] = [
    "breakdown",
    "breakdown-2",
    "breakdown-3",
    "breakdown-4",
    "breakdown-5",
    "breakdown-6",
    "breakdown-7",
    "breakdown-8",
    "breakdown-9",
    "breakdown-10",
];

/// Every table, also those without rows, in the order of the workbook.
#[must_use]
pub fn energy_tables(result: &EnergyResult) -> Vec<Table> {
    let mut tables = vec![
        highest_demand_periods(result),
        load_duration(result),
        diversity(result),
        base_load(result),
        base_load_by_weekday(result),
        power_factor(result),
        unmetered_by_day(result),
        load_profile(result),
        week(result),
        days(result),
        months(result),
        carbon_table(result),
    ];
    tables.extend(baseline_tables(&result.change));
    tables.push(since_table(result.since.as_ref()));
    tables
}

/// The tables of the workbook: meters, bill, parts, every table, data quality.
#[must_use]
pub fn all_tables(site: &Site, result: &EnergyResult) -> Vec<Table> {
    let mut tables = vec![meters_table(result, site.timezone)];
    tables.extend(bill_tables(result.cost.as_ref(), &result.cost_by_day));
    let currency = site.currency.as_deref();
    let parts = result.breakdown.as_deref();
    // Each way of breaking down has a sheet of its own, and its parts add up once.
    let ways = parts
        .into_iter()
        .flat_map(|parts| parts.chunk_by(|a, b| a.by == b.by));
    let ways = ways.enumerate().map(|(number, parts)| {
        let mut table = breakdown_table(parts, currency);
        table.id = WAYS.get(number).copied().unwrap_or(table.id);
        table
    });
    tables.extend(ways.take(WAYS.len()));
    tables.extend(energy_tables(result));
    tables.push(all_loads_table(result, site.timezone));
    tables.push(unmetered_table(result));
    tables.push(quality_list(result, site.timezone));
    tables
}

/// All tables of energy and demand. Times are local, since workbooks have no time zones.
///
/// # Errors
///
/// Those of the workbook's writer: more rows than a sheet holds.
pub fn energy_workbook(site: &Site, result: &EnergyResult) -> Result<Vec<u8>, XlsxError> {
    let about = format!(
        "{}. Times are local ({}). An empty cell means not known, not zero.",
        site.name, site.timezone
    );
    let bill = result.cost.iter().flat_map(|bill| &bill.notes);
    let notes = result
        .notes
        .iter()
        .chain(bill)
        .chain(&result.breakdown_notes);
    let tables = all_tables(site, result).into_iter();
    let tables: Vec<Table> = tables.map(|table| table.of_site(&site.name)).collect();
    workbook_with_charts(&tables, &energy_charts(&tables), &about, notes)
}
