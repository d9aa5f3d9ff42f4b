//! Carbon emissions by the user's own factor.

use demand::{EnergyResult, MeterCarbon};
use tables::{Table, columns, number, words};
use units::FigureKind as Q;

/// A row for each meter; none where no factor is given.
pub(super) fn carbon_table(result: &EnergyResult) -> Table {
    let carbon = result.carbon.as_ref();
    let source = carbon.map_or("your own factor", |carbon| &carbon.source);
    columns! { m in &MeterCarbon;
        meter: words("Meter") => &m.meter;
        carbon_kg: number("Carbon emissions", Q::Carbon) => m.carbon_kg;
        mean_g_per_kwh: number("Mean factor", Q::CarbonFactor) => m.mean_g_per_kwh;
        without_factor_kwh: number("Energy without a factor", Q::ActiveEnergy) => m.without_factor_kwh;
    }
    .table(
        "carbon",
        format!("Carbon emissions of imported energy, by {source}"),
        carbon.into_iter().flat_map(|carbon| &carbon.meters),
    )
}
