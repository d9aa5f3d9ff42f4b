//! Carbon by the user's own factor as text and as a sheet.

use super::sheet::{Sheet, column};
use demand::{Carbon, EnergyResult};

/// A table with a line for each meter.
pub(super) fn carbon_text(carbon: &Carbon) -> String {
    sheet(Some(carbon)).text()
}

/// The sheet of carbon; without rows where the user gives no factor.
pub(super) fn carbon_sheet(result: &EnergyResult) -> Sheet {
    sheet(result.carbon.as_ref())
}

fn sheet(carbon: Option<&Carbon>) -> Sheet {
    let meters = carbon.into_iter().flat_map(|carbon| &carbon.meters);
    let rows = meters.map(|meter| {
        vec![
            meter.meter.as_str().into(),
            meter.carbon_kg.into(),
            meter.mean_g_per_kwh.into(),
            meter.without_factor_kwh.into(),
        ]
    });
    let source = carbon.map_or("the user's own factor", |carbon| carbon.source.as_str());
    Sheet {
        name: "carbon",
        title: format!("Carbon of the energy drawn, by {source}"),
        columns: vec![
            column("meter", "meter", 0),
            column("carbon_kg", "carbon (kg)", 1),
            column("mean_g_per_kwh", "mean factor (g/kWh)", 1),
            column("without_factor_kwh", "without a factor (kWh)", 1),
        ],
        rows: rows.collect(),
    }
}
